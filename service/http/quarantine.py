"""/v1/recalls/{ref}/quarantine: units that a recall bears on, ordered out of use."""

import msgspec
from litestar import post

from service.campaign import Order, Ordered, quarantine
from service.http import roles
from service.http.answers import Answer, answer
from service.http.body import read_as
from service.http.describing.plain_schemas import plain
from service.http.heads import IDEMPOTENCY_KEY
from service.http.idempotency import answered_once, fingerprint_at
from service.http.path import FromRef
from service.http.position import position_of
from service.http.receipts import noted
from service.http.request import Asked, ledger_of

SAID = {
    "by": "Who orders it: a person's reference.",
    "remark": "Why. It is needed where the recall does not say `stop-use`, and stands with each event.",
    "limit": "How many units at most are stopped by this request.",
}
PROPERTIES = msgspec.json.schema_components([Order])[1]["Order"]["properties"]
ORDERED = {
    "type": "object",
    "properties": {name: {"description": said, **plain(PROPERTIES[name])} for name, said in SAID.items()},
    "required": ["by"],
    "additionalProperties": False,
    "examples": [{"by": "p-1001"}],
}


@post(
    "/recalls/{ref:str}/quarantine",
    may=roles.STOPPING,
    takes=ORDERED,
    said="Who orders it.",
    heads=(IDEMPOTENCY_KEY,),
    orders=True,
    gives={200: "What became of the order."},
)
async def post_quarantine(request: Asked, ref: FromRef) -> Answer:
    """Order units out of use that a recall bears on.

    Each unit at the key's sites that is not held for the recall yet is quarantined by an event of its own, at most
    `limit` of them by one request: ask again until `done`. To ask again is harmless, after a failure and at the same
    time as others: each unit is stopped once. Ordered is not put away: whoever has a unit posts `quarantined` with the
    place, or `returned`. Units that are missing or retired are passed over and named. What is registered, found or
    refitted later is not to be used by a recall that says `stop-use`, without any order; asking again stops it, too.
    Of a recall that asks for less a `remark` must say why units are to be stopped. Where only some of its openings say
    `stop-use`, what the others alone reach is left as it is and counted (`asked_less`). What a voided opening had
    reached is not stopped. To ask again is another request: a name of its own, if it has an `Idempotency-Key`.
    """
    order = await read_as(request, Order)

    async def ordered() -> Answer:
        found = await quarantine(ledger_of(request), request.auth, ref, order)
        noted(request, found.receipts)
        return answer(told(found), headers=position_of(found.receipts))

    return await answered_once(request, fingerprint_at(request, order), ordered)


def told(found: Ordered) -> dict[str, object]:
    """Tell what became of an order."""
    seqs = [receipt.seq for receipt in found.receipts if receipt.seq is not None and receipt.outcome == "recorded"]
    return {
        "recall": found.recall,
        "quarantined": found.quarantined,
        "already": found.already,
        "skipped": found.skipped,
        "left": found.left,
        "asked_less": found.asked_less,
        "done": found.left == 0,
        "positions": {"first": min(seqs), "last": max(seqs)} if seqs else None,
    }


HANDLERS = (post_quarantine,)
