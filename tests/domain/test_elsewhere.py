from datetime import timedelta

import pytest

from service.domain.event import AssetEvent
from service.domain.fold import contradictions
from service.domain.kinds import KINDS
from tests.domain.units import NOON, fact, unit, world
from tests.oracle.posting import Posted

DONE_BY_HAND = {
    "returned", "issued", "stationed", "moved", "sent-to-service", "worn", "checked", "failed-check", "failed-in-use",
    "examined", "filter-replaced", "part-replaced", "part-identified", "cleaned", "repaired", "quarantined", "found",
    "recall-actioned",
}  # fmt: skip
"""`quarantined` with a place, as its example is; only ordered it is done from a desk."""


def codes(kind: type[AssetEvent], site: str | None, reach: frozenset[str] | None = None, **fields: object) -> list[str]:
    """Name the conflicts of a kind's example, posted for a site by a key of some, with a unit at the dock."""
    message = {**kind.example, **fields}
    told = {name: value for name, value in message.items() if value is not None and name != "site"}
    message = told if site is None else {**told, "site": site}
    posted = Posted(message, NOON + timedelta(minutes=1), None, role="site-lead", sites=reach)
    there = world(posted)
    return [found.conflict.code for found in contradictions(unit(), fact(posted, there), there)]


@pytest.mark.parametrize("kind", [kind for kind in KINDS if issubclass(kind, AssetEvent)], ids=lambda kind: kind.kind)
def test_what_is_done_by_hand_at_another_site_contradicts(kind: type[AssetEvent]) -> None:
    """The unit was not received there; what a desk may say from anywhere, and `received` itself, contradict nothing."""
    assert ("not-received" in codes(kind, "mesa")) == (kind.kind in DONE_BY_HAND)
    assert "not-received" not in codes(kind, "dock")


def test_a_quarantine_that_is_only_ordered_is_not_done_by_hand() -> None:
    """Without a place nobody had the unit in hand; with one somebody did."""
    kind = next(kind for kind in KINDS if kind.kind == "quarantined" and issubclass(kind, AssetEvent))
    assert codes(kind, "mesa", place=None) == []
    assert codes(kind, "mesa") == ["not-received"]


@pytest.mark.parametrize("kind", [kind for kind in KINDS if issubclass(kind, AssetEvent)], ids=lambda kind: kind.kind)
def test_what_is_decided_of_a_unit_is_for_the_keys_of_its_site(kind: type[AssetEvent]) -> None:
    """A key bound to other sites releases, retires, retags and sets the use of none of this one unremarked."""
    decided = {"released", "retired", "retagged", "use-set"}
    assert ("unit-of-another-site" in codes(kind, "mesa", reach=frozenset({"mesa"}))) == (kind.kind in decided)
    assert "unit-of-another-site" not in codes(kind, "mesa", reach=frozenset({"mesa", "dock"}))
    assert "unit-of-another-site" not in codes(kind, "mesa", reach=None)


def test_without_a_site_nothing_is_said_of_where() -> None:
    """An event that names no site contradicts no place."""
    kind = next(kind for kind in KINDS if kind.kind == "cleaned" and issubclass(kind, AssetEvent))
    assert codes(kind, None) == []
