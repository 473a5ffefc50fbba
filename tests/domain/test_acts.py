"""What was said of a unit under whatever tag, and of a component with the unit that it sat in."""

from collections.abc import Iterable
from datetime import datetime

from service.domain.kinds.checked import Checked
from service.domain.kinds.found import Found
from service.domain.kinds.missing import Missing
from service.domain.kinds.quarantined import Quarantined
from service.domain.kinds.site_defined import SiteDefined
from service.domain.kinds.worn import Worn
from service.domain.recall.acts import Acts, acts_of_units
from service.domain.recall.sighting import may_show
from service.domain.standing import FOREVER
from tests.domain.folding import Folding
from tests.oracle.firm import PLAIN, issue, part, register, tell
from tests.oracle.posting import Posted, log, moment

LATER = moment("2026-02-01 00:00")
PACK = {"tag": "B-1", "model": "pack", "serial": "CELL-1"}
KINS = {"A-1": "A-1", "A-2": "A-1", "B-1": "A-1"}


def acts(posted: Iterable[Posted], at: datetime = LATER, kins: dict[str, str] = KINS) -> dict[str, Acts]:
    """Sort what was said by the units it is about, each shown by its serial number."""
    folding = Folding(log([*PLAIN, *posted]), [])
    names = {facts.start.unit.unit: facts.start.unit.serial for facts in folding.prepared.units}
    return {names[unit]: told for unit, told in acts_of_units(folding.rows, kins, at, folding.world).items()}


def battery(at: str, *, to: str, out: bool = False) -> Posted:
    """Put the pack into a unit, or take it out."""
    piece = part("cell", serial="cell-1")
    told = {"out": {"item": "cell", "serial": "cell-1"}} if out else {"in": piece}
    return tell("part-replaced", at, tag=to, position="battery", reason="schedule", **told)


def days(found: Acts) -> list[tuple[str, str]]:
    """Show when it was spoken of, and of what kind that was."""
    return [(f"{act.at:%d %H}", act.kind) for act in found.acts]


def sat(found: Acts) -> list[tuple[str, str]]:
    """Show from when to when it sat in a unit."""
    return [(f"{one.since:%d %H}", f"{one.until:%d %H}") for one in found.fitted]


HOSTS = [register(at="2026-01-05 08:00"), register(at="2026-01-05 08:00", tag="A-2", serial="S-2")]
FITTED = register(at="2026-01-05 09:00", fitted_to="A-1", **PACK)


def test_acts_are_told_in_order_up_to_a_moment() -> None:
    """Whatever was said later is left out; at the moment itself it counts."""
    given = [HOSTS[0], issue("2026-01-07 08:00"), tell("returned", "2026-01-06 08:00"), issue("2026-01-08 08:00")]
    found = acts(given, moment("2026-01-07 08:00"))["S-A-1"]
    assert days(found) == [("05 08", "registered"), ("06 08", "returned"), ("07 08", "issued")]
    assert found.last == moment("2026-01-07 08:00")


def test_of_nothing_nothing_was_last() -> None:
    """Who was never spoken of was neither had in hand nor stopped."""
    assert (Acts((), ()).last, Acts((), ()).sighted(LATER), Acts((), ()).stopped("r-1")) == (None, None, [])


def test_a_unit_is_sighted_by_whoever_has_it_in_hand() -> None:
    """From a moment on, its own instant included; an order at a desk shows nobody with the unit."""
    ordered = tell("quarantined", "2026-01-06 08:00", reason="recall", recall="r-1")
    found = acts([HOSTS[0], ordered, issue("2026-01-07 08:00"), issue("2026-01-08 08:00", "p-2")])["S-A-1"]
    assert found.sighted(moment("2026-01-05 00:00")) == moment("2026-01-07 08:00")
    assert found.sighted(moment("2026-01-06 00:00")) == moment("2026-01-07 08:00")
    assert found.sighted(moment("2026-01-07 08:00")) == moment("2026-01-07 08:00")
    assert found.sighted(moment("2026-01-07 08:01")) == moment("2026-01-08 08:00")
    assert found.sighted(moment("2026-01-08 08:01")) is None


