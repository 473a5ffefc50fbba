"""Messages of one unit as its devices took them down, told in a line each."""

from datetime import UTC, datetime, timedelta

from seed.book import Message
from seed.dice import Dice
from seed.models import BY_REF
from seed.simulation.devices import Device, Taken
from seed.simulation.truth import Truth

MODEL = BY_REF["pe-half-1"]
DAWN = datetime(2026, 3, 2, 6, tzinfo=UTC)
TRUE = Device("kiosk")
PASS: Message = {"points": {"face-seal": "pass", "filters-fitted": "pass", "valves": "pass", "straps": "pass"}}
RECHECK: Message = {"points": {"face-seal": "fail", "filters-fitted": "pass", "valves": "pass", "straps": "pass"}}
WITHDRAW: Message = {"points": {"face-seal": "pass", "filters-fitted": "pass", "valves": "fail", "straps": "pass"}}
EXAMINED: Message = PASS | {"result": "pass"}


class Story:
    """What one unit went through, at the site `yard` if not said otherwise; each thing an hour after the last."""

    def __init__(self) -> None:
        self.every: list[Taken] = []
        self.say("registered", model=MODEL.ref)

    def say(
        self,
        kind: str,
        told: Message | None = None,
        *,
        device: Device = TRUE,
        number: int | None = None,
        **fields: object,
    ) -> "Story":
        """Let something happen."""
        hour = len(self.every)
        message: Message = {
            "id": Dice.named(hour, "ids").uuid(DAWN),
            "kind": kind,
            "asset": "FX-1",
            "site": "yard",
            "occurred_at": device.shows(DAWN + timedelta(hours=hour)).isoformat(),
            "device_seq": number or hour + 1,
        }
        self.every.append(Taken(message | (told or {}) | fields, device, DAWN + timedelta(hours=hour), "site-app"))
        return self

    @property
    def truth(self) -> Truth:
        """Give what is true of it."""
        return Truth(self.every, [MODEL])
