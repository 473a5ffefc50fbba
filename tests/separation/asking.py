"""What is asked at each door: the values of its address, its query and its body, for what belongs to a place.

A parameter or a body that nothing is said of here fails the tests of its door: give it a value that finds something.
"""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any, Literal, TypeAlias
from uuid import uuid4

import httpx

from service.domain.ordering.naming import proposal_id
from tests.separation.doors import Door
from tests.separation.firm import SITES, TAGS, at_site, ident
from tests.separation.marks import Firm, Room, mark
from tests.separation.world import (
    APPROVED,
    CALLED_OFF,
    ORDERED,
    Reader,
    World,
    bury,
    hooked,
    refused,
    unfit,
    webhook,
)

Absent: TypeAlias = Literal["foreign", "never"]

UNKNOWN = "0198c1f2-7a10-7c3e-9b55-3f1d2ab40c99"
#: What holds for the whole firm, whoever asks.
SHARED = {"models": "northwind-2", "items": "pf-170", "tasks": "grinding", "instruments": "meter-1", "recalls": "rc-1"}
STOPPED = "rc-2"
"""The recall whose units are stopped."""
ONLY_POLICY: dict[Firm, str] = {"ours": "acceptance", "theirs": "cleaning"}
POLICIES = {
    "acceptance": {"examination": True},
    "cleaning": {"between_wearers": True},
    "service-level": {"level": 0.95},
}
IN_ADDRESS = {"site", "model", "item", "task", "policy", "instrument", "scope"}
ADDED = ("id", "kind", "seq", "recorded_at", "received_at", "sent_at", "occurred_at")

NOW = datetime.now(UTC)
#: What is asked in a query, beside `site`, `after` and `known_at`.
QUERY: Mapping[str, str] = {
    "as_at": (NOW - timedelta(hours=4)).isoformat(),
    "from": (NOW - timedelta(hours=12)).isoformat(),
    "to": NOW.isoformat(),
    "acknowledged": "false",
    "device": mark("ours", "dock", "person", "tel-issued"),
    "due_before": (NOW + timedelta(days=90)).isoformat(),
    "group_by": "region",
    "item": "pf-170",
    "holder": mark("ours", "dock", "person", "holder"),
    "limit": "1",
    "kind": "checked",
    "model": "northwind-2",
    "phase": "issued",
    "profile": "uk",
    "region": mark("ours", "dock", "fact", "region"),
    "rule": "pre-use-check",
    "standing": "overdue",
    "state": "dead",
    "status": "open",
    "subject": "asset:DK-1",
    "tags": "DK-1",
    "text": "1",
    "wait": "0",
}
#: What a door understands otherwise.
OF_DOOR: Mapping[str, Mapping[str, str]] = {
    "GET /v1/consumption": {
        "from": (NOW - timedelta(days=2)).date().isoformat(),
        "to": NOW.date().isoformat(),
        "group_by": "month",
    },
    "GET /v1/reorders": {"state": "placed"},
    # before the firm received anything there is no such document
    "GET /v1/reorders/{ref}/receipt": {"as_at": (datetime.now(UTC) + timedelta(days=1)).isoformat()},
}


def value_of(parameter: str, door: Door) -> str:
    """Give what is asked for by a parameter at a door; by `known_at` what is known now."""
    if parameter == "known_at":
        return (datetime.now(UTC) - timedelta(milliseconds=1)).isoformat()
    return OF_DOOR.get(str(door), QUERY).get(parameter, QUERY[parameter])


def other(firm: Firm) -> Firm:
    """Give the other firm."""
    return "theirs" if firm == "ours" else "ours"


def nobodys(firm: Firm) -> str:
    """Give a name that neither firm has, as long as the one that the other firm has."""
    return f"NONE-{other(firm)}"


def collection(door: Door) -> str:
    """Give the word of the address that says of what sort its things are."""
    return door.path.removeprefix("/v1").split("/")[1]


def is_shared(door: Door) -> bool:
    """Say whether the door leads to what holds for the whole firm."""
    return collection(door) in SHARED


def there(world: World, firm: Firm, door: Door, room: Room) -> tuple[str, dict[str, str]]:
    """Address what is at a place of a firm, with the query that narrows it."""
    refs = {"sites": SITES[room], "policies": "pre-use-check"} | SHARED
    refs |= {"recalls": STOPPED} if door.path.endswith("/quarantine") else {}
    refs |= {"reorders": proposal_id(SITES[room], CALLED_OFF if door.path.endswith("/cancellation") else ORDERED, 0)}
    values = {
        "tag": TAGS[room],
        "event_id": ident(f"{room} issued"),
        "rejected_id": world.rejected[firm, room],
        "webhook_id": world.webhooks[firm, room],
        "seq": "1",
        "ref": refs.get(collection(door)),
        "code": "forbidden",
        "report": "used-without-check",
    }
    named = door.path.format_map(values)
    if str(door) == "GET /v1/stock/ledger":
        return named, {"site": SITES[room], "item": "pf-170"}
    return named, {"site": SITES[room]} if collection(door) == "policies" and "{" in door.path else {}


