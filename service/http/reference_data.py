"""/v1/sites, /models, /items, /tasks, /policies, /instruments: what events refer to. A change is an event, too."""

from collections.abc import Iterator
from typing import Annotated, NamedTuple

import msgspec
from litestar import get, put
from litestar.handlers import HTTPRouteHandler
from litestar.response import Stream
from msgspec import Meta
from typing_extensions import override

from service import assess
from service.define import put_reference
from service.domain.current import Name
from service.domain.event import Event
from service.domain.kinds.instrument_defined import InstrumentDefined
from service.domain.kinds.item_defined import ItemDefined
from service.domain.kinds.model_defined import ModelDefined
from service.domain.kinds.policy_set import PolicySet
from service.domain.kinds.site_defined import SiteDefined
from service.domain.kinds.task_defined import TaskDefined
from service.domain.words import Ref
from service.http import roles
from service.http.answers import JSON, Answer
from service.http.body import read_message
from service.http.columns import DEFINITIONS
from service.http.conditional import tagged
from service.http.etags import start, written
from service.http.heads import IF_MATCH, IF_NONE_MATCH, IF_STILL, UNLESS
from service.http.negotiation import CSV
from service.http.paging import Listed, list_answer, read_page
from service.http.path import FromRef
from service.http.query import read
from service.http.receipts import receipt_answer
from service.http.request import Asked, ledger_of, list_field
from service.page import Page


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


class OneQuestion(msgspec.Struct, frozen=True, kw_only=True):
    """Which one: its reference alone says it."""

    def named(self, ref: str) -> Name:
        """Name what is asked for."""
        return Name(ref)


class ScopeQuestion(OneQuestion, frozen=True, kw_only=True):
    """Which scope of a policy: each is a definition of its own, with versions of its own."""

    site: Annotated[Ref | None, Meta(description="The policy as it is set for this site; else for all.")] = None
    model: Annotated[Ref | None, Meta(description="The policy as it is set for this model; else for all.")] = None

    @override
    def named(self, ref: str) -> Name:
        """Name the policy and its scope."""
        return Name(ref, self.site or "", self.model or "")


def doors(resource: Resource) -> Iterator[HTTPRouteHandler]:
    """Make the three doors to one sort of reference data."""
    word, one = resource.word, resource.one
    body = {"$ref": f"#/components/schemas/{resource.said_by.__name__}Body"}
    which = ScopeQuestion if resource.said_by is PolicySet else OneQuestion

    @get(
        f"/{word}",
        may=roles.REFERENCE,
        asks=ReferenceQuestion,
        offers=(JSON, CSV),
        columns=DEFINITIONS[word],
        operation_id=f"list_{word}",
        summary=f"List {word}",
    )
    async def list_all(request: Asked) -> Answer | Stream:
        """List what is defined, as it is now: a policy once for each scope; a key bound to sites sees its own."""

        async def page(question: ReferenceQuestion) -> Page:
            return await assess.reference_list(
                ledger_of(request), request.auth, one, after=question.after, limit=question.limit
            )

        question = read_page(request, ReferenceQuestion)
        return list_answer(request, question, word, await page(question), page)

    @get(
        f"/{word}/{{ref:str}}",
        may=roles.REFERENCE,
        asks=which,
        heads=(IF_STILL, IF_NONE_MATCH),
        gives={200: "The newest version.", 304: "The version that is known already."},
        operation_id=f"get_{one}",
        summary=f"Read one {one}",
    )
    async def get_one(request: Asked, ref: FromRef) -> Answer:
        """Read the newest version; its ETag is what a change has to name."""
        name = read(request, which).named(ref)
        found, version = await assess.reference(ledger_of(request), request.auth, one, name)
        return tagged(request, found, written(version))

    @put(
        f"/{word}/{{ref:str}}",
        may=roles.DEFINING,
        asks=which,
        takes=body,
        heads=(IF_MATCH, UNLESS),
        gives={201: "Recorded: there was none before.", 200: "Recorded in the place of what there was, or a repeat."},
        records=True,
        operation_id=f"put_{one}",
        summary=f"Define or change one {one}",
    )
    async def put_one(request: Asked, ref: FromRef) -> Answer:
        """Record a new version, in force from its receipt or as it says; nothing of the past is changed."""
        name = read(request, which).named(ref)
        starts_from = start(list_field(request, "if-match"), list_field(request, "if-none-match"))
        receipt = await put_reference(
            ledger_of(request), request.auth, one, name, await read_message(request), starts_from
        )
        return receipt_answer(request, receipt, headers={} if receipt.seq is None else {"ETag": written(receipt.seq)})

    yield from (list_all, get_one, put_one)


HANDLERS = tuple(door for resource in RESOURCES for door in doors(resource))
