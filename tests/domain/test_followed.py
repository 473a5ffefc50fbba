"""Parts that are followed by their serial numbers."""

from service.domain.part import Part
from service.domain.recall.followed import Following, lots_of
from service.domain.stays import Stay
from tests.domain.units import at


def part(lot: str | None, serial: str | None, item: str = "p3") -> Part:
    """Give a filter."""
    return Part(item=item, lot=lot, serial=serial, condition="new")


def test_a_part_is_known_by_the_lots_told_of_its_serial_number() -> None:
    """Of its own item, however the number was typed; what has a lot or no number of its own is not looked for."""
    told = [part("L-10", "s-07"), part("L-9", "S-7"), part(None, "S-8"), part("L-9", None), part("L-1", "S-7", "tube")]
    following = Following()
    for one in told:
        following.add([Stay("filter", at(0), at(0), part=one), Stay("filter", at(1), at(1))])
    lots = following.lots

    assert lots_of(part(None, "S-007"), lots) == ("L-9", "L-10")
    assert [lots_of(one, lots) for one in (part("L-2", "S-7"), part(None, None), part(None, "S-8"))] == [()] * 3
