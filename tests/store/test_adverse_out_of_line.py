from datetime import datetime

from service.store.adverse_out_of_line import adverse_out_of_line
from service.store.append import Entry
from service.store.scope import writing
from tests.store.making import Desk, an_entry, appended, minutes

KIOSK = "kiosk-1"


def bad_news(number: int, at: datetime, device: str = KIOSK) -> Entry:
    """Make an event of a device that is filed as its bad news."""
    return an_entry(device=device, device_seq=number, instant=at, subjects=((f"adverse:{device}", at),))


async def test_only_bad_news_beyond_the_new_is_given(desk: Desk) -> None:
    """Bad news of the device dated after the new, or numbered above it, comes back, and nothing else."""
    await appended(
        desk,
        [
            bad_news(1, minutes(1)),
            bad_news(2, minutes(50)),
            bad_news(30, minutes(3)),
            bad_news(31, minutes(60)),
            bad_news(32, minutes(61), "kiosk-2"),
            an_entry(device=KIOSK, device_seq=33, instant=minutes(62)),
        ],
    )
    async with writing(desk.pool, desk.organisation) as conn:
        found = await adverse_out_of_line(conn, desk.organisation, device=KIOSK, earliest=minutes(10), lowest=10)
        none = await adverse_out_of_line(conn, desk.organisation, device=KIOSK, earliest=minutes(60), lowest=31)
    assert [recorded.seq for recorded in found] == [2, 3, 4]
    assert none == []