def absent(world: World, firm: Firm, door: Door, which: Absent) -> str:
    """Address what a firm has not: what the other firm alone has, or what nobody ever had."""
    policies = collection(door) == "policies"
    never = {"tag": nobodys(firm), "report": nobodys(firm), "event_id": UNKNOWN, "rejected_id": UNKNOWN}
    never |= {"webhook_id": UNKNOWN, "seq": "1"}
    only = f"ONLY-{other(firm)}"
    kept = world.rejected[other(firm), "dock"]
    theirs = {"tag": only, "report": only, "event_id": ident(f"dock {only.lower()}"), "rejected_id": kept}
    theirs |= {"webhook_id": world.webhooks[other(firm), "dock"], "seq": "1"}
    if collection(door) == "reorders":
        ref = nobodys(firm) if which == "never" else proposal_id(SITES["dock"], only, 0)
        return door.path.format(ref=ref)
    if which == "never":
        return door.path.format_map(never | {"ref": "service-level" if policies else nobodys(firm)})
    return door.path.format_map(theirs | {"ref": ONLY_POLICY[other(firm)] if policies else only})


async def ask(world: World, reader: Reader, door: Door, room: Room) -> httpx.Response:
    """Ask a door about what is at a place."""
    path, query = there(world, reader.firm, door, room)
    if str(door) in BODIES:
        return await world.ask(reader, "POST", path, json=BODIES[str(door)](reader.firm, room))
    match str(door):
        case "POST /v1/order-documents":
            return await ask_receipt(world, reader, room, SITES[room])
        case "POST /v1/rejected/{rejected_id}/retry":
            return await world.ask(reader, "POST", path)
        case "POST /v1/rejected/{rejected_id}/dismissal":
            new = await refused(world, Reader(reader.firm, "site-app", room), unfit(reader.firm, room))
            reason = {"reason": at_site(reader.firm, room).mark("text", "dismissed")}
            return await world.ask(reader, "POST", door.path.format(rejected_id=new), json=reason)
    if collection(door) == "webhooks" and door.method != "GET":
        return await ask_webhook(world, reader, door, room)
    sent: dict[str, Any] = {"params": query}
    if door.method == "PUT":
        said, tag = await definition(world, reader.firm, path, query)
        sent |= {"json": said, "headers": {"if-match": tag}}
    assert door.method in {"GET", "PUT"}, f"say here what is sent to {door}"
    return await world.ask(reader, door.method, path, **sent)


async def ask_at(world: World, reader: Reader, path: str, site: str) -> httpx.Response:
    """Send what stock came in at a site, as an event or as a receipt."""
    if path == "/v1/order-documents":
        return await ask_receipt(world, reader, "dock", site)
    return await world.ask(reader, "POST", path, json=stock(reader.firm, "dock") | {"site": site})


async def ask_receipt(world: World, reader: Reader, room: Room, site: str) -> httpx.Response:
    """Send a receipt of what a place has ordered, for a site."""
    own = at_site(reader.firm, room)
    head = "id,issued_on,orders,shipment.id,shipment.delivery.site,line.id,line.received.value,line.received.unit"
    cells = [own.mark("fact", "receipt"), "2026-03-19", own.mark("fact", "order"), "1", site, "1", "2", "EA", "1"]
    sent = {"params": {"by": own.mark("person", "by-receipt")}, "headers": {"content-type": "text/csv"}}
    body = f"{head},line.answers.line\r\n{','.join(cells)}\r\n"
    return await world.ask(reader, "POST", "/v1/order-documents", content=body, **sent)


async def ask_webhook(world: World, reader: Reader, door: Door, room: Room) -> httpx.Response:
    """Have something done about a webhook of a place; what is taken away was made for it."""
    path, _ = there(world, reader.firm, door, room)
    match door.method, path.rpartition("/")[2]:
        case "DELETE", _:
            path = door.path.format(webhook_id=await hooked(world, reader.firm, room))
            return await world.ask(reader, "DELETE", path)
        case "PUT", _:
            _, tag = await definition(world, reader.firm, path, {})
            wish = webhook(reader.firm, room)
            return await world.ask(reader, "PUT", path, json=wish, headers={"if-match": tag})
        case "POST", "replay":
            await bury(world, reader.firm, room)
    return await world.ask(reader, door.method, path)


