import pytest

from service.domain.facts import Fact
from service.domain.placing import place_all
from service.domain.voiding import every_voiding
from tests.domain.folding import Folding
from tests.domain.keeping import of_kin
from tests.domain.units import at
from tests.oracle.firm import PASSES, PLAIN, check, examine, issue, register, tell
from tests.oracle.posting import Posted, log, moment, say


def placed(*posted: Posted) -> dict[str, Fact]:
    """Place messages, the first registering a unit at the dock, and give the facts by their kind."""
    folding = Folding(log([*PLAIN, register(), *posted]), [])
    found = place_all(of_kin(folding.rows), every_voiding(folding.rows), folding.world)
    return {fact.event.kind: fact for facts in found.facts.values() for fact in facts}


DATED = tell("cleaned", "2026-07-02", scope="unit", method="wiped")
LONDON, CHICAGO = "2026-07-02 23:00", "2026-07-03 05:00"


@pytest.mark.parametrize(
    ("seen", "expected"),
    [
        ([], LONDON),
        ([tell("received", "2026-06-01 08:00", site="mesa")], CHICAGO),
        ([tell("found", "2026-06-01 08:00", site="mesa")], CHICAGO),
        ([tell("returned", "2026-06-01 08:00", site="mesa")], CHICAGO),
        ([tell("stationed", "2026-06-01 08:00", site="mesa", place="c")], CHICAGO),
        ([issue("2026-06-01 08:00", site="mesa")], CHICAGO),
        ([check("2026-06-01 08:00", site="mesa")], LONDON),
        ([tell("received", "2026-07-02 00:00", site="mesa")], CHICAGO),
        ([tell("received", "2026-07-02 00:01", site="mesa")], LONDON),
        (
            [tell("received", "2026-06-01 08:00", site="mesa"), tell("received", "2026-06-02 08:00", site="dock")],
            LONDON,
        ),
        ([tell("received", "2026-06-01 08:00", "Z-9", site="mesa")], LONDON),
        ([register("2026-06-01 08:00", "B-1", serial="s-a-1", site="mesa")], CHICAGO),
    ],
)
def test_a_date_without_a_site_is_that_of_where_the_unit_was_as_it_began(seen: list[Posted], expected: str) -> None:
    """As told by the events that carry a site, up to the start of the day in UTC."""
    assert placed(DATED, *seen)["cleaned"].at == moment(expected)


def test_a_date_before_all_that_is_known_is_that_of_the_first_site() -> None:
    """Where it was registered, or seen before that."""
    early = tell("cleaned", "2025-07-02", scope="unit", method="wiped")
    assert placed(early)["cleaned"].at == moment("2025-07-02 23:00")
    seen = tell("received", "2025-08-01 08:00", site="mesa")
    assert placed(early, seen)["cleaned"].at == moment("2025-07-03 05:00")


def test_what_was_taken_back_tells_no_site() -> None:
    """A voided receipt was never there."""
    seen = tell("received", "2026-06-01 08:00", site="mesa", label="seen")
    void = say("voided", "2026-06-03 08:00", "m-1", event="@seen", reason="wrong")
    assert placed(DATED, seen, void)["cleaned"].at == moment(LONDON)


def test_a_retagging_of_a_day_goes_by_the_tags_first_site() -> None:
    """Identity is settled before it is known where a unit went."""
    seen = tell("received", "2026-06-01 08:00", site="mesa")
    assert placed(tell("retagged", "2026-07-02", new_tag="B-1"), seen)["retagged"].at == moment(LONDON)


@pytest.mark.parametrize(
    ("posted", "stays"),
    [
        (tell("quarantined", at(0).isoformat(), reason="other", label="it"), True),
        (tell("missing", at(0).isoformat(), label="it"), True),
        (tell("failed-check", at(0).isoformat(), points=PASSES, label="it"), True),
        (check(at(0).isoformat(), points=PASSES | {"battery": "fail"}, label="it"), True),
        (check(at(0).isoformat(), airflow_lpm=159, label="it"), True),
        (check(at(0).isoformat(), battery_percent=19, label="it"), True),
        (check(at(0).isoformat(), airflow_indicator="below", label="it"), True),
        (check(at(0).isoformat(), airflow_lpm=160, label="it"), False),
        (examine(at(0).isoformat(), airflow_lpm=159, label="it"), True),
        (examine(at(0).isoformat(), result="fail", label="it"), True),
        (examine(at(0).isoformat(), label="it"), False),
        (tell("returned", at(0).isoformat(), label="it"), False),
        (tell("retagged", at(0).isoformat(), new_tag="B-1", label="it"), False),
    ],
)
def test_voided_bad_news_stays_and_good_news_never_was(posted: Posted, stays: bool) -> None:
    """Also what fails by its readings alone (design 3.6)."""
    void = say("voided", at(1).isoformat(), "m-1", event="@it", reason="wrong", key="desk")
    assert (posted.message["kind"] in placed(posted, void)) is stays


@pytest.mark.parametrize(("reading", "by", "useless"), [(159, "p-1", True), (159, "m-1", False), (160, "p-1", False)])
def test_voiding_ones_own_failure_has_no_effect(reading: float, by: str, useless: bool) -> None:
    """One's own passing check may be taken back, and another's failure voided (R27)."""
    bad = check(at(0).isoformat(), airflow_lpm=reading, label="it")
    void = say("voided", at(1).isoformat(), by, event="@it", reason="wrong", key="desk")
    folding = Folding(log([*PLAIN, register(), bad, void]), [])
    found = place_all(of_kin(folding.rows), every_voiding(folding.rows), folding.world)
    assert tuple(found.useless) == ((folding.rows[-1].event.id,) if useless else ())
