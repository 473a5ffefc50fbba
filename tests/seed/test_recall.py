"""The lot of the demo that is worth a recall: opened, looked at, stopped and closed over HTTP.

The numbers are held against what the generator knows of its own units. What says nothing of where a unit is or what is
fitted in it is left out, which leaves of each unit what a recall goes by.
"""

from collections import Counter
from collections.abc import AsyncIterator, Iterable, Mapping
from contextlib import asynccontextmanager
from datetime import datetime
from typing import Any, NamedTuple

import httpx

from seed.book import Message
from seed.delivery import Delivery
from seed.lots import BAD_ITEM, BAD_LOT
from seed.scenario import Scenario
from seed.truth import parts_told
from tests.databases.clone import Database
from tests.http.conftest import made_firms
from tests.http.firm import ago, message, serving
from tests.http.keys import Keys

RECALL = "rc-filters"
SITE = "harrow-dock"
CRITERIA = [{"item": BAD_ITEM, "lots": [BAD_LOT]}]
GOES_BY = {
    *("registered", "retagged", "moved", "received", "stationed", "missing", "found", "retired", "sent-to-service"),
    *("filter-replaced", "part-replaced", "part-identified", "repaired", "site-defined", "model-defined"),
    *("item-defined", "recall-opened", "recall-closed"),
}
STOCK = {"stock-received", "stock-moved", "stock-discarded"}
Headers = dict[str, str]


def goes(said: Message, story: Scenario) -> bool:
    """Say whether a recall of the lot goes by a message; of checks those of units that have it are enough."""
    mine = said["kind"] == "checked" and said["asset"] in story.truth.bad_lot
    return mine or said["kind"] in GOES_BY or (said["kind"] in STOCK and said.get("item") == BAD_ITEM)


class Truth(NamedTuple):
    """What the generator knows: where each unit was last, its filter's position, and which are of the lot.

    And who checked, and so wore, units while the lot was in them, and when, and how much of it is left at each site.
    """

    sites: dict[str, str | None]
    positions: dict[str, str]
    of_lot: frozenset[str]
    unknown: frozenset[str]
    missing: frozenset[str]
    wearers: dict[str, dict[str, list[datetime]]]
    stock: dict[str, float]

    @property
    def affected(self) -> frozenset[str]:
        """Name the units that a recall of the lot bears on: those of an unknown lot are among them."""
        return self.of_lot | self.unknown

    def by_site(self, tags: Iterable[str]) -> dict[str | None, int]:
        """Count units by site."""
        return dict(Counter(self.sites[tag] for tag in tags))


def truth(story: Scenario, logged: list[Delivery]) -> Truth:
    """Tell the truth from the generator's messages and plans alone."""
    told = sorted(
        (one.message for one in logged if goes(one.message, story)),
        key=lambda said: datetime.fromisoformat(str(said["occurred_at"])),
    )
    sites: dict[str, str | None] = {}
    positions: dict[str, str] = {}
    for said in told:
        tag = str(said.get("new_tag") or said.get("asset"))
        sites[tag] = str(said.get("site"))
        for place in (place for place, part in placed(said) if part["item"] == BAD_ITEM):
            positions[tag] = place
        if said["kind"] == "retagged" and said["asset"] in positions:
            positions[tag] = positions[str(said["asset"])]
    whole = story.truth
    known = (whole.bad_lot, whole.unknown_lot, whole.tags("missing"))
    return Truth(sites, positions, *known, wearers(told, whole.bad_lot), stock(told))


def wearers(told: list[Message], tags: frozenset[str]) -> dict[str, dict[str, list[datetime]]]:
    """Tell who checked each unit while the lot was in it, or a filter that nobody had named yet, and when.

    Who did last before may have had it on as that was put in, since of no wearing an end is known.
    """
    found: dict[str, dict[str, list[datetime]]] = {tag: {} for tag in tags}
    last: dict[str, str] = {}
    there: set[tuple[str, str]] = set()
    for said in (said for said in told if said.get("asset") in tags):
        tag, wearer, at = str(said["asset"]), said.get("wearer"), datetime.fromisoformat(str(said["occurred_at"]))
        had = any(one == tag for one, _ in there)
        for place, part in placed(said):
            may_be = part["item"] == BAD_ITEM and part.get("lot") in {None, BAD_LOT}
            (there.add if may_be else there.discard)((tag, place))
        has = any(one == tag for one, _ in there)
        put_on = said["kind"] == "checked" and wearer is not None
        if put_on:
            last[tag] = str(wearer)
        if tag in last and has and (put_on or not had):
            found[tag].setdefault(last[tag], []).append(at)
    return found