def test_whoever_finds_it_or_puts_it_away_has_it_in_hand() -> None:
    """A quarantine that names a place does; what is missing nobody has, and a site is no unit."""
    kinds = (Checked, Worn, Found, Quarantined, Missing, SiteDefined)
    assert [may_show(kind) for kind in kinds] == [True, True, True, True, False, False]
    caged = tell("quarantined", "2026-01-06 08:00", reason="recall", recall="r-1", place="cage-1")
    back = tell("found", "2026-01-07 08:00", site="dock")
    found = acts([HOSTS[0], caged, back])["S-A-1"]
    assert [found.sighted(moment(f"2026-01-0{day} 00:00")) for day in (6, 7)] == [
        moment("2026-01-06 08:00"),
        moment("2026-01-07 08:00"),
    ]


def test_bad_news_that_was_taken_back_shows_nobody_with_the_unit() -> None:
    """A failed check stays on record once it is voided, and is no sighting; that voiding voided, it is one again."""
    failed = tell("failed-check", "2026-01-06 08:00", points={"tube": "fail"}, wearer="p-1", label="failed")
    void = tell("voided", "2026-01-06 09:00", event="@failed", reason="wrong tag", label="void", key="desk", by="m-1")
    void.message.pop("asset")
    again = tell("voided", "2026-01-06 10:00", event="@void", reason="it did", key="kiosk-1", by="m-2")
    again.message.pop("asset")
    since = moment("2026-01-06 00:00")
    seen = [acts([HOSTS[0], *more])["S-A-1"].sighted(since) for more in ([failed], [failed, void])]
    assert seen == [moment("2026-01-06 08:00"), None]
    assert acts([HOSTS[0], failed, void, again])["S-A-1"].sighted(since) == moment("2026-01-06 08:00")


def test_a_unit_is_stopped_by_orders_that_name_the_recall() -> None:
    """Of another recall, for another reason, or by any other act it is not."""
    given = [
        HOSTS[0],
        tell("quarantined", "2026-01-06 08:00", reason="recall", recall="r-1"),
        tell("quarantined", "2026-01-06 09:00", reason="recall", recall="r-2"),
        tell("quarantined", "2026-01-06 10:00", reason="damage", recall="r-1"),
        tell("quarantined", "2026-01-06 11:00", reason="recall", recall="r-1"),
    ]
    found = acts(given)["S-A-1"]
    assert found.stopped("r-1") == [moment("2026-01-06 08:00"), moment("2026-01-06 11:00")]
    assert found.stopped("r-3") == []


def test_a_component_sits_in_one_unit_after_another() -> None:
    """A swap that puts it in where it sits already changes nothing; one that takes it out ends its stay there."""
    moved = [
        battery("2026-01-06 08:00", to="A-1"),
        battery("2026-01-07 08:00", to="A-2"),
        battery("2026-01-08 08:00", to="A-2"),
        battery("2026-01-09 08:00", to="A-2", out=True),
    ]
    assert sat(acts([*HOSTS, FITTED, *moved])["CELL-1"]) == [("05 09", "07 08"), ("07 08", "09 08")]
    back = [moved[0], battery("2026-01-07 08:00", to="A-1", out=True), battery("2026-01-08 08:00", to="A-1")]
    assert sat(acts([*HOSTS, FITTED, *back])["CELL-1"])[0] == ("05 09", "07 08")
    assert len(sat(acts([*HOSTS, FITTED, *back])["CELL-1"])) == 2


def test_a_swap_counts_whatever_was_recorded_before_it() -> None:
    """The unit that it was put into was retired a day later, which was recorded first."""
    swap, gone = battery("2026-01-07 08:00", to="A-2"), tell("retired", "2026-01-08 08:00", "A-2", reason="worn-out")
    for order in ([swap, gone], [gone, swap]):
        assert sat(acts([*HOSTS, FITTED, *order])["CELL-1"]) == [("05 09", "07 08"), ("07 08", "30 00")]


