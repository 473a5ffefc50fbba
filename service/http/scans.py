"""/v1/scans: what was scanned."""

from typing import Annotated

import msgspec
from litestar import post
from msgspec import Meta

from service import assess
from service.assessing.places import Places
from service.domain.words import Ref
from service.http import roles
from service.http.answers import Answer, answer
from service.http.body import read_as
from service.http.describing.plain_schemas import plain
from service.http.query import read
from service.http.request import Asked, ledger_of

MOST_SCANS = 100
LONGEST_SCAN = 8_000
"""Characters; the largest code there is holds 7,089 digits (ISO/IEC 18004, QR Code version 40-L)."""

Scan = Annotated[str, Meta(min_length=1, max_length=LONGEST_SCAN)]


class ScansQuestion(msgspec.Struct, frozen=True, kw_only=True):
    """Where to look."""

    site: Annotated[
        Ref | None, Meta(description="Units that are counted with this site, and stock that lies there.")
    ] = None


class Scanned(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a reader gave, code by code."""

    scans: Annotated[
        tuple[Scan, ...],
        Meta(
            min_length=1,
            max_length=MOST_SCANS,
            description="The texts as the reader gave them, with separators (GS, \\u001d) and the symbology identifier "
            "(]d2) if it gives one.",
        ),
    ]


SCANNED = {
    "type": "object",
    "properties": {"scans": plain(msgspec.json.schema_components([Scanned])[1]["Scanned"]["properties"]["scans"])},
    "required": ["scans"],
    "additionalProperties": False,
    "examples": [{"scans": ["]d201095211015300181729053110L2411", "FX-0142"]}],
}


@post(
    "/scans/interpretation",
    may=roles.SCANS,
    asks=ScansQuestion,
    takes=SCANNED,
    said="What was scanned.",
    reads=True,
    gives={200: "What each scan is, in their order."},
)
async def post_scans(request: Asked) -> Answer:
    """Tell what was scanned, and which unit or stock it is. Nothing is recorded.

    Element strings of GS1 as readers give them or as they are printed, GS1 Digital Links, messages with data
    identifiers (ISO/IEC 15434), labels of units, and any other text, which may be a tag, a serial number, a part number
    or a lot. Without a symbology identifier (]d2) an element string is known by a separator in it, by brackets, or by
    (01) with 14 digits at its beginning. Another text that is one altogether, with the right check digit of (00), (01)
    or (02), may be a number of any sort as well, and so may one that is known by its beginning alone, right or wrong:
    `form` and `elements` tell what it says, and items, units and stock are those of either. A text that nothing is
    known of is no fault; one that breaks the rules of its own form has `errors`, and nothing is taken from it but what
    is called so as it stands. Of a lot its spare stock is told too, as far as events tell of it.
    """
    question, scanned = read(request, ScansQuestion), await read_as(request, Scanned)
    return answer(await assess.scanned(ledger_of(request), request.auth, scanned.scans, Places(site=question.site)))


HANDLERS = (post_scans,)
