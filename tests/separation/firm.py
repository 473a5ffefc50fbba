"""The messages of one firm: two sites in two profiles, what they share, and a life for the units of each.

Both firms post the same messages with the same ids, tags and references; only their marks differ.
"""

from collections.abc import Iterator
from typing import Any, NamedTuple
from uuid import NAMESPACE_OID, uuid5

from tests.http.firm import Message, ago, model, site
from tests.separation.marks import Firm, Room, Sort, mark

SITES: dict[Room, str] = {"dock": "harrow-dock", "yard": "east-yard"}
TAGS: dict[Room, str] = {"dock": "DK-1", "yard": "YD-1"}
MOVED = "MV-1"
HELD = f"{TAGS['yard']}-Q"
HELD_FOR: dict[Room, str] = {"dock": "other", "yard": "contamination"}
TASK = {"name": "Grinding", "substances": [], "oxygen": "proven", "space": "open"}
POINTS = {"airflow": "pass", "battery": "pass"}


class Sayings(NamedTuple):
    """What makes the messages of one firm that belong to one room, posted at a site."""

    firm: Firm
    room: Room
    site: str | None = None

    def mark(self, sort: Sort, name: str) -> str:
        """Make a mark of this room."""
        return mark(self.firm, self.room, sort, name)

    def say(self, name: str, kind: str, /, **fields: Any) -> Message:
        """Say that something happened an hour ago: who said it, and a remark, are of this room."""
        said = {"id": ident(f"{self.room} {name}"), "kind": kind, "by": self.mark("person", f"by-{name}")}
        said |= {"occurred_at": ago(hours=1), "remark": self.mark("text", f"remark-{name}")}
        return said | ({} if self.site is None else {"site": self.site}) | fields

    def of(self, tag: str, name: str, kind: str, /, **fields: Any) -> Message:
        """Say that something happened to a unit, from somebody's phone."""
        return self.say(name, kind, asset=tag, device=self.mark("person", f"tel-{name}"), **fields)

    def registered(self, tag: str) -> Message:
        """Register a unit thirty hours ago, with a serial and lots of this room."""
        parts = [
            {"position": place, "part": {"item": item, "lot": self.mark("fact", f"lot-{item}"), "condition": "new"}}
            for place, item in (("particle-filter", "pf-170"), ("battery", "bat-64"))
        ]
        name = tag.lower()
        said = {"model": "northwind-2", "serial": self.mark("fact", f"serial-{name}"), "parts": parts}
        return self.of(tag, name, "registered", **said, occurred_at=ago(hours=30))


def ident(name: str) -> str:
    """Give the id of a message, the same in both firms."""
    return str(uuid5(NAMESPACE_OID, name))


def whole_firm(firm: Firm) -> Iterator[Message]:
    """Tell what is for every key of the firm, and what is for its office alone."""
    say, office = Sayings(firm, "all"), Sayings(firm, "office")
    common = model(name=say.mark("fact", "model"), maker=say.mark("fact", "maker"))
    yield common | say.say("model", "model-defined", reason=say.mark("text", "reason-model"))
    for item in ("pf-170", "bat-64"):
        yield say.say(item, "item-defined", item=item, name=say.mark("fact", item), unit="EA")
    instrument = {"name": say.mark("fact", "meter"), "measures": ["airflow"]}
    dates = {"calibrated_on": "2026-01-05", "calibration_due": "2036-01-05"}
    yield say.say("meter", "instrument-defined", instrument="meter-1", **instrument, **dates)
    yield say.say("task", "task-defined", task="grinding", **(TASK | {"name": say.mark("fact", "task")}))
    yield say.say("cover", "policy-set", **policy({"cover": "PT24H"}), reason=say.mark("text", "reason-cover"))
    person = office.mark("person", "trained")
    yield office.say("trained", "trained", person=person, competences=["wear", "repair"])
    opened = {"action": "information", "criteria": [{"model": "northwind-2"}, {"item": "pf-170"}]}
    opened |= {"occurred_at": ago(hours=20), "notice": say.mark("text", "notice")}
    yield office.say("recall", "recall-opened", recall="rc-1", **opened)
    yield office.say("rehearsal", "recall-opened", recall="rc-3", rehearsal=True, **opened)
    stopped = {"recall": "rc-2", "action": "stop-use", "criteria": [{"item": "bat-99"}]}
    yield office.say("recall-stop", "recall-opened", **stopped, notice=say.mark("text", "notice-stop"))


def policy(values: dict[str, Any], name: str = "pre-use-check", **scope: str) -> dict[str, Any]:
    """Give the fields of a policy."""
    return {"policy": name, "scope": {"organisation": True} | scope, "values": values}


def defined(firm: Firm, room: Room) -> Iterator[Message]:
    """Tell what a site is, and what is set for it alone."""
    own = Sayings(firm, room)
    profile = {"dock": ("uk", "Europe/London"), "yard": ("us", "America/New_York")}[room]
    fields: dict[str, Any] = {"name": own.mark("fact", "site"), "region": own.mark("fact", "region")}
    fields |= {"employer": {"name": own.mark("fact", "employer"), "address": own.mark("fact", "address")}}
    fields |= {"profile": profile[0], "time_zone": profile[1], "reason": own.mark("text", "reason-site")}
    yield site(SITES[room]) | own.say("site", "site-defined") | fields
    narrowed = policy({"cover": "PT20H"}, site=SITES[room])
    yield own.say("narrowed", "policy-set", **narrowed, reason=own.mark("text", "reason-policy"))


