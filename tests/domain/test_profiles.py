"""The tables against the clauses they cite: each expected value stands beside its clause and how it was read."""

import pytest

from service.domain.period import Period, longer
from service.domain.profile import checking, cleaning, competence, examining, particulars, profile
from service.domain.standing import Source
from service.reference.citation import STATUSES
from service.reference.cleaning import CLEANINGS, OCCASIONS
from service.reference.competence import ACTS, COMPETENCES
from service.reference.completeness import PROFILES, ROWS
from service.reference.examination import DEVICES, EXAMINATIONS, USES
from service.reference.pre_use import PRE_USES

MONTH, QUARTER = Period(months=1), Period(months=3)


@pytest.mark.parametrize("device", DEVICES)
@pytest.mark.parametrize(
    ("use", "interval", "longest"),
    [
        ("routine", MONTH, MONTH),  # L5 ACOP, at least monthly (read second-hand)
        ("emergency", MONTH, MONTH),  # the same
        ("escape", MONTH, MONTH),  # the same: reg 9(3) speaks of all but disposable respirators (read)
        ("occasional", QUARTER, QUARTER),  # L5 ACOP, never over three months (read second-hand)
    ],
)
def test_uk_examination(device: str, use: str, interval: Period, longest: Period) -> None:
    """The UK expects an examination monthly of every device, or quarterly where used only occasionally."""
    found = examining("uk", device, use)
    assert (found.interval, found.longest) == (interval, longest)
    assert found.source.clause.startswith("COSHH 2002 reg 9(3); L5 ACOP")
    assert (found.source.edition, found.source.status) == ("L5 6th edition, 2013", "second-hand")


@pytest.mark.parametrize("device", ["powered", "negative-pressure", "airline"])
@pytest.mark.parametrize(
    ("use", "interval", "clause"),
    [
        ("routine", None, "29 CFR 1910.134(h)(3)(i)(A)"),  # each use and cleaning, no month (second-hand)
        ("occasional", None, "29 CFR 1910.134(h)(3)(i)(A)"),  # the same
        ("emergency", MONTH, "29 CFR 1910.134(h)(3)(i)(B)"),  # at least monthly (second-hand)
        ("escape", None, "29 CFR 1910.134(h)(3)(i)(C)"),  # before being carried in (second-hand)
    ],
)
def test_us_examination(device: str, use: str, interval: Period | None, clause: str) -> None:
    """The US sets a monthly duty for emergency units, none for routine and escape ones."""
    found = examining("us", device, use)
    assert (found.interval, found.longest) == (interval, interval)
    assert found.source.clause.startswith(clause)
    assert found.source.status == "second-hand"


@pytest.mark.parametrize("use", USES)
def test_us_cylinder(use: str) -> None:
    """The US expects a cylinder unit to be inspected monthly: 29 CFR 1910.134(h)(3)(iii), from memory."""
    found = examining("us", "cylinder", use)
    assert (found.interval, found.longest, found.source.status) == (MONTH, MONTH, "memory-high")


@pytest.mark.parametrize("name", ["eu", "au-nz", "ca", None, "nowhere"])
def test_no_interval_known(name: str | None) -> None:
    """Where no interval is on record none is made up."""
    for device in DEVICES:
        for use in USES:
            assert examining(name, device, use).interval is None
            assert examining(name, device, use).longest is None


def test_no_interval_beyond_the_longest() -> None:
    """No table row starts beyond what it lets a policy set, and each period can be read."""
    for row in EXAMINATIONS:
        assert (row.interval is None) == (row.longest is None)
        if row.interval and row.longest:
            assert not longer(Period.parse(row.interval), Period.parse(row.longest))


@pytest.mark.parametrize(
    ("name", "use", "clause", "status"),
    [
        ("uk", "routine", "COSHH 2002 reg 9(5)", "read"),
        ("us", "routine", "29 CFR 1910.134(h)(3)(i)(A)", "second-hand"),
        ("us", "occasional", "29 CFR 1910.134(h)(3)(i)(A)", "second-hand"),
        ("us", "emergency", "29 CFR 1910.134(h)(3)(i)(B)", "second-hand"),
        ("us", "escape", "29 CFR 1910.134(h)(3)(i)(C)", "second-hand"),
        ("eu", "routine", "the flow is read before each use", "common-practice"),  # no source
        (None, "routine", "no clause on record", "unknown"),
    ],
)
def test_check_before_use(name: str | None, use: str, clause: str, status: str) -> None:
    """A check before use rests on the clause of its profile and use."""
    assert checking(name, use).clause.startswith(clause)
    assert checking(name, use).status == status


