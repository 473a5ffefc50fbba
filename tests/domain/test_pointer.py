from service.domain.pointer import written


def test_a_name_of_two_hundred_characters_is_said_back_and_a_longer_one_left_out() -> None:
    """What stands before it is still pointed at."""
    assert written(["points", "k" * 200]) == f"/points/{'k' * 200}"
    assert written(["points", "k" * 201]) == "/points"