async def ask_absent(world: World, reader: Reader, door: Door, which: Absent) -> httpx.Response:
    """Ask a door about what the firm has not."""
    path = absent(world, reader.firm, door, which)
    match str(door):
        case "POST /v1/events" | "POST /v1/order-documents":
            site = {"never": nobodys(reader.firm), "foreign": f"ONLY-{other(reader.firm)}"}[which]
            return await ask_at(world, reader, path, site)
        case "POST /v1/rejected/{rejected_id}/dismissal":
            return await world.ask(reader, "POST", path, json={"reason": "not ours"})
        case "PUT /v1/webhooks/{webhook_id}":
            wish = webhook(reader.firm, "dock")
            return await world.ask(reader, "PUT", path, json=wish, headers={"if-match": '"1"'})
    if str(door) in BODIES:
        return await world.ask(reader, "POST", path, json=BODIES[str(door)](reader.firm, "dock"))
    if door.method == "PUT":
        said, _ = await definition(world, reader.firm, *there(world, reader.firm, door, "dock"))
        about = {name: value for name, value in said.items() if name not in IN_ADDRESS}
        about |= {"values": POLICIES[path.split("/")[-1]]} if collection(door) == "policies" else {}
        return await world.ask(reader, "PUT", path, json=about, headers={"if-match": '"1"'})
    return await world.ask(reader, door.method, path)


async def definition(world: World, firm: Firm, path: str, query: Mapping[str, str]) -> tuple[dict[str, Any], str]:
    """Give a definition as it would be sent back unchanged, and its tag."""
    found = await world.ask(Reader(firm, "administrator"), "GET", path, params=query)
    return {name: value for name, value in found.json().items() if name not in ADDED}, found.headers["etag"]


def codes(firm: Firm, room: Room) -> list[str]:
    """Give what a reader gives at a place: the tag of a unit, its serial number, and the lot of its filter."""
    own = at_site(firm, room)
    return [TAGS[room], own.mark("fact", f"serial-{TAGS[room].lower()}"), own.mark("fact", "lot-pf-170")]


def scanned(firm: Firm, room: Room) -> dict[str, Any]:
    """Give what is scanned at a place."""
    return {"scans": codes(firm, room)}


def order(firm: Firm, _room: Room) -> dict[str, Any]:
    """Give an order to stop units: an office key's goes to both sites."""
    return {"by": mark(firm, "both", "person", "by-stop"), "remark": mark(firm, "both", "text", "remark-stop")}


def previewed(firm: Firm, room: Room) -> dict[str, Any]:
    """Give criteria of a place: its lots, and the serial number of a unit."""
    own = at_site(firm, room)
    named = [own.mark("fact", f"lot-{name}") for name in ("pf-170", "bat-64", "stock")]
    serials = [own.mark("fact", f"serial-{TAGS[room].lower()}")]
    return {"criteria": [{"lots": named}, {"serials": serials}]}


def stock(firm: Firm, room: Room) -> dict[str, Any]:
    """Give the one sort of event that every role may post that posts at all (R37)."""
    lot = {"item": "pf-170", "quantity": 1.0, "unit": "EA"}
    return at_site(firm, room).say("stock", "stock-received", **lot) | {"id": str(uuid4())}


def rotation(_firm: Firm, _room: Room) -> dict[str, Any]:
    """Give what is sent for a new secret, as often as anybody asks."""
    return {"overlap_hours": 0}


def approval(firm: Firm, room: Room) -> dict[str, Any]:
    """Give an approval of as much as a place was approved."""
    return {"by": at_site(firm, room).mark("person", "by-approval"), "quantity": APPROVED}


def placement(firm: Firm, room: Room) -> dict[str, Any]:
    """Give the order that a place has placed."""
    own = at_site(firm, room)
    return {"by": own.mark("person", "by-order"), "order": own.mark("fact", "order")}


def cancellation(firm: Firm, room: Room) -> dict[str, Any]:
    """Give what calls off an order of a place."""
    own = at_site(firm, room)
    return {"by": own.mark("person", "by-call-off"), "reason": own.mark("text", "reason-call-off")}


BODIES: Mapping[str, Callable[[Firm, Room], dict[str, Any]]] = {
    "POST /v1/events": stock,
    "POST /v1/scans/interpretation": scanned,
    "POST /v1/recalls/preview": previewed,
    "POST /v1/recalls/{ref}/quarantine": order,
    "POST /v1/reorders/{ref}/approval": approval,
    "POST /v1/reorders/{ref}/placement": placement,
    "POST /v1/reorders/{ref}/cancellation": cancellation,
    "POST /v1/webhooks": webhook,
    "POST /v1/webhooks/{webhook_id}/secret": rotation,
}
"""What is sent to doors that take what a place has to say."""