@pytest.mark.parametrize(
    ("name", "occasion", "clause", "status"),
    [
        ("us", "between-wearers", "29 CFR 1910.134(h)(1)(ii)", "read"),
        ("us", "emergency", "29 CFR 1910.134(h)(1)(iii)", "read"),
        ("us", "fit-test", "29 CFR 1910.134(h)(1)(iv)", "read"),
        ("us", "training", "29 CFR 1910.134(h)(1)(iv)", "read"),
        ("uk", "between-wearers", "a respirator is cleaned", "common-practice"),
        (None, "between-wearers", "no clause on record", "unknown"),
    ],
)
def test_cleaning(name: str | None, occasion: str, clause: str, status: str) -> None:
    """Cleaning is law in the US, practice elsewhere."""
    source = cleaning(name, occasion)
    assert source.clause.startswith(clause)
    assert source.status == status


@pytest.mark.parametrize(
    ("device", "names"),
    [
        ("powered", ["employer", "equipment", "examiner", "condition", "volume-flow"]),
        ("negative-pressure", ["employer", "equipment", "examiner", "condition"]),
        ("airline", ["employer", "equipment", "examiner", "condition", "volume-flow"]),
        ("cylinder", ["employer", "equipment", "examiner", "condition", "cylinder-pressure", "volume-flow"]),
    ],
)
def test_uk_record(device: str, names: list[str]) -> None:
    """The UK record holds the six items of L5 para 184 (read), flow and pressure where the device has them."""
    rows = particulars("uk", device, "routine")
    assert [row.name for row in rows] == names
    assert {row.citation.status for row in rows} == {"read"}


def test_us_record() -> None:
    """The US certification of an emergency unit holds five fields: (h)(3)(iv)(A), read second-hand."""
    rows = particulars("us", "powered", "emergency")
    assert [row.name for row in rows] == ["date", "inspector", "findings", "remedial-action", "identification"]
    assert {row.citation.clause for row in rows} == {"29 CFR 1910.134(h)(3)(iv)(A)"}
    assert particulars("us", "powered", "routine") == ()
    assert particulars(None, "powered", "routine") == ()


def test_competence() -> None:
    """Repair in the US is for trained persons, (h)(4)(i)-(ii) (second-hand); with no clause, our own."""
    assert competence("us", "repair").clause.startswith("29 CFR 1910.134(h)(4)(i)-(ii)")
    assert competence("us", "release") == Source("this service's own choice", "version 1", "own")
    assert competence("uk", "examine").status == "memory-high"
    assert competence(None, "examine").status == "unknown"


@pytest.mark.parametrize("name", PROFILES)
def test_every_question_has_a_row(name: str) -> None:
    """Each profile has one row for each device and use, check, occasion and act."""
    examined = [(d, u) for row in EXAMINATIONS if row.profile == name for d in row.devices for u in row.uses]
    assert sorted(examined) == sorted((device, use) for device in DEVICES for use in USES)
    assert sorted(u for row in PRE_USES if row.profile == name for u in row.uses) == sorted(USES)
    assert sorted(o for row in CLEANINGS if row.profile == name for o in row.occasions) == sorted(OCCASIONS)
    assert sorted(a for row in COMPETENCES if row.profile == name for a in row.acts) == sorted(ACTS)
    assert particulars(name, "powered", "emergency")


def test_every_row_has_a_source() -> None:
    """Each row names a clause, an edition and a status of the closed list."""
    for row in ROWS:
        assert row.citation.clause
        assert row.citation.edition
        assert row.citation.status in STATUSES


@pytest.mark.parametrize("name", PROFILES)
def test_no_profile_claims_to_be_complete(name: str) -> None:
    """No profile is complete as long as one of its rows was not read in the text itself; it lists those rows."""
    found = profile(name)
    assert found.complete is False
    assert len(found.missing) == len([row for row in ROWS if row.profile == name and row.citation.status != "read"])


def test_what_uk_misses() -> None:
    """The UK profile says which facts were not read in the text itself."""
    assert profile("uk").missing == (
        "thorough-examination: routine, emergency, escape [second-hand]",
        "thorough-examination: occasional [second-hand]",
        "cleaning: between-wearers, emergency, training, fit-test [common-practice]",
        "competence: examine, repair [memory-high]",
        "competence: release [own]",
    )


def test_no_such_profile() -> None:
    """A jurisdiction that the tables do not know is a KeyError."""
    with pytest.raises(KeyError, match="nowhere"):
        profile("nowhere")
