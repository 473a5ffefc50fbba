from datetime import datetime

from service.store.adverse_out_of_line import adverse_out_of_line
from service.store.append import Entry
from service.store.scope import writing
from tests.store.making import Desk, an_entry, appended, minutes

KIOSK = "kiosk-1"


def bad_news(number: int, at: datetime, device: str = KIOSK) -> Entry:
    """Make an event of a device that is filed as its bad news."""
    return an_entry(device=device, device_seq=number, instant=at, subjects=((f"adverse:{device}", at),))


async def test_only_bad_news_out_of_line_is_given(desk: Desk) -> None:
    """Bad news comes back whose number or instant lies on the other side of what the device speaks now."""
    await appended(
        desk,
        [
            bad_news(1, minutes(1)),
            bad_news(2, minutes(50)),
            bad_news(30, minutes(3)),
            bad_news(31, minutes(60)),
            bad_news(32, minutes(61), "kiosk-2"),
            an_entry(device=KIOSK, device_seq=33, instant=minutes(2)),
        ],
    )

    async def found(*spoken: tuple[int, datetime], device: str = KIOSK) -> list[int]:
        async with writing(desk.pool, desk.organisation) as conn:
            said = [(device, number, instant) for number, instant in spoken]
            rows = await adverse_out_of_line(conn, desk.organisation, said)
        return [row.seq for row in rows]

    assert await found((10, minutes(10))) == [2, 3]
    assert await found((10, minutes(10)), (11, minutes(70))) == [2, 3, 4]
    assert await found((10, minutes(70)), device="kiosk-2") == [5]
    assert await found((40, minutes(60))) == []
    assert await found((1, minutes(1)), (31, minutes(60))) == []
