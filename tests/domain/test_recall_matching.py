"""Whether a criterion speaks of a part or of a unit: yes, no, or not known."""

from datetime import date
from typing import Any

import msgspec
import pytest

from service.domain.kinds.recall_opened import Criterion
from service.domain.label import sorting
from service.domain.part import Part
from service.domain.recall.matching import (
    any_of,
    match_part,
    match_unit,
    match_unstated,
    may_be_in,
    of_models,
    speaks_of_parts,
)

MADE, ACQUIRED = date(2025, 3, 1), date(2025, 7, 1)


def criterion(**fields: Any) -> Criterion:
    """Make a criterion."""
    return msgspec.convert(fields, Criterion)


def part(**fields: Any) -> Part:
    """Make a filter of a known lot, serial and expiry, unless said otherwise."""
    given = {"item": "p3", "lot": "L-9", "serial": "S-7", "expires": "2027-03", "condition": "new"} | fields
    return msgspec.convert(given, Part)


@pytest.mark.parametrize(
    ("fields", "parts"),
    [
        ({"item": "p3"}, True),
        ({"lot": "L-9"}, True),
        ({"lots": ["L-9"]}, True),
        ({"lot_from": "L-9"}, True),
        ({"lot_to": "L-9"}, True),
        ({"expires_from": "2027-01-01"}, True),
        ({"expires_to": "2027-01-01"}, True),
        ({"model": "hood", "serials": ["S-7"]}, False),
        ({"serial_from": "S-7", "serial_to": "S-8"}, False),
        ({"made_from": "2025-01-01", "received_to": "2025-01-01"}, False),
    ],
)
def test_items_lots_and_expiries_speak_of_parts(fields: dict[str, Any], *, parts: bool) -> None:
    """Everything else alone speaks of units."""
    assert speaks_of_parts(criterion(**fields)) is parts


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        ({"item": "p3"}, True),
        ({"item": "p4"}, False),
        ({"item": "p3", "model": "hood"}, True),
        ({"item": "p3", "model": "mask"}, False),
        ({"lot": "l-09"}, True),
        ({"lot": "L-8"}, False),
        ({"lots": ["L-8", "L-9"]}, True),
        ({"lots": ["L-8", "L-10"]}, False),
        ({"lot": "L-9", "lots": ["L-8"]}, False),
        ({"lot_from": "L-9", "lot_to": "L-10"}, True),
        ({"lot_from": "L-10"}, False),
        ({"lot_to": "L-8"}, False),
        ({"item": "p3", "serials": ["s-07"]}, True),
        ({"item": "p3", "serials": ["s-8"]}, False),
        ({"item": "p3", "serial_from": "S-7", "serial_to": "S-9"}, True),
        ({"item": "p3", "serial_from": "S-8"}, False),
        ({"item": "p3", "serial_to": "S-6"}, False),
        ({"expires_from": "2027-03-31"}, None),
        ({"expires_from": "2027-03-01", "expires_to": "2027-03-31"}, True),
        ({"expires_from": "2027-03", "expires_to": "2027-03"}, True),
        ({"expires_from": "2027-04"}, False),
        ({"expires_to": "2027-02"}, False),
        ({"expires_from": "2027-03-10", "expires_to": "2027-03-20"}, None),
        ({"expires_from": "2027-04-01"}, False),
        ({"expires_to": "2027-03-31"}, True),
        ({"expires_to": "2027-03-30"}, None),
        ({"expires_to": "2027-02-28"}, False),
        ({"expires_to": "2027-03-01"}, None),
        ({"item": "p3", "made_from": "2025-01-01"}, None),
        ({"item": "p3", "received_to": "2025-01-01"}, None),
        ({"item": "p4", "made_to": "2025-01-01"}, False),
    ],
)
def test_a_part_matches_by_all_that_is_given(fields: dict[str, Any], *, found: bool | None) -> None:
    """When it was made or received is on no record."""
    assert match_part(criterion(**fields), "hood", part()) is found


