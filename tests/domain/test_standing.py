from service.domain.standing import worst


def test_the_worst_of_several_standings_counts_and_none_at_all_is_out_of_scope() -> None:
    """By the scale, wherever it stands."""
    assert worst(["in-date", "overdue", "due-soon"]) == "overdue"
    assert worst([]) == "out-of-scope"