def life(firm: Firm, room: Room) -> Iterator[Message]:
    """Tell what happened to the units of a site, and to its stock: one is worn, one stands ready, one is put away."""
    own, tag = at_site(firm, room), TAGS[room]
    wearer = own.mark("person", "wearer")
    yield from (own.registered(f"{tag}{end}") for end in ("", "-S", "-Q", "-R"))
    recalled = {"position": "battery", "in": {"item": "bat-99", "condition": "new"}, "reason": "other"}
    yield own.of(f"{tag}-R", "recalled", "part-replaced", **recalled)
    yield own.of(tag, "use", "use-set", use="occasional", **authorised(own))
    holder = {"person": own.mark("person", "holder")}
    yield own.of(tag, "issued", "issued", holder=holder, task="grinding", occurred_at=ago(hours=9))
    checked = {"points": POINTS, "airflow_lpm": 186.0, "battery_percent": 80.0, "wearer": wearer}
    checked |= {"action": own.mark("text", "action"), "occurred_at": ago(hours=8)}
    yield own.of(tag, "checked", "checked", **checked)
    yield own.of(tag, "worn", "worn", wearer=wearer, until=ago(hours=6), occurred_at=ago(hours=7))
    yield own.of(tag, "worn-twice", "worn", wearer=wearer, occurred_at=ago(hours=5))
    yield own.say("voided", "voided", event=ident(f"{room} worn-twice"), reason=own.mark("text", "reason-voided"))
    defect = {"point": "airflow", "found": own.mark("text", "found"), "remedy": own.mark("text", "remedy")}
    report = {"examiner_employer": own.mark("fact", "examiner"), "certificate": own.mark("fact", "certificate")}
    yield own.of(tag, "examined", "examined", points=POINTS, result="pass", defects=[defect], **report)
    yield own.of(f"{tag}-S", "stationed", "stationed", place=own.mark("fact", "cabinet"))
    yield own.of(f"{tag}-Q", "quarantined", "quarantined", reason=HELD_FOR[room], place=own.mark("fact", "cage"))
    lot = {"item": "pf-170", "quantity": 4.0, "unit": "EA", "lot": own.mark("fact", "lot-stock")}
    lent = {"device": mark(firm, "both", "person", "tel-lent"), "device_seq": {"dock": 1, "yard": 7}[room]}
    yield own.say("stock", "stock-received", **lot, **lent, place=own.mark("fact", "shelf"))
    wasted = lot | {"quantity": 1.0, "reason": own.mark("text", "reason-waste")}
    yield own.say("waste", "stock-discarded", **wasted, place=own.mark("fact", "shelf"))
    yield own.say("lead", "trained", person=own.mark("person", "lead"), competences=["wear", "release"])


def at_site(firm: Firm, room: Room) -> Sayings:
    """Give what makes the messages of a site."""
    return Sayings(firm, room, SITES[room])


def authorised(own: Sayings) -> dict[str, str]:
    """Say who allows occasional use, and why."""
    return {"authorised_by": own.mark("person", "authorised"), "reason": own.mark("text", "reason-use")}


def moved(firm: Firm) -> Iterator[Message]:
    """Tell of a unit that went from the dock to the yard: its history goes with it, what follows is the yard's own."""
    dock, yard = Sayings(firm, "both", SITES["dock"]), at_site(firm, "yard")
    yield dock.registered(MOVED)
    yield dock.of(MOVED, "moved", "moved", to_site=SITES["yard"], occurred_at=ago(hours=4))
    yield yard.of(MOVED, "received", "received", occurred_at=ago(hours=3))
    holder = {"person": yard.mark("person", "holder-moved")}
    yield yard.of(MOVED, "issued-mv", "issued", holder=holder, occurred_at=ago(hours=2))


def elsewhere(firm: Firm) -> Iterator[Message]:
    """Tell what the dock does with a unit that the yard has put away: both have the events, the yard its reasons."""
    dock = Sayings(firm, "both", SITES["dock"])
    yield dock.of(HELD, "worn-q", "worn", wearer=dock.mark("person", "wearer-q"), occurred_at=ago(minutes=50))
    yield dock.of(HELD, "freed-q", "released", occurred_at=ago(minutes=40))


def alone(firm: Firm) -> Iterator[Message]:
    """Tell of what the other firm has no like of: one of each sort of reference data, a unit, an event."""
    say, tag = Sayings(firm, "all"), f"ONLY-{firm}"
    office = Sayings(firm, "office")
    yield site(tag) | office.say("only-site", "site-defined", name=office.mark("fact", "site"))
    yield model(model=tag) | say.say("only-model", "model-defined", name=say.mark("fact", "model"))
    yield say.say("only-item", "item-defined", item=tag, name=say.mark("fact", "item"), unit="EA")
    dates = {"calibrated_on": "2026-01-05", "calibration_due": "2036-01-05"}
    yield say.say("only-meter", "instrument-defined", instrument=tag, name="A meter", measures=["airflow"], **dates)
    yield say.say("only-task", "task-defined", task=tag, **TASK)
    narrow = {"ours": ("acceptance", {"examination": True}), "theirs": ("cleaning", {"between_wearers": True})}[firm]
    yield say.say("only-policy", "policy-set", **policy(narrow[1], narrow[0]))
    yield office.say("only-recall", "recall-opened", recall=tag, action="stop-use", criteria=[{"item": tag}])
    yield at_site(firm, "dock").registered(tag)
