"""What is fitted in a unit, and when it is expected to be changed."""

from datetime import date, timedelta
from typing import Any

from service.domain.context import world_of
from service.domain.demand.fitted import Expected, expected_in
from service.domain.part import Part
from service.domain.recall.campaign import campaigns
from service.domain.recall.opening import Opening
from service.domain.scene import Scene
from service.domain.standing import FOREVER
from service.domain.unit import Dated, Fitted, Loading, Unit
from service.domain.world import World
from tests.domain.reference_data import day, item, model, site
from tests.domain.units import at, dated, event, row, unit
from tests.oracle.posting import say

TODAY = date(2026, 3, 2)
POSITIONS = [{"position": "filter", "role": "particle", "items": ["pf"], "required": True}]


def world(*rows: Any, **fields: Any) -> World:
    """Give a world whose hoods have a filter, and what else is said."""
    hood = model(day(1, year=2025), positions=POSITIONS, **fields)
    return world_of([site(day(1, year=2025)), hood, *rows], {})


def fitted(days: int, **fields: Any) -> Fitted:
    """Fit a new filter so many days before today."""
    part = Part(**{"item": "pf", "condition": "new"} | fields)
    return Fitted(part, at(-24 * days), TODAY - timedelta(days=days), event(2))


def expected(there: World, known: Unit, *openings: Opening) -> list[tuple[str, str, int, str]]:
    """Give what is expected of a unit: its tag, position, in how many days, and why."""
    scene = Scene(at(0), FOREVER, there, known)
    found: list[Expected] = list(expected_in(known, scene, TODAY, openings))
    return [(one.tag, one.position, (one.change.on - TODAY).days, one.change.because) for one in found]


def test_limits_of_the_item_are_drawn_out_by_use() -> None:
    """Thirty uses in sixty days since the first issue: ten shifts left of twenty last twenty days, 48 hours 12."""
    shifts = world(item(day(1, year=2025), "pf", service_limit={"shifts": 20}))
    hours = world(item(day(1, year=2025), "pf", service_limit={"hours": 48.0}))
    days = world(item(day(1, year=2025), "pf", service_limit={"days": 60}))
    part = Fitted(Part(item="pf", condition="new"), at(-480), TODAY - timedelta(days=20), event(2), uses_before=20)
    served = unit(uses=30, worn=60 * 3_600_000_000, first_issue=dated(TODAY - timedelta(days=60)))
    known = Unit(**{name: getattr(served, name) for name in served.__struct_fields__} | {"parts": {"filter": part}})
    assert expected(shifts, known) == [("A-1", "filter", 20, "service-limit")]
    assert expected(days, known) == [("A-1", "filter", 40, "service-limit")]
    worn = Unit(
        **{name: getattr(known, name) for name in known.__struct_fields__}
        | {"parts": {"filter": Fitted(part.part, part.at, part.on, part.event, worn_before=24 * 3_600_000_000)}}
    )
    assert expected(hours, worn) == [("A-1", "filter", 12, "service-limit")]  # 12 hours left at one a day


def test_a_reading_is_a_line_from_the_day_it_was_clean() -> None:
    """Two steps in ten days: the mark of four is reached in ten more. Other positions have no mark."""
    scale = {"loading": {"levels": 5, "change_at": 4}}
    parts, loadings = {"filter": fitted(10)}, {"filter": Loading(2, at(0), event(3))}
    assert expected(world(**scale), unit(parts=parts, loadings=loadings)) == [("A-1", "filter", 10, "loading")]
    other = unit(parts={"battery": fitted(10)}, loadings={"battery": Loading(2, at(0), event(3))})
    assert expected(world(**scale), other) == []


def test_a_part_of_which_nothing_is_said_lasts_as_long_as_its_unit() -> None:
    """A year by the model; without that nothing is expected, and nothing of a position that is empty."""
    parts = {"filter": fitted(10), "battery": Fitted(None, at(-24), TODAY, event(2))}
    assert expected(world(service_life_months=12), unit(parts=parts)) == [("A-1", "filter", 355, "stated-life")]
    assert expected(world(), unit(parts=parts)) == []


def test_a_unit_that_was_handed_out_today_has_been_used_for_a_day() -> None:
    """Three uses today: of twenty shifts seventeen are left, which last five days, cut."""
    there = world(item(day(1, year=2025), "pf", service_limit={"shifts": 20}))
    known = unit(parts={"filter": fitted(0)}, uses=3, first_issue=dated(TODAY))
    assert expected(there, known) == [("A-1", "filter", 5, "service-limit")]


def test_a_refitted_part_was_not_clean() -> None:
    """One reading of it is no line yet."""
    scale = {"loading": {"levels": 5, "change_at": 4}}
    parts, loadings = {"filter": fitted(10, condition="refitted")}, {"filter": Loading(2, at(0), event(3))}
    assert expected(world(**scale), unit(parts=parts, loadings=loadings)) == []


def test_the_mark_is_that_of_particle_filters() -> None:
    """Not of a pre-filter of the same model; and of no known model there is none."""
    both = [*POSITIONS, {"position": "pre", "role": "pre-filter", "items": ["pf"], "required": False}]
    there = world_of(
        [
            site(day(1, year=2025)),
            model(day(1, year=2025), positions=both, loading={"levels": 5, "change_at": 4}),
        ],
        {},
    )
    parts = {"filter": fitted(10), "pre": fitted(10)}
    loadings = {position: Loading(2, at(0), event(3)) for position in parts}
    assert expected(there, unit(parts=parts, loadings=loadings)) == [("A-1", "filter", 10, "loading")]
    assert expected(there, unit(model="cowl", parts=parts, loadings=loadings)) == []


def test_a_place_is_named_by_the_unit_and_the_position() -> None:
    """So that whatever its tag is it is counted once."""
    scene = Scene(at(0), FOREVER, world(), unit(parts={"filter": fitted(10, expires="2026-03")}))
    (one,) = expected_in(scene.unit, scene, TODAY, ())
    assert one.change.place == "00000000-0000-0000-0000-0000000003e7/filter"


def test_an_expiry_ends_it() -> None:
    """On its last day."""
    assert expected(world(), unit(parts={"filter": fitted(10, expires="2026-03")})) == [("A-1", "filter", 29, "expiry")]


def test_what_was_changed_at_the_last_examination_is_at_the_next() -> None:
    """On 20 March, a month after it; not what came with the unit, nor what was put in on another day."""
    examined: dict[str, Any] = {"examined": Dated(at(-240), TODAY - timedelta(days=10), event(4))}
    assert expected(world(), unit(parts={"filter": fitted(10)}, **examined)) == [("A-1", "filter", 18, "schedule")]
    assert expected(world(), unit(parts={"filter": fitted(9)}, **examined)) == []
    came = unit(parts={"filter": fitted(10)}, registered_at=at(-240), **examined)
    assert expected(world(), came) == []


def test_what_an_open_recall_is_known_to_mean_is_owed_today() -> None:
    """A part of another lot is not, and one of no known lot is identified first."""
    there = world()
    said: dict[str, Any] = {"recall": "r-1", "action": "stop-use", "criteria": [{"item": "pf", "lot": "L-9"}]}
    opened = row(say("recall-opened", at(-1).isoformat(), "m-2", **said), 9)
    openings = campaigns([opened], there, at(0))["r-1"].standing
    lots: list[dict[str, Any]] = [{"lot": "L-9"}, {"lot": "L-8"}, {}]
    units = [unit(parts={"filter": fitted(10, **lot)}) for lot in lots]
    assert [expected(there, one, *openings) for one in units] == [[("A-1", "filter", 0, "recall")], [], []]
