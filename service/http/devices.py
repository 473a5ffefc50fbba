"""/v1/devices: the site devices that post events."""

from typing import Annotated, Final

from litestar import get
from litestar.response import Stream
from msgspec import Meta

from service import assess
from service.assessing.devices import Wanted
from service.domain.words import Ref
from service.http import columns, roles
from service.http.answers import JSON, Answer
from service.http.negotiation import CSV
from service.http.paging import Listed, list_answer, read_page
from service.http.query import KnownAt
from service.http.request import Asked, ledger_of
from service.page import Page

AT_ONCE: Final = 100
"""How many devices are told at once, whatever the limit: of each all events are looked through."""


class DevicesQuestion(Listed, frozen=True, kw_only=True):
    """Which devices, by what had been recorded when."""

    known_at: KnownAt = None
    site: Annotated[Ref | None, Meta(description="Devices that have posted for this site.")] = None
    device: Annotated[Ref | None, Meta(description="This device alone.")] = None


@get("/devices", may=roles.DEVICES, asks=DevicesQuestion, offers=(JSON, CSV), columns=columns.DEVICE)
async def get_devices(request: Asked) -> Answer | Stream:
    """List the devices that post events: their last contact, missing numbers, clocks and lateness.

    A device is whatever events name as `device`. A number that is missing is an event that the device took down and
    that has not come; when it comes, the gap closes by itself.
    """

    async def page(question: DevicesQuestion) -> Page:
        return await assess.devices(
            ledger_of(request),
            request.auth,
            known_at=question.known_at,
            wanted=Wanted(device=question.device, site=question.site),
            after=question.after,
            limit=min(question.limit, AT_ONCE),
        )

    question = read_page(request, DevicesQuestion)
    return list_answer(request, question, "devices", await page(question), page)


HANDLERS = (get_devices,)
