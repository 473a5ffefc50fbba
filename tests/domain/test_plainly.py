"""The decoder's sentences, said in words a sender can act on."""

import msgspec
import pytest

from service.domain.kinds import AnyEvent
from service.domain.plainly import plainly


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("Expected `str`", "must be a text"),
        ("Expected `object`, got `array`", "must be an object, not a list"),
        ("Expected `int | null`, got `float`", "must be a whole number, not a number with a fraction"),
        ("Expected `int | object | null`, got `bool`", "must be a whole number or an object, not true or false"),
        ("Expected `float`, got `null`", "must be a number, not null"),
        ("Expected `datetime | null`, got `int`", "must be an instant, not a whole number"),
        ("Expected `int` >= 0", "must be at least 0"),
        ("Expected `float` <= 2000.0", "must be at most 2000"),
        ("Expected `float` > 0.5", "must be more than 0.5"),
        ("Expected `str` of length <= 500", "must have at most 500 characters"),
        ("Expected `array` of length >= 1", "must have at least 1 entry"),
        ("Expected `array` of length 2", "must have exactly 2 entries"),
        ("Invalid UUID", "must be a UUID such as 0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01"),
        ("Invalid enum value 'so\nso'", r"'so\nso' is none of the words of this field; openapi.json lists them"),
        ("Something new", "Something new"),
    ],
)
def test_a_sentence_is_said_plainly(said: str, told: str) -> None:
    """What must be, what it may not be, how much and how long; an unknown sentence is left alone."""
    assert plainly(said) == told


@pytest.mark.parametrize(
    "wrong",
    [{"lot": 1}, {"quantity": -1}, {"quantity": "3"}, {"unit": None}, {"lot": "x" * 101}, {"id": "7"}, {"by": []}],
)
def test_no_sentence_of_the_decoder_is_left_in_its_own_words(wrong: dict[str, object]) -> None:
    """Whatever it says of a message, a new release included, is told in ours."""
    head = {"kind": "stock-counted", "id": "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c01", "by": "p-1", "site": "dock"}
    message = {**head, "occurred_on": "2026-03-02", "item": "pf-170", "quantity": 1, "unit": "each", **wrong}
    with pytest.raises(msgspec.ValidationError) as error:
        msgspec.convert(message, AnyEvent)
    assert plainly(str(error.value).partition(" - at ")[0]).startswith("must ")
