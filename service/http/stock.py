"""/v1/stock, its ledger, and /v1/consumption: how much there is of what is used up, and what was used."""

from datetime import date
from typing import Annotated

import msgspec
from litestar import get
from litestar.response import Stream
from msgspec import Meta

from service import assess
from service.assessing.consumption import Length, Spent
from service.assessing.places import Places
from service.assessing.shelves import Shelf
from service.assessing.stock_lists import Entries
from service.domain.words import Instant, Ref
from service.http import columns, roles
from service.http.answers import JSON, Answer
from service.http.negotiation import CSV
from service.http.paging import Listed, list_answer, read_page
from service.http.query import AsAt, KnownAt, demand_forward, demand_in_order
from service.http.request import Asked, ledger_of
from service.page import Page

Site = Annotated[Ref | None, Meta(description="This site alone.")]
Item = Annotated[Ref | None, Meta(description="This item alone.")]


class StockQuestion(Listed, frozen=True, kw_only=True):
    """Which stock, when."""

    as_at: AsAt = None
    known_at: KnownAt = None
    site: Site = None
    item: Item = None


class LedgerQuestion(Listed, frozen=True, kw_only=True):
    """Which ledger, and which of its entries, by when they count."""

    site: Annotated[Ref, Meta(description="The site whose ledger it is.")]
    item: Annotated[Ref, Meta(description="The item that it is of.")]
    since: Annotated[Instant | None, Meta(description="Entries of this moment or later.")] = msgspec.field(
        default=None, name="from"
    )
    until: Annotated[Instant | None, Meta(description="Entries before this moment.")] = msgspec.field(
        default=None, name="to"
    )
    as_at: AsAt = None
    known_at: KnownAt = None

    def __post_init__(self) -> None:
        """Refuse a stretch that ends before it begins."""
        demand_forward(self.since, self.until)


class ConsumptionQuestion(Listed, frozen=True, kw_only=True):
    """Which use, by days of the site."""

    site: Site = None
    item: Item = None
    since: Annotated[
        date | None, Meta(description="Used on this day or later; without it, in the last twelve weeks.")
    ] = msgspec.field(default=None, name="from")
    until: Annotated[date | None, Meta(description="Used on this day or earlier.")] = msgspec.field(
        default=None, name="to"
    )
    group_by: Annotated[Length, Meta(description="What is added up; weeks begin on Monday (ISO 8601).")] = "week"
    as_at: AsAt = None
    known_at: KnownAt = None

    def __post_init__(self) -> None:
        """Refuse a last day before the first."""
        demand_in_order(self.since, self.until)


@get("/stock", may=roles.STOCK, asks=StockQuestion, offers=(JSON, CSV), columns=columns.STOCK)
async def get_stock(request: Asked) -> Answer | Stream:
    """List how much there is of each item at each site, lot by lot, the oldest expiry first.

    It is told from events alone: what came, went, was fitted new and was counted. What an event leaves unsaid is taken
    off the oldest expiry first, a part that was fitted off what had expired only where there was no other.
    """

    async def page(question: StockQuestion) -> Page:
        return await assess.stock(
            ledger_of(request),
            request.auth,
            as_at=question.as_at,
            known_at=question.known_at,
            places=Places(site=question.site),
            item=question.item,
            after=question.after,
            limit=question.limit,
        )

    question = read_page(request, StockQuestion)
    return list_answer(request, question, "stock", await page(question), page)


@get("/stock/ledger", may=roles.STOCK, asks=LedgerQuestion, offers=(JSON, CSV), columns=columns.STOCK_ENTRY)
async def get_stock_ledger(request: Asked) -> Answer | Stream:
    """List all that changed the stock of an item at a site, in the order it counts, with the balance after each.

    A count says which difference it explains. A balance may lie below nothing: more was taken than was ever told of.
    """

    async def page(question: LedgerQuestion) -> Page:
        return await assess.stock_ledger(
            ledger_of(request),
            request.auth,
            as_at=question.as_at,
            known_at=question.known_at,
            wanted=Entries(shelf=Shelf(question.site, question.item), since=question.since, until=question.until),
            after=question.after,
            limit=question.limit,
        )

    question = read_page(request, LedgerQuestion)
    return list_answer(request, question, "entries", await page(question), page)


@get("/consumption", may=roles.STOCK, asks=ConsumptionQuestion, offers=(JSON, CSV), columns=columns.CONSUMPTION)
async def get_consumption(request: Asked) -> Answer | Stream:
    """List what was used of each item at each site, added up by days, weeks or months of the site.

    Used is what was fitted new there, whether stock was told of or not; what was thrown away stands beside it. Periods
    without any are left out.
    """

    async def page(question: ConsumptionQuestion) -> Page:
        return await assess.consumption(
            ledger_of(request),
            request.auth,
            as_at=question.as_at,
            known_at=question.known_at,
            places=Places(site=question.site),
            spent=Spent(item=question.item, since=question.since, until=question.until, by=question.group_by),
            after=question.after,
            limit=question.limit,
        )

    question = read_page(request, ConsumptionQuestion)
    return list_answer(request, question, "periods", await page(question), page)


HANDLERS = (get_stock, get_stock_ledger, get_consumption)
