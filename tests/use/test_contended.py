"""Two processes record about the same unit at the same time: neither is sent away, however often it loses the race."""

from itertools import count

import pytest

from service.ledger import Ledger
from service.recording import tries
from service.recording.tries import OPTIMISTIC
from tests.oracle.firm import FIRM
from tests.use.posting import post
from tests.use.rivals import Race, race
from tests.use.test_gathering import cleaned
from tests.use.test_waiting import named, unit

__all__ = ["race"]


async def test_who_loses_the_race_keeps_others_out(race: Race, ledger: Ledger) -> None:
    """After three decisions that a rival made stale, the fourth is taken with the rival outside, and stands."""
    await post(ledger, named([*FIRM, unit()]))
    receipt, told = await race(cleaned(1), map(cleaned, count(50)))

    assert (receipt.status, receipt.seq) == (201, len(FIRM) + 2 + OPTIMISTIC)
    assert [(one.status, one.seq) for one in told] == [
        *((201, len(FIRM) + 2 + nth) for nth in range(OPTIMISTIC)),
        (201, len(FIRM) + 3 + OPTIMISTIC),
    ]


async def test_who_took_long_and_lost_keeps_others_out(
    race: Race, ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What takes seconds, as a recall that is dated back, would be lost each time: the second try is taken alone."""
    monkeypatch.setattr(tries, "LONG", 0)
    await post(ledger, named([*FIRM, unit()]))
    receipt, told = await race(cleaned(1), map(cleaned, count(50)))

    assert (receipt.status, receipt.seq) == (201, len(FIRM) + 3)
    assert [(one.status, one.seq) for one in told] == [(201, len(FIRM) + 2), (201, len(FIRM) + 4)]
