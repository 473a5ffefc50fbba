import pytest

from service.domain.intervals import COMPONENT
from service.domain.tally import Alike, Tally, cut

GOOD = Alike("issued", in_scope=True, standing="in-date", rules="11111110", units=2)
SOON = Alike("stationed", in_scope=True, standing="due-soon", rules="21111110")
BAD = Alike("issued", in_scope=True, standing="do-not-use", rules="31111410")
STORED = Alike("in-store", in_scope=False, standing="out-of-scope", rules="00000000", units=3)


def counted(*alike: Alike) -> Tally:
    """Count units."""
    tally = Tally()
    for one in alike:
        tally.count(one)
    return tally


def test_units_are_counted_by_standing_phase_and_rule() -> None:
    """Units in scope make the rate; the others are counted beside it."""
    assert counted(GOOD, SOON, BAD, STORED).shown() == {
        "units": 7,
        "in_scope": 4,
        "compliant": 3,
        "rate": 0.75,
        "by_standing": {"in-date": 2, "due-soon": 1, "overdue": 0, "do-not-use": 1, "out-of-scope": 3},
        "by_phase": {
            "in-store": 3,
            "issued": 3,
            "stationed": 1,
            "quarantined": 0,
            "in-transit": 0,
            "at-service": 0,
            "missing": 0,
        },
        "uses": {"covered": 0, "of": 0},
        "unit_days": {"compliant": 0, "of": 0},
        "by_rule": {
            "thorough-examination": {"due-soon": 1, "overdue": 1, "do-not-use": 0},
            "pre-use-check": {"due-soon": 0, "overdue": 0, "do-not-use": 0},
            "cleaning": {"due-soon": 0, "overdue": 0, "do-not-use": 0},
            "filter-life": {"due-soon": 0, "overdue": 0, "do-not-use": 0},
            "power": {"due-soon": 0, "overdue": 0, "do-not-use": 0},
            "withdrawal": {"due-soon": 0, "overdue": 0, "do-not-use": 1},
            "listed-parts": {"due-soon": 0, "overdue": 0, "do-not-use": 0},
            "recall": {"due-soon": 0, "overdue": 0, "do-not-use": 0},
        },
    }


@pytest.mark.parametrize(
    "none",
    [
        Alike("retired", in_scope=False, standing="out-of-scope", rules="00000000"),
        Alike("in-store", in_scope=False, standing="out-of-scope", rules=COMPONENT),
    ],
)
def test_retired_units_and_components_are_none(none: Alike) -> None:
    """They are counted nowhere (design 11, R51)."""
    assert counted(none).shown() == Tally().shown()


def test_tallies_add_up() -> None:
    """Numerators and denominators by themselves (R16)."""
    one, other = counted(GOOD, STORED), counted(BAD)
    one.count_uses(covered=3, of=4)
    other.count_uses(covered=1, of=1)
    other.count_days(compliant=5, of=9)
    one.count_days(compliant=1, of=2)
    total = Tally()
    total.add(one)
    total.add(other)
    both = counted(GOOD, STORED, BAD).shown()
    assert total.shown() == both | {"uses": {"covered": 4, "of": 5}, "unit_days": {"compliant": 6, "of": 11}}


@pytest.mark.parametrize(
    ("numerator", "denominator", "rate"), [(2, 3, 0.6666), (1, 3, 0.3333), (3, 3, 1.0), (0, 5, 0.0), (0, 0, None)]
)
def test_rates_are_cut_to_four_decimals(numerator: int, denominator: int, rate: float | None) -> None:
    """Never rounded up; nothing over nothing is no rate (R16)."""
    assert cut(numerator, denominator) == rate