@pytest.mark.parametrize(
    ("fields", "missing"),
    [
        ({"item": "p3", "lot": "L-1"}, "lot"),
        ({"lots": ["L-1"]}, "lot"),
        ({"lot_from": "L-10"}, "lot"),
        ({"lot_to": "L-1"}, "lot"),
        ({"item": "p3", "serials": ["S-1"]}, "serial"),
        ({"item": "p3", "serial_from": "S-9"}, "serial"),
        ({"item": "p3", "serial_to": "S-1"}, "serial"),
        ({"item": "p3", "expires_to": "2020-01-01"}, "expires"),
    ],
)
def test_what_is_not_on_record_of_a_part_is_not_known(fields: dict[str, Any], missing: str) -> None:
    """It may be affected; with the value it is not, and where anything else speaks against it, it is not either."""
    assert match_part(criterion(**fields), "hood", part(**{missing: None})) is None
    assert match_part(criterion(**fields), "hood", part()) is False
    assert match_part(criterion(**fields, model="mask"), "hood", part(**{missing: None})) is False


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        ({"item": "p3"}, None),
        ({"item": "p4"}, False),
        ({"lot": "L-9"}, None),
        ({"item": "p3", "model": "hood"}, None),
        ({"item": "p3", "model": "mask"}, False),
    ],
)
def test_what_was_never_stated_is_never_known(fields: dict[str, Any], *, found: bool | None) -> None:
    """It may be whatever the model lists for the position."""
    assert match_unstated(criterion(**fields), "hood", ["p3", "p5"]) is found


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        ({"model": "hood"}, True),
        ({"model": "mask"}, False),
        ({"serials": ["u-01"]}, True),
        ({"serials": ["U-2"]}, False),
        ({"serial_from": "U-1", "serial_to": "U-1"}, True),
        ({"serial_from": "U-2"}, False),
        ({"serial_to": "U-0"}, False),
        ({"made_from": "2025-03-01", "made_to": "2025-03-01"}, True),
        ({"made_from": "2025-03-01"}, True),
        ({"made_to": "2025-03-01"}, True),
        ({"made_from": "2025-03-02"}, False),
        ({"made_to": "2025-02-28"}, False),
        ({"received_from": "2025-07-01", "received_to": "2025-07-01"}, True),
        ({"received_from": "2025-07-02"}, False),
        ({"received_to": "2025-06-30"}, False),
        ({"model": "hood", "serials": ["U-1"], "made_to": "2025-02-28"}, False),
    ],
)
def test_a_unit_matches_by_all_that_is_given(fields: dict[str, Any], *, found: bool) -> None:
    """By its model, serial, day of manufacture and day of acquisition."""
    assert match_unit(criterion(**fields), "hood", "U-1", MADE, ACQUIRED) is found


def test_a_day_not_on_record_of_a_unit_is_not_known() -> None:
    """It counts as matching, but not against what is known."""
    assert match_unit(criterion(made_from="2025-03-02"), "hood", "U-1", None, ACQUIRED) is None
    assert match_unit(criterion(received_to="2025-03-02"), "hood", "U-1", MADE, None) is None
    assert match_unit(criterion(made_from="2025-03-02", model="mask"), "hood", "U-1", None, None) is False


@pytest.mark.parametrize(
    ("matches", "found"),
    [((), False), ((False, None), None), ((None, True, False), True), ((False, False), False), ((True,), True)],
)
def test_of_a_list_one_that_matches_suffices(matches: tuple[bool | None, ...], *, found: bool | None) -> None:
    """What is not known is so only where none is known to match."""
    assert any_of(matches) is found


@pytest.mark.parametrize(
    ("models", "found"),
    [
        (["yes"], True),
        (["open"], None),
        (["no"], False),
        (["yes", "no"], True),
        (["open", "no"], None),
        (["no", "yes"], None),
        (["no", "open"], None),
        (["no", "no", "yes"], None),
        (["no", "yes", "no"], None),
        (["no", "no", "no"], False),
    ],
)
def test_what_a_unit_may_be_as_a_former_model_is_never_known(models: list[str], *, found: bool | None) -> None:
    """What holds of it as it is decides; where that speaks against it, any model it was before may be meant."""
    says = {"yes": True, "open": None, "no": False}
    assert of_models(models, says.__getitem__) is found


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        ({"lot": "L-9"}, True),
        ({"model": "hood"}, True),
        ({"model": "pack"}, False),
        ({"item": "p3"}, True),
        ({"item": "tube"}, False),
        ({"model": "mask", "item": "p3"}, True),
        ({"model": "mask", "item": "tube"}, False),
        ({"model": "pack", "item": "p3"}, False),
    ],
)
def test_a_criterion_may_speak_of_a_unit_by_its_models_and_items(fields: dict[str, Any], *, found: bool) -> None:
    """Where it names neither it may speak of any."""
    assert may_be_in(criterion(**fields), ["hood", "mask"], {"p3", "abek"}) is found


def test_lists_are_worked_out_once_however_many_recalls_there_are(monkeypatch: pytest.MonkeyPatch) -> None:
    """A part is held against the lists of each: a look a list, and none of their labels is gone through again."""
    worked_out = 0

    def counted(label: str) -> str:
        nonlocal worked_out
        worked_out += 1
        return sorting(label)

    recalls = 1200
    lists = [tuple(f"L-{number:04d}-{nth:02d}" for nth in range(20)) for number in range(recalls)]
    meant = [Criterion(lots=lots, serials=lots) for lots in lists]
    monkeypatch.setattr("service.domain.label.sorting", counted)
    for nth in range(3):
        worked_out = 0
        one = part(lot=f"l-7-{nth}", serial=f"l-7-{nth}")
        assert sum(match_part(criterion, "hood", one) is True for criterion in meant) == 1
        assert worked_out <= (2 if nth else 22) * 2 * recalls
