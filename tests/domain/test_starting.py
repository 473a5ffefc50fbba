"""From which version a change may start (RFC 9110 sections 13.1.1 and 13.1.2)."""

import pytest

from service.domain.errors import AtVersion, PreconditionRequired, VersionMismatch
from service.domain.starting import Start, Versions


def outcome(said: Start, current: int | None) -> tuple[type[AtVersion], int | None] | None:
    """Ask whether a change may start from the version there is."""
    try:
        said.demand(current)
    except AtVersion as error:
        return type(error), error.current
    return None


@pytest.mark.parametrize(
    ("said", "none_yet", "at_seven"),
    [
        (Start(), None, (PreconditionRequired, 7)),
        (Start(Versions(frozenset({7}))), (VersionMismatch, None), None),
        (Start(Versions(frozenset({6, 7}))), (VersionMismatch, None), None),
        (Start(Versions(frozenset({6}))), (VersionMismatch, None), (VersionMismatch, 7)),
        (Start(Versions()), (VersionMismatch, None), (VersionMismatch, 7)),
        (Start(Versions(each=True)), (VersionMismatch, None), None),
        (Start(but=Versions(each=True)), None, (VersionMismatch, 7)),
        (Start(but=Versions(frozenset({7}))), None, (VersionMismatch, 7)),
        (Start(but=Versions(frozenset({6}))), None, (PreconditionRequired, 7)),
        (Start(Versions(frozenset({7})), Versions(each=True)), (VersionMismatch, None), (VersionMismatch, 7)),
        (Start(Versions(frozenset({7})), Versions(frozenset({7}))), (VersionMismatch, None), (VersionMismatch, 7)),
        (Start(Versions(frozenset({7})), Versions(frozenset({6}))), (VersionMismatch, None), None),
    ],
)
def test_a_change_starts_from_the_version_there_is(said: Start, none_yet: object, at_seven: object) -> None:
    """A change of what is there has to name its version, or to say that any will do; of what is not, to say nothing.

    What must not be there counts beside it (RFC 9110 section 13.2.2).
    """
    assert (outcome(said, None), outcome(said, 7)) == (none_yet, at_seven)


@pytest.mark.parametrize(
    ("start", "current", "told"),
    [
        (Start(Versions(each=True)), None, "There is no such object yet: leave 'If-Match' out, and send "),
        (Start(Versions(weak=True)), None, "There is no such object yet: leave 'If-Match' out, and send "),
        (Start(Versions(weak=True)), 7, "A weak tag (W/) never serves 'If-Match': send a strong one, "),
        (Start(Versions(frozenset({6}))), 7, "The object is not at the version that the condition names: "),
        (Start(but=Versions(each=True)), 7, "It exists already: change it with 'If-Match' "),
        (Start(but=Versions(frozenset({7}))), 7, "The object is not at the version that the condition names: "),
    ],
)
def test_a_condition_that_does_not_hold_says_why(start: Start, current: int | None, told: str) -> None:
    """What is not there yet, what is there already and a weak tag are no changes in between, and are told apart."""
    with pytest.raises(VersionMismatch) as refused:
        start.demand(current)
    assert refused.value.detail.startswith(told)
