import pytest

from service.domain.context import world_of
from tests.domain.units import at, event, fact, row, unit
from tests.oracle.firm import examine
from tests.oracle.posting import Posted, say


def told(*posted: Posted) -> list[bool]:
    """Say whether an examiner, trained at noon, may examine 1, 3 and 5 hours later, after what else is said."""
    first = say("trained", at(0).isoformat(), "adm", person="ex-1", competences=["examine"])
    there = world_of([row(one, number) for number, one in enumerate((first, *posted), 1)], {})
    acts = (fact(examine(at(hours).isoformat()), there, 99) for hours in (1, 3, 5))
    return [there.may("examine", act, unit()) for act in acts]


def ended(sent: float) -> Posted:
    """End the authorisation at 1 p.m., received at 4 p.m. from a clock that then stood so many hours after noon."""
    return say(
        "authorisation-ended", at(0.5).isoformat(), "m-1", received=at(4).isoformat(), sent=at(sent).isoformat(),
        person="ex-1", of="examine",
    )  # fmt: skip


AGAIN = say("trained", at(2).isoformat(), "adm", person="ex-1", competences=["examine"])


@pytest.mark.parametrize(("sent", "may"), [(4, [False, True, True]), (3, [False, True, False])])
def test_an_ending_from_a_clock_that_cannot_be_believed_counts_again_at_its_receipt(
    sent: float, may: list[bool]
) -> None:
    """It also ends what was granted in between (R9); one from a right clock does not."""
    assert told(ended(sent), AGAIN) == may


def test_a_training_from_a_wrong_clock_counts_once() -> None:
    """Good news has no echo: an ending later than its stamp ends it, whenever it was received."""
    late = say(
        "trained", at(2).isoformat(), "adm", received=at(4).isoformat(), sent=at(1).isoformat(),
        person="ex-1", competences=["examine"],
    )  # fmt: skip
    over = say("authorisation-ended", at(2.5).isoformat(), "m-1", person="ex-1", of="examine")
    assert told(late, over) == [True, False, False]


def test_a_voided_training_grants_nothing_and_a_voided_ending_still_ends() -> None:
    """Voiding bad news ends nothing by itself (design 3.6)."""
    void = say("voided", at(5).isoformat(), "m-2", event=str(event(1)), reason="another person")
    assert told(void) == [False, False, False]
    void = say("voided", at(5).isoformat(), "m-2", event=str(event(2)), reason="another person")
    assert told(ended(4), void) == [False, False, False]
