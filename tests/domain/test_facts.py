from datetime import UTC
from typing import Any

import pytest

from service.domain.facts import Key, echo, fold_key, instant, lasting, place, signal
from tests.domain.units import at, event, fact, row, world
from tests.oracle.firm import check, issue, register, skill, tell, wear
from tests.oracle.posting import Posted, moment, say

WORLD = world()


@pytest.mark.parametrize(
    ("posted", "fallback", "expected"),
    [
        (check("2026-03-02T08:00:00+02:00"), None, "2026-03-02 06:00"),
        (check("2026-07-02", site="dock"), None, "2026-07-02 23:00"),
        (tell("missing", "2026-07-02", site="dock"), None, "2026-07-01 23:00"),
        (check("2026-07-02"), "mesa", "2026-07-03 05:00"),
        (tell("missing", "2026-07-02"), "mesa", "2026-07-02 05:00"),
        (check("2026-07-02", site="dock"), "mesa", "2026-07-02 23:00"),
        (check("2026-07-02"), None, "2026-07-03 00:00"),
    ],
)
def test_a_date_counts_at_the_end_of_its_day_for_good_news_at_its_start_for_bad(
    posted: Posted, fallback: str | None, expected: str
) -> None:
    """In the zone of the event's own site, else where the unit is, else UTC (design 3.1, R3)."""
    assert instant(row(posted).event, fallback, WORLD) == moment(expected)


def test_instants_are_told_in_utc() -> None:
    """Whatever the sender's offset."""
    assert instant(row(check("2026-03-02T08:00:00+02:00")).event, None, WORLD).tzinfo is UTC


def test_an_event_lasts_its_day_or_no_time() -> None:
    """A date from its start to its end, an instant only itself."""
    assert lasting(row(check("2026-03-02", site="dock")).event, None, WORLD) == (
        moment("2026-03-02 00:00"),
        moment("2026-03-03 00:00"),
    )
    assert lasting(row(check("2026-03-02 08:00")).event, None, WORLD) == (moment("2026-03-02 08:00"),) * 2


def test_a_date_is_judged_by_the_versions_of_its_start() -> None:
    """The versions in force as its day starts judge it, also where it counts at its end (R40)."""
    good = place(row(check("2026-03-02", site="dock")), None, WORLD)
    assert (good.at, good.as_of) == (moment("2026-03-03 00:00"), moment("2026-03-02 00:00"))
    timed = place(row(check("2026-03-02 08:00")), None, WORLD)
    assert (timed.at, timed.as_of, timed.ends) == (moment("2026-03-02 08:00"),) * 3


def test_only_events_of_units_are_facts() -> None:
    """What is about no unit has no place in its fold."""
    with pytest.raises(TypeError, match="trained"):
        place(row(skill("p-1", "examine")), None, WORLD)


def test_an_echo_is_the_fact_at_its_receipt() -> None:
    """Later in the order than the fact itself at that instant."""
    bad = fact(tell("missing", at(0).isoformat(), received="2026-03-02T15:00:00+01:00"), WORLD)
    again = echo(bad)
    assert again.at == at(2)
    assert again.at.tzinfo is UTC
    assert (again.recorded, again.event, again.as_of) == (bad.recorded, bad.event, bad.as_of)
    assert again.key > fold_key(bad.event, at(2))


SAME = at(0).isoformat()
ORDERED: list[Posted] = [
    register(SAME),
    tell("retagged", SAME, new_tag="B-1"),
    tell("use-set", SAME, use="routine", authorised_by="m-1"),
    tell("found", SAME),
    tell("received", SAME, site="dock"),
    tell("returned", SAME),
    tell("part-identified", SAME, position="x", part={"item": "p3", "condition": "new"}),
    tell("part-replaced", SAME, position="x", reason="schedule"),
    tell("filter-replaced", SAME, position="x", in_={"item": "p3", "condition": "new"}, reason="schedule"),
    tell("cleaned", SAME, scope="unit", method="wiped"),
    tell("repaired", SAME, work=["fan"]),
    tell("examined", SAME, points={}, result="pass"),
    check(SAME),
    tell("recall-actioned", SAME, recall="r-1", result="fixed"),
    tell("released", SAME),
    issue(SAME),
    tell("stationed", SAME, place="cab-1"),
    wear(SAME),
    tell("moved", SAME, to_site="works"),
    check(SAME, points={"airflow": "fail"}),
    tell("missing", SAME),
]


def test_facts_of_one_instant_fold_good_before_bad_and_by_kind() -> None:
    """In the order of R2, so that a swap and a return come before the check, the issue and the use."""
    keys = [fact(one, WORLD).key for one in ORDERED]
    assert sorted(keys) == keys


def test_facts_of_one_kind_fold_by_device_counter_and_id() -> None:
    """A missing device sorts as the empty text, a missing counter before any (R2)."""

    def key(number: int, **fields: Any) -> Key:
        return fact(check(SAME, **fields), WORLD, number).key

    keys = [
        key(9),
        key(1, device="a"),
        key(8, device="a", device_seq=0),
        key(2, device="a", device_seq=7),
        key(3, device="a", device_seq=7),
        key(1, device="b", device_seq=1),
    ]
    assert sorted(keys) == keys


def test_time_comes_first_in_the_order() -> None:
    """Bad news of an earlier instant folds before good news of a later one."""
    assert fact(tell("missing", at(0).isoformat()), WORLD).key < fact(check(at(1).isoformat()), WORLD).key


def test_what_ends_comes_first_and_what_begins_last_of_its_instant() -> None:
    """A report that ends counts before the events of the instant, one that begins after them."""
    ends, begins = signal(at(0), "report", event(1)), signal(at(0), "report", event(1), ("unresolved-report",))
    keys = [ends.key, *(fact(one, WORLD).key for one in ORDERED), begins.key]
    assert sorted(keys) == keys
    assert (begins.at, begins.name, begins.ref, begins.reasons) == (at(0), "report", event(1), ("unresolved-report",))


def test_persons_come_before_their_acts() -> None:
    """A training of the very instant counts for an examination (R2)."""
    trained = row(say("trained", SAME, "adm", person="ex-1", competences=["examine"])).event
    reference = row(
        say("item-defined", SAME, "adm", item="x", name="x", unit="piece"),
    ).event
    keys = [fold_key(reference, at(0)), fold_key(trained, at(0)), fact(ORDERED[0], WORLD).key]
    assert sorted(keys) == keys


def test_what_names_no_device_comes_before_what_names_one() -> None:
    """At one instant, of one kind: whatever the device is called (R2)."""
    named: list[dict[str, Any]] = [{"device": device, "device_seq": 0} for device in ("-", "0", "Z")]
    keys = [fold_key(row(check(at(0).isoformat(), **fields), 1).event, at(0)) for fields in ({}, *named)]
    assert keys == sorted(keys)
    assert keys[0][3:5] == ("", -1)
