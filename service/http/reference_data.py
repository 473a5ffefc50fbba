"""/v1/sites, /models, /items, /tasks, /policies, /instruments: what events refer to. A change is an event, too."""

from collections.abc import Iterator
from typing import NamedTuple

from litestar import get, put
from litestar.handlers import HTTPRouteHandler

from service import assess
from service.define import put_reference
from service.domain.event import Event
from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.policy_set import PolicySet
from service.domain.kinds.site_defined import SiteDefined
from service.domain.kinds.task_defined import TaskDefined
from service.http import roles
from service.http.answers import Answer, answer, not_modified
from service.http.body import read_message
from service.http.etags import expected_version, unchanged, written
from service.http.heads import IF_MATCH, IF_NONE_MATCH, ONLY_NEW
from service.http.paging import Listed, list_answer, read_page
from service.http.path import FromRef
from service.http.receipts import receipt_answer
from service.http.request import Asked, ledger_of


class Resource(NamedTuple):
    """A sort of reference data: its word in the address, the word for one, and the event that says it."""

    word: str
    one: str
    said_by: type[Event]


RESOURCES = (
    Resource("sites", "site", SiteDefined),
    Resource("models", "model", ModelDefined),
    Resource("items", "item", ItemDefined),
    Resource("tasks", "task", TaskDefined),
    Resource("policies", "policy", PolicySet),
    Resource("instruments", "instrument", InstrumentDefined),
)


class ReferenceQuestion(Listed, frozen=True, kw_only=True):
    """Where the list goes on."""


def doors(resource: Resource) -> Iterator[HTTPRouteHandler]:
    """Make the three doors to one sort of reference data."""
    word, one = resource.word, resource.one
    body = {"$ref": f"#/components/schemas/{resource.said_by.__name__}"}

    @get(f"/{word}", may=roles.REFERENCE, asks=ReferenceQuestion, operation_id=f"list_{word}", summary=f"List {word}")
    async def list_all(request: Asked) -> Answer:
        """List what is defined, as it is now."""
        question = read_page(request, ReferenceQuestion)
        page = await assess.reference_list(
            ledger_of(request), request.auth, one, after=question.after, limit=question.limit
        )
        return list_answer(request, question, word, page)

    @get(
        f"/{word}/{{ref:str}}",
        may=roles.REFERENCE,
        heads=(IF_NONE_MATCH,),
        gives={200: "The newest version.", 304: "The version that is known already."},
        operation_id=f"get_{one}",
        summary=f"Read one {one}",
    )
    async def get_one(request: Asked, ref: FromRef) -> Answer:
        """Read the newest version; its ETag is what a change has to name."""
        found, version = await assess.reference(ledger_of(request), request.auth, one, ref)
        headers = {"ETag": written(version)}
        if unchanged(request.headers.get("if-none-match"), version):
            return not_modified(headers)
        return answer(found, headers=headers)

    @put(
        f"/{word}/{{ref:str}}",
        may=roles.DEFINING,
        takes=body,
        heads=(IF_MATCH, ONLY_NEW),
        gives={201: "Recorded.", 200: "A repeat."},
        records=True,
        operation_id=f"put_{one}",
        summary=f"Define or change one {one}",
    )
    async def put_one(request: Asked, ref: FromRef) -> Answer:
        """Record a new version, in force from its receipt or as it says; nothing of the past is changed."""
        starts_from = expected_version(request.headers.get("if-match"), request.headers.get("if-none-match"))
        receipt = await put_reference(
            ledger_of(request), request.auth, one, ref, await read_message(request), starts_from
        )
        return receipt_answer(request, receipt, headers={} if receipt.seq is None else {"ETag": written(receipt.seq)})

    yield from (list_all, get_one, put_one)


HANDLERS = tuple(door for resource in RESOURCES for door in doors(resource))
