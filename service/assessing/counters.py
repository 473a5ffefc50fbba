"""How devices count, told from the log: the gaps of most can be read off an index, of the others every number is."""

from collections.abc import Iterable, Sequence
from typing import Final

from service.assessing.moment import Question
from service.domain.counting import Run, runs
from service.store.device_activity import Activity
from service.store.device_gaps import device_gaps
from service.store.device_numbers import device_numbers

GAPS: Final = 100
"""How many gaps of a device are listed."""
MOST: Final = 2**63 - 1
"""The most numbers that are told to be missing: as many as a counter has."""


async def counters(question: Question, devices: Iterable[Activity]) -> dict[str, dict[str, object]]:
    """Tell how devices count, of those that number their events and whose events are all told."""
    counting = [one for one in devices if one.numbered and not one.hidden]
    found = await _in_one_run(question, [one for one in counting if one.is_one_run])
    found |= await _in_runs(question, [one.device for one in counting if not one.is_one_run])
    return {device: _told(every) for device, every in found.items()}


async def _in_one_run(question: Question, devices: Sequence[Activity]) -> dict[str, list[Run]]:
    """Give the one run of each device, with its newest gaps alone."""
    lacking = [one.device for one in devices if one.lacking]
    conn, organisation, until = question.conn, question.organisation, question.judged_to
    gaps = await device_gaps(conn, organisation, lacking, until=until, limit=GAPS) if lacking else {}
    return {
        one.device: [Run(one.lowest or 0, one.highest or 0, one.lacking, gaps.get(one.device, []))] for one in devices
    }


async def _in_runs(question: Question, devices: Sequence[str]) -> dict[str, list[Run]]:
    """Read every number of devices that gave one twice, or began below their first."""
    if not devices:
        return {}
    numbers = await device_numbers(question.conn, question.organisation, devices, until=question.judged_to)
    return {device: runs(numbered) for device, numbered in numbers.items()}


def _told(found: Sequence[Run]) -> dict[str, object]:
    """Tell of the runs of a device; the newest gaps come first."""
    gaps = ((nth, gap) for nth, run in enumerate(found, 1) for gap in run.gaps)
    newest = sorted(gaps, key=lambda pair: (pair[0], pair[1].first), reverse=True)
    return {
        "first": found[-1].first,
        "last": found[-1].last,
        "missing_count": min(sum(run.lacking for run in found), MOST),
        "missing": [{"run": nth, "first": gap.first, "last": gap.last} for nth, gap in newest[:GAPS]],
        "repeats": sum(run.repeats for run in found),
        "resets": len(found) - 1,
    }
