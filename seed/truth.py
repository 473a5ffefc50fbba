"""What the scenario knows to be true at its end, told from its own messages and plans, for checks of the service."""

from collections import Counter
from collections.abc import Iterable
from datetime import datetime

import msgspec

from seed.book import Message
from seed.delivery import Delivery
from seed.lots import BAD_ITEM, BAD_LOT
from seed.world import World

OVERDUE = frozenset(
    {
        "examination-lapses",
        "examined-with-lapsed-meter",
        "examined-without-competence",
        "worn-out-battery",
        "loaded",
        "not-cleaned",
        "forgotten-on-leave",
    }
)
DO_NOT_USE = frozenset({"expired-filter", "failed-in-hand", "ordered-from-a-desk"})


class Truth(msgspec.Struct, frozen=True):
    """The end of the year as meant.

    `counts` has the events by kind that end up in the log; `fates` the tags of marked units by their fate. `overdue`
    and `do_not_use` are marked units in hand or stationed. `bad_lot` holds the units with a filter of the lot worth a
    recall, `unknown_lot` those whose filter of that item has no lot on record. `assets` counts tags ever registered.
    """

    counts: dict[str, int]
    fates: dict[str, tuple[str, ...]]
    overdue: frozenset[str]
    do_not_use: frozenset[str]
    bad_lot: frozenset[str]
    unknown_lot: frozenset[str]
    assets: int
    rejected: int
    repeated: int

    def tags(self, fate: str) -> frozenset[str]:
        """Give the units that share a fate: `missing`, `in-transit`, `at-service`, `put-away`, ..."""
        return frozenset(self.fates.get(fate, ()))


def truth_of(world: World, deliveries: list[Delivery]) -> Truth:
    """Tell the truth from the plans of the world and the messages delivered."""
    logged = [one.message for one in deliveries if one.expects in {"recorded", "waiting"}]
    counts = Counter(str(message["kind"]) for message in logged)
    fates: dict[str, list[str]] = {}
    for plant in world.plants.values():
        for unit in plant.units:
            if unit.fate is not None:
                fates.setdefault(unit.fate, []).append(unit.tag)
    telling = [message for message in logged if message["kind"] == "retagged" or parts_told(message)]
    lots = _filters(sorted(telling, key=_moment))
    return Truth(
        counts=dict(sorted(counts.items())),
        fates={fate: tuple(sorted(tags)) for fate, tags in sorted(fates.items())},
        overdue=frozenset(tag for fate in OVERDUE for tag in fates.get(fate, ())),
        do_not_use=frozenset(tag for fate in DO_NOT_USE for tag in fates.get(fate, ())),
        bad_lot=frozenset(tag for tag, lot in lots.items() if lot == BAD_LOT),
        unknown_lot=frozenset(tag for tag, lot in lots.items() if lot is None),
        assets=counts["registered"],
        rejected=sum(one.expects in {"rejected", "waiting"} for one in deliveries),
        repeated=sum(one.expects == "repeated" for one in deliveries),
    )


def _moment(message: Message) -> float:
    return datetime.fromisoformat(str(message["occurred_at"])).timestamp()


def _filters(messages: Iterable[Message]) -> dict[str, str | None]:
    """Follow the filters of the recalled item through all messages: the lot last fitted, by tag."""
    lots: dict[str, str | None] = {}
    for message in messages:
        tag = str(message.get("asset"))
        for part in parts_told(message):
            if part.get("item") == BAD_ITEM:
                lots[tag] = part.get("lot")
        if message["kind"] == "retagged" and tag in lots:
            lots[str(message["new_tag"])] = lots.pop(tag)
    return lots


def parts_told(message: Message) -> list[dict[str, str]]:
    """List the parts a message says are fitted from then on."""
    single = message.get("in") or message.get("part")
    if isinstance(single, dict):
        return [single]
    placed = message.get("parts")
    return [entry["part"] for entry in placed] if isinstance(placed, list) else []
