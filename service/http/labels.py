"""/v1/assets/{tag}/label and /v1/labels: what is stuck on units, one by one and by the sheet."""

from collections.abc import Sequence
from typing import Annotated

import msgspec
from anyio import to_thread
from litestar import get
from msgspec import Meta

from service import assess
from service.assessing.labels import SHEET, Wanted
from service.assessing.places import Places
from service.domain.scan.label import label_text
from service.domain.words import MOST_TAGS, TAGS_PATTERN, Ref, Tag
from service.http import roles
from service.http.answers import Answer
from service.http.negotiation import HTML, SVG
from service.http.path import FromRef
from service.http.problem_pages import SECURE, html
from service.http.query import read
from service.http.request import Asked, label_address_of, ledger_of
from service.pages.label import label
from service.pages.sheet import sheet

NAMED = (
    f"Labels of the units with these tags, joined by commas, in this order; at most {MOST_TAGS}. With them nothing but "
    "`site` counts."
)
Tags = Annotated[str, Meta(max_length=41 * MOST_TAGS, pattern=TAGS_PATTERN)]


class LabelsQuestion(msgspec.Struct, frozen=True, kw_only=True):
    """Which labels: those named, or those of units at a site and of a model."""

    tags: Annotated[Tags | None, Meta(description=NAMED)] = None
    site: Annotated[Ref | None, Meta(description="Units that are counted with this site.")] = None
    model: Annotated[Ref | None, Meta(description="Units of this model.")] = None
    after: Annotated[Tag | None, Meta(description=f"Units whose tags come after this one: a sheet has {SHEET}.")] = None


async def drawn_labels(request: Asked, tags: Sequence[str]) -> list[str]:
    """Draw labels beside the answers to others: a sheet takes half a second."""
    address, organisation = label_address_of(request), request.auth.organisation
    texts = [(tag, label_text(address, organisation, tag)) for tag in tags]
    return await to_thread.run_sync(lambda: [label(tag, text) for tag, text in texts])


@get("/assets/{tag:str}/label", may=roles.LABELS, offers=(SVG,))
async def get_label(request: Asked, tag: FromRef) -> Answer:
    """Draw the label of a unit: its tag, and a QR code that says it.

    Where the operator has set an address for labels, the code is an identification link (IEC 61406-1) with the
    organisation and the tag in it; else it is the tag alone. Both are understood at `/v1/scans/interpretation`.
    """
    now = await assess.label(ledger_of(request), request.auth, tag)
    (drawn,) = await drawn_labels(request, [now])
    return Answer(drawn.encode(), media_type=SVG, headers=SECURE)


@get("/labels", may=roles.LABELS, asks=LabelsQuestion, offers=(HTML,))
async def get_labels(request: Asked) -> Answer:
    """Draw a sheet of labels to print, of the units named or of all there are that are not retired, by tag."""
    question = read(request, LabelsQuestion)
    named = () if question.tags is None else tuple(question.tags.split(","))
    found = await assess.labels(
        ledger_of(request),
        request.auth,
        Places(site=question.site),
        Wanted(tags=named, model=question.model, after=question.after),
    )
    return html(sheet(await drawn_labels(request, found.tags), found.last))


HANDLERS = (get_label, get_labels)
