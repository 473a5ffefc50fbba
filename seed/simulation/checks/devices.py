"""Every device is told as it is: how many events came, what is missing or was refused, its resets, its clock.

A clock's offset is receipt minus sending, so what the way took is in it: it is told too high by that at most, and by a
second more where a clock is stated by `Date`, which has whole seconds. A service that does not tell of devices is not
asked.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from seed.simulation.checks.asking import Asking, Found, Stated
from seed.simulation.devices import Device, Taken

PATH = "/v1/devices"
WHAT = "devices: events, missing numbers, refusals, resets, clocks"
EXACT, WHOLE_SECONDS = 0.01, 1.0


async def check(asking: Asking, stated: Stated) -> Found:
    """Ask for all devices."""
    if PATH not in (await asking.get("/openapi.json"))["paths"]:
        return Found(what=f"{WHAT} (not told by this service)", count=0)
    told = {line["device"]: line async for page in asking.pages(PATH) for line in page["devices"]}
    taken: defaultdict[str, list[Taken]] = defaultdict(list)
    for one in stated.story.taken:
        taken[one.device.name].append(one)
    refused = Counter(stated.journal.refused.values())
    differences = [
        f"{name}: {difference}"
        for name, every in taken.items()
        for difference in compared(told.get(name), every, stated.journal.slowest, refused[name])
    ]
    return Found(what=WHAT, count=len(taken), differences=(*differences,))


def compared(
    line: dict[str, Any] | None, every: Sequence[Taken], slowest: Mapping[str, float], refused: int = 0
) -> Iterator[str]:
    """Say what is told otherwise of a device than it is; `slowest` is how long the ways of devices took at most.

    Of `refused` messages each may have come more than once, and was told again rightly since.
    """
    if line is None:
        yield "is not told of"
        return
    resets = sum(later.number < former.number for former, later in pairwise(every))
    counter, missing = line["counter"] or {}, _missing(every)
    expected = {
        "missing_count": sum(gap["last"] - gap["first"] + 1 for gap in missing),
        "missing": missing,
        "refused_count": 0,
        "repeats": 0,
        "resets": resets,
        "last": every[-1].number,
    }
    for name, value in expected.items():
        if counter.get(name) != value:
            yield f"{name} is {value}, told is {counter.get(name)}"
    if line["events"] != len(every):
        yield f"posted {len(every)} events, told are {line['events']}"
    if line["refused"] < refused or (line["refused"] and not refused):
        yield f"{refused} of its messages were refused, told are {line['refused']}"
    yield from _clock(line["clock"], every[0].device, slowest[every[0].device.name])


def _missing(every: Sequence[Taken]) -> list[dict[str, int]]:
    """Give the gaps in the numbers of a device, the newest first."""
    gaps, run = [], 1
    for former, later in pairwise(one.number for one in every):
        run += later < former
        if later > former + 1:
            gaps.append({"run": run, "first": former + 1, "last": later - 1})
    return gaps[::-1]


def _clock(told: dict[str, Any], device: Device, way: float) -> Iterator[str]:
    """Say what is told otherwise of a device's clock; positive is behind."""
    offset = told["offset_seconds"]
    if device.says == "nothing":
        if offset is not None:
            yield f"states no clock, told is that it is {offset} s behind"
        return
    most = way + (WHOLE_SECONDS if device.says == "Date" else 0)
    if offset is None or not -EXACT <= offset + device.ahead <= most + EXACT:
        yield f"its clock is {-device.ahead} s behind, told is {offset} s (the way took {most:.3f} s at most)"
    if told["suspect"] != device.is_suspect:
        yield f"its clock is {'' if device.is_suspect else 'not '}in doubt, told is otherwise"
