"""Criteria that nothing meets, since what they name lies outside the rest of what they say."""

from typing import Any

import msgspec
import pytest

from service.domain.kinds.recall_opened import Criterion
from service.domain.recall.unmeetable import unmeetable


@pytest.mark.parametrize(
    ("said", "nothing"),
    [
        ({"lot": "L10", "lot_from": "L9", "lot_to": "L11"}, False),
        ({"lot": "L10", "lot_from": "L11"}, True),
        ({"lot": "l010", "lots": ["L10", "L12"]}, False),
        ({"lot": "L10", "lots": ["L11", "L12"]}, True),
        ({"lots": ["A1", "A2"], "lot_from": "B10", "lot_to": "B20"}, True),
        ({"lots": ["A1", "B10"], "lot_from": "B10", "lot_to": "B20"}, False),
        ({"lots": ["B15"], "lot_from": "B20", "lot_to": "B10"}, False),
        ({"serials": ["S1"], "serial_to": "S0"}, True),
        ({"serials": ["S1"], "serial_from": "S01"}, False),
        ({"lot": "L1", "serials": ["S9"], "serial_to": "S8"}, True),
        ({"lot_from": "L9", "lot_to": "L1"}, False),
        ({"item": "pf-170"}, False),
    ],
)
def test_nothing_meets_what_contradicts_itself(said: dict[str, Any], nothing: bool) -> None:
    """Named lots and serial numbers must lie in the range, whichever way round, as numbers of digits are compared."""
    assert unmeetable(msgspec.convert(said, Criterion)) is nothing