def stock(told: list[Message]) -> dict[str, float]:
    """Tell how much of the lot is left at each site: what came, less what was fitted, sent on and thrown away."""
    left: Counter[str] = Counter()
    for said in told:
        kind, site = str(said["kind"]), str(said.get("site"))
        if kind in STOCK and of_the_lot(said):
            amount = int(str(said["quantity"]))
            left[site] += amount if kind == "stock-received" else -amount
            if kind == "stock-moved":
                left[str(said["to_site"])] += amount
        elif kind in {"filter-replaced", "part-replaced", "repaired"}:
            left[site] -= sum(of_the_lot(part) and part.get("condition") == "new" for _, part in placed(said))
    return {site: float(amount) for site, amount in left.items() if amount}


def of_the_lot(said: Mapping[str, object]) -> bool:
    """Say whether a part, or what lies in stock, is of the lot."""
    return (said.get("item"), said.get("lot")) == (BAD_ITEM, BAD_LOT)


def placed(said: Message) -> list[tuple[str, dict[str, str]]]:
    """List the parts that a message says are fitted, each with its position."""
    many: Any = said.get("parts")
    if many is not None:
        return [(one["position"], one["part"]) for one in many]
    return [(str(said["position"]), part) for part in parts_told(said)]


class Demo(NamedTuple):
    """The demo as far as a recall goes, with a client of it and the office's key."""

    http: httpx.AsyncClient
    keys: Keys
    office: Headers

    async def post(self, *said: dict[str, Any]) -> list[Any]:
        """Post events that are all recorded, and give their results."""
        results: list[Any] = []
        for first in range(0, len(said), 1000):
            answered = await self.http.post("/v1/events", json=said[first : first + 1000], headers=self.office)
            results += answered.json()["results"]
        assert {result["status"] for result in results} <= {200, 201}, results[-1]
        return results

    async def stop(self, key: Headers, limit: int) -> list[Any]:
        """Ask until no unit is left to be stopped, and give what became of each request."""
        told: list[Any] = []
        while not told or not told[-1]["done"]:
            body = {"by": "p-1001", "limit": limit}
            answered = await self.http.post(f"/v1/recalls/{RECALL}/quarantine", json=body, headers=key)
            assert answered.status_code == 200, answered.text
            told.append(answered.json())
        return told

    async def previewed(self) -> list[Any]:
        """Tell of each unit that such a recall would speak of, though nobody has opened it."""
        return await self._units("POST", "/v1/recalls/preview", {"criteria": CRITERIA})

    async def reached(self) -> list[Any]:
        """Tell of each unit that the recall speaks of."""
        return await self._units("GET", f"/v1/recalls/{RECALL}/impact", None)

    async def _units(self, method: str, path: str, body: object) -> list[Any]:
        """Read the units of an impact, page by page."""
        found: list[Any] = []
        after: dict[str, str] = {}
        while True:
            asked = {"limit": "20", **after}
            answered = await self.http.request(method, path, params=asked, json=body, headers=self.office)
            assert answered.status_code == 200, answered.text
            page = answered.json()
            found += page["units"]
            if page["next"] is None:
                assert page["total"]["affected"] == len(affected(found))
                return found
            after = {"after": page["next"]}


@asynccontextmanager
async def loaded(database: Database, story: Scenario, logged: list[Delivery]) -> AsyncIterator[Demo]:
    """Post what a recall goes by."""
    async with made_firms(database.owner_url) as keys, serving(database.app_url) as http:
        demo = Demo(http, keys, await keys.make("administrator"))
        before = demo._replace(office=demo.office | {"prefer": "import"})
        await before.post(*(one.message for one in logged if goes(one.message, story)))
        yield demo


def times(moments: list[datetime]) -> tuple[int, datetime, datetime]:
    """Give how often something was, first and last."""
    return len(moments), min(moments), max(moments)


def worn(unit: Any) -> dict[str, tuple[int, datetime, datetime]]:
    """Show who wore a unit, at whatever sites: how often, first and last."""
    of: dict[str, list[Any]] = {}
    for one in unit["wearers"]:
        of.setdefault(one["person"], []).append(one)
    return {
        person: (
            sum(one["times"] for one in mine),
            min(datetime.fromisoformat(one["first"]) for one in mine),
            max(datetime.fromisoformat(one["last"]) for one in mine),
        )
        for person, mine in of.items()
    }


def affected(found: Iterable[Any]) -> dict[str, bool]:
    """Give the units that are under the recall, and whether that is certain."""
    return {one["asset"]: one["certain"] for one in found if one["affected"]}