def test_where_a_component_will_sit_later_is_not_told() -> None:
    """Nobody had it in that unit yet; from the moment of the swap on it is told."""
    given = [*HOSTS, FITTED, battery("2026-01-07 08:00", to="A-2")]
    assert sat(acts(given, moment("2026-01-07 07:59"))["CELL-1"]) == [("05 09", "30 00")]
    assert len(sat(acts(given, moment("2026-01-07 08:00"))["CELL-1"])) == 2


def test_what_is_said_of_a_unit_is_said_of_the_component_in_it() -> None:
    """From the moment it sat there, and before the moment it left; to a unit without components nothing is added."""
    given = [
        *HOSTS,
        issue("2026-01-05 08:59"),
        FITTED,
        issue("2026-01-06 08:00", "p-2"),
        battery("2026-01-07 08:00", to="A-2"),
        issue("2026-01-07 08:00", "p-5"),
        issue("2026-01-08 08:00", "p-3"),
        issue("2026-01-09 08:00", "p-4", "A-2"),
    ]
    told = acts(given)
    assert days(told["CELL-1"]) == [
        ("05 09", "registered"),
        ("06 08", "issued"),
        ("07 08", "part-replaced"),
        ("09 08", "issued"),
    ]
    assert [kind for _, kind in days(told["S-A-1"])] == ["registered", *["issued"] * 4]


def test_of_a_day_alone_it_may_have_been_there_since_the_day_began() -> None:
    """It is told so as soon as that has begun; in one unit it is not told for the same time twice."""
    given = [*HOSTS, FITTED, battery("2026-01-07", to="A-2")]
    assert sat(acts(given, moment("2026-01-06 23:59"))["CELL-1"]) == [("05 09", "30 00")]
    first, second = acts(given, moment("2026-01-07 00:00"))["CELL-1"].fitted
    ends = (first.until, second.since, second.day)
    assert ends == (FOREVER, moment("2026-01-08 00:00"), moment("2026-01-07 00:00"))
    back = [battery("2026-01-07 08:00", to="A-1", out=True), battery("2026-01-07", to="A-1")]
    first, second = acts([*HOSTS, FITTED, *back])["CELL-1"].fitted
    assert (first.until, second.day) == (moment("2026-01-07 08:00"), moment("2026-01-07 08:00"))
    again = [battery("2026-01-07 08:00", to="A-2"), battery("2026-01-07", to="A-2")]
    first, second = acts([*HOSTS, FITTED, *again])["CELL-1"].fitted
    assert (second.since, second.day) == (moment("2026-01-07 08:00"), moment("2026-01-07 00:00"))


def test_put_into_two_units_on_a_day_it_may_have_been_in_either() -> None:
    """In the first of them for no time that is known; it is in the last."""
    seq = iter(range(9))
    swaps = [battery("2026-01-07", to=tag) for tag in ("A-2", "A-1")]
    for one in swaps:
        one.message.update(device="kiosk-1", device_seq=next(seq))
    found = acts([*HOSTS, FITTED, *swaps])["CELL-1"].fitted
    day, over = moment("2026-01-07 00:00"), moment("2026-01-08 00:00")
    assert [(one.since, one.until, one.day) for one in found] == [
        (moment("2026-01-05 09:00"), over, moment("2026-01-05 09:00")),
        (over, over, day),
        (over, FOREVER, over),
    ]


def test_what_was_done_about_its_unit_on_a_day_of_a_swap_is_not_surely_about_it() -> None:
    """Neither where it came from nor where it went; before and after it is."""
    given = [
        *HOSTS,
        FITTED,
        battery("2026-01-07", to="A-2"),
        issue("2026-01-06 08:00"),
        issue("2026-01-07 08:00"),
        issue("2026-01-07 09:00", tag="A-2"),
        issue("2026-01-08 08:00", tag="A-2"),
    ]
    assert days(acts(given)["CELL-1"]) == [("05 09", "registered"), ("06 08", "issued"), ("08 08", "issued")]


def test_a_swap_counts_in_its_own_kin_alone() -> None:
    """A serial number that another kin names as well is another part's."""
    given = [*HOSTS, FITTED, battery("2026-01-07 08:00", to="A-2")]
    apart = acts(given, kins=KINS | {"A-2": "A-2"})
    assert [len(sat(found["CELL-1"])) for found in (acts(given), apart)] == [2, 1]
