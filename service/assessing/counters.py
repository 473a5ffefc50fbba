"""How devices count, told from the log: the gaps of most can be read off an index, of the others every number is."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from service.assessing.heard import Heard
from service.assessing.moment import Question
from service.domain.counting import Gap, Run, runs
from service.store.device_activity import Activity
from service.store.device_gaps import device_gaps
from service.store.device_numbers import device_numbers

GAPS: Final = 100
"""How many gaps of a device are listed, and how many stretches of what was refused."""
MOST: Final = 2**63 - 1
"""The most numbers that are told to be missing: as many as a counter has."""


async def counters(question: Question, devices: Iterable[Heard]) -> dict[str, dict[str, object]]:
    """Tell how devices count, of those that number their events and of which all is told."""
    counting = [one for one in devices if not one.hidden]
    plain = [one.activity for one in counting if one.activity and one.activity.is_one_run and not one.refused_numbers]
    found = await _in_one_run(question, [one for one in plain if one.numbered])
    left = {one.device: one.refused_numbers for one in counting if one.device not in found}
    found |= await _in_runs(question, left)
    return {device: _told(every) for device, every in found.items() if every}


async def _in_one_run(question: Question, devices: Sequence[Activity]) -> dict[str, list[Run]]:
    """Give the one run of each device, with its newest gaps alone."""
    lacking = [one.device for one in devices if one.lacking]
    conn, organisation, until = question.conn, question.organisation, question.judged_to
    gaps = await device_gaps(conn, organisation, lacking, until=until, limit=GAPS) if lacking else {}
    return {
        one.device: [Run(one.lowest or 0, one.highest or 0, one.lacking, gaps.get(one.device, []))] for one in devices
    }


async def _in_runs(question: Question, refused: Mapping[str, Sequence[int]]) -> dict[str, list[Run]]:
    """Read every number of devices that gave one twice, began below their first, or had one refused."""
    if not refused:
        return {}
    numbers = await device_numbers(question.conn, question.organisation, refused, until=question.judged_to)
    return {device: runs(numbers.get(device, ()), their) for device, their in refused.items()}


def _told(found: Sequence[Run]) -> dict[str, object]:
    """Tell of the runs of a device; the newest gaps come first, and so does what was refused."""
    refused = [one for run in found for one in run.refused]
    return {
        "first": found[-1].first,
        "last": found[-1].last,
        "missing_count": min(sum(run.lacking for run in found), MOST),
        "missing": _newest([run.gaps for run in found]),
        "refused_count": sum(one.last - one.first + 1 for one in refused),
        "refused": _newest([run.refused for run in found]),
        "repeats": sum(run.repeats for run in found),
        "resets": len(found) - 1,
    }


def _newest(stretches: Sequence[Sequence[Gap]]) -> list[dict[str, int]]:
    """Tell the newest stretches of numbers, those of the newest run first."""
    every = ((nth, one) for nth, some in enumerate(stretches, 1) for one in some)
    newest = sorted(every, key=lambda pair: (pair[0], pair[1].first), reverse=True)
    return [{"run": nth, "first": one.first, "last": one.last} for nth, one in newest[:GAPS]]