def put_right(known_of: Truth, tag: str) -> list[dict[str, Any]]:
    """Say of a unit of the lot that its filter was changed, of one of an unknown lot that it is of another."""
    part = {"item": BAD_ITEM, "lot": "R0999A", "condition": "new"}
    at: dict[str, Any] = {"asset": tag, "position": known_of.positions[tag], "occurred_at": ago(seconds=0)}
    if tag in known_of.unknown:
        return [message("part-identified", part=part, **at)]
    swap = message("filter-replaced", reason="recall", **at, **{"in": part})
    return [swap, message("recall-actioned", asset=tag, recall=RECALL, result="fixed", occurred_at=ago(seconds=0))]


async def test_the_lot_is_recalled_from_beginning_to_end(
    story: Scenario, logged: list[Delivery], database: Database
) -> None:
    """Looked at before it is opened and after, stopped by a site and by the office, dealt with and closed."""
    knows = truth(story, logged)
    there, lost = knows.affected - knows.missing, knows.affected & knows.missing
    assert len(knows.of_lot) > 20
    assert knows.unknown
    assert lost
    assert len({person for by in knows.wearers.values() for person in by}) > 10
    assert max(len(at) for by in knows.wearers.values() for at in by.values()) > 2
    assert knows.stock
    async with loaded(database, story, logged) as demo:
        wanted = {tag: tag in knows.of_lot for tag in knows.affected}
        assert affected(await demo.previewed()) == wanted
        opened = {"recall": RECALL, "action": "stop-use", "criteria": CRITERIA, "by": "p-1001"}
        await demo.post(message("recall-opened", occurred_at=ago(seconds=0), **opened))
        found = await demo.reached()
        assert affected(found) == wanted
        assert Counter(one["site"] for one in found if one["affected"]) == knows.by_site(knows.affected)
        wore = {one["asset"]: worn(one) for one in found if one["asset"] in knows.wearers}
        assert wore == {tag: {who: times(at) for who, at in by.items()} for tag, by in knows.wearers.items()}
        answered = await demo.http.get(f"/v1/recalls/{RECALL}/stock", headers=demo.office)
        of_lot = [one for one in answered.json()["stock"] if one["lot"] == BAD_LOT]
        assert {one["site"]: one["quantity"] for one in of_lot} == knows.stock

        lead = await demo.keys.make("site-lead", [SITE])
        [first] = await demo.stop(lead, 100)
        assert first["quarantined"] == knows.by_site(there)[SITE]
        told = await demo.stop(demo.office, 10)
        assert len(told) == -(-(len(there) - first["quarantined"]) // 10)
        assert sum(one["quarantined"] for one in told) == len(there) - first["quarantined"]
        assert {one["asset"]: one["reason"] for one in told[-1]["skipped"]} == dict.fromkeys(lost, "missing")
        assert [one["quarantined"] for one in await demo.stop(demo.office, 100)] == [0]
        stopped = {one["asset"] for one in await demo.reached() if one["stopped_at"] is not None}
        assert stopped == there
        assert await held(demo, "recall") == knows.affected

        done = sorted(knows.unknown - lost) + sorted(knows.of_lot - lost)[:20]
        await demo.post(*(said for tag in done for said in put_right(knows, tag)))
        left = sorted(knows.affected - set(done))
        closing = {"recall": RECALL, "by": "p-1001", "occurred_at": ago(seconds=0)}
        strict = demo.office | {"prefer": "handling=strict"}
        refused = await demo.http.post("/v1/events", json=message("recall-closed", **closing), headers=strict)
        assert (refused.status_code, refused.json()["assets"]) == (409, left)
        reasons = [{"asset": tag, "reason": "filters are on order"} for tag in left]
        closed = await demo.http.post(
            "/v1/events", json=message("recall-closed", outstanding=reasons, **closing), headers=strict
        )
        assert (closed.status_code, closed.json()["conflicts"]) == (201, [])
        assert sorted(affected(await demo.reached())) == left
        assert await held(demo, "withdrawal") >= there


async def held(demo: Demo, reason: str) -> set[str]:
    """Name the units that are not to be used for a reason, page by page."""
    found: set[str] = set()
    after: dict[str, str] = {}
    while True:
        answered = await demo.http.get("/v1/assets", params={"limit": "1000", **after}, headers=demo.office)
        page = answered.json()
        found |= {one["tag"] for one in page["assets"] if one["do_not_use"] and reason in one["reasons"]}
        if page["next"] is None:
            return found
        after = {"after": page["next"]}
