from datetime import UTC, datetime

import pytest

from seed.delivery import Delivery
from service.commands.demo_batches import Sender, Tally, batches, headers, sender_of

NOON = datetime(2026, 3, 2, 12, 0, 0, tzinfo=UTC)
IMPORT = Sender("administrator", None, imported=True, clock_ahead=0)


def delivery(
    number: int,
    *,
    role: str = "site-app",
    site: str | None = "harrow-dock",
    imported: bool = False,
    ahead: int = 0,
    expects: str = "recorded",
) -> Delivery:
    """Give a message that is told from others by its number."""
    return Delivery(
        message={"id": number}, at=NOON, key_role=role, site=site, imported=imported, clock_ahead=ahead, expects=expects
    )


@pytest.mark.parametrize(
    ("sent", "sender"),
    [
        (delivery(1), Sender("site-app", "harrow-dock", imported=False, clock_ahead=0)),
        (delivery(1, ahead=-340), Sender("site-app", "harrow-dock", imported=False, clock_ahead=-340)),
        (delivery(1, role="site-lead"), Sender("site-lead", "harrow-dock", imported=False, clock_ahead=0)),
        (delivery(1, role="manager"), Sender("manager", None, imported=False, clock_ahead=0)),
        (delivery(1, imported=True), IMPORT),
        (delivery(1, role="manager", imported=True), IMPORT),
    ],
)
def test_message_travels_with_the_key_of_its_sender(sent: Delivery, sender: Sender) -> None:
    """The past is the administrator's import; what is live comes with a key of its role, and of its site if any."""
    assert sender_of(sent) == sender


def test_order_of_arrival_is_kept() -> None:
    """A batch ends where the sender changes, and after 500 messages."""
    sent = [
        *(delivery(number, imported=True) for number in range(501)),
        delivery(501),
        delivery(502, site="pellbrook"),
        delivery(503),
        delivery(504),
    ]
    made = list(batches(sent))
    assert [len(batch.deliveries) for batch in made] == [500, 1, 1, 1, 2]
    assert [one.message["id"] for batch in made for one in batch.deliveries] == list(range(505))
    assert [batch.sender.site for batch in made] == [None, None, "harrow-dock", "pellbrook", "harrow-dock"]


def test_import_states_that_it_is_one() -> None:
    """An import says so and states no clock."""
    assert headers(IMPORT, "rl_key", NOON) == {
        "Authorization": "Bearer rl_key",
        "Content-Type": "application/json",
        "Prefer": "import",
    }


def test_live_sender_states_its_clock() -> None:
    """A device that is 340 seconds behind says what its own clock shows (the format is RFC 9110 section 5.6.7)."""
    behind = Sender("site-app", "harrow-dock", imported=False, clock_ahead=-340)
    assert headers(behind, "rl_key", NOON) == {
        "Authorization": "Bearer rl_key",
        "Content-Type": "application/json",
        "Date": "Mon, 02 Mar 2026 11:54:20 GMT",
    }


def test_what_comes_otherwise_is_kept() -> None:
    """Each result is held against what the demo expects; a repeat stands for a first post that was made before."""
    (batch,) = batches(
        [
            delivery(1, expects="recorded"),
            delivery(2, expects="recorded"),
            delivery(3, expects="recorded"),
            delivery(4, expects="repeated"),
            delivery(5, expects="repeated"),
            delivery(6, expects="rejected"),
            delivery(7, expects="rejected"),
            delivery(8, expects="waiting"),
        ]
    )
    tally = Tally()
    tally.add(batch, [{"status": status} for status in (201, 200, 422, 200, 201, 409, 201, 422)])
    assert tally.outcomes == {"recorded": 2, "repeated": 1, "rejected": 1, "waiting": 1}
    assert [(one.id, one.expected, one.result["status"]) for one in tally.surprises] == [
        (3, "recorded", 422),
        (5, "repeated", 201),
        (7, "rejected", 201),
    ]


def test_missing_result_is_an_error() -> None:
    """A batch with fewer results than messages is never taken for whole."""
    (batch,) = batches([delivery(1), delivery(2)])
    with pytest.raises(ValueError, match="shorter"):
        Tally().add(batch, [{"status": 201}])
