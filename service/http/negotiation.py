"""Which form an answer takes, of those that its route offers (RFC 9110 section 12.5.1).

A route says with `offers=` what it has beside JSON, its own first choice first, and with `streams=` that it answers
lines with lines. Problems are always JSON.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from service.domain.errors import NotAcceptable
from service.http.answers import JSON
from service.http.request import Asked, list_field

CSV = "text/csv"
TEXT = "text/plain"
NDJSON = "application/x-ndjson"
HTML = "text/html"
SVG = "image/svg+xml"
XML = "application/xml"
TEXT_XML = "text/xml"
JSON_LD = "application/ld+json"
EVENT_STREAM = "text/event-stream"
JSON_ALONE = (JSON,)


class Range(NamedTuple):
    """A media range of an Accept header: what it covers, and how much that is wanted, in thousandths."""

    kind: str
    form: str
    wanted: int

    def closeness(self, media: str) -> int:
        """Say how closely the range names a media type: 0 not at all, 1 `*/*`, 2 `text/*`, 3 by its name."""
        kind, _, form = media.partition("/")
        if (self.kind, self.form) == (kind, form):
            return 3
        if (self.kind, self.form) == (kind, "*"):
            return 2
        return int((self.kind, self.form) == ("*", "*"))


def negotiate(request: Asked) -> None:
    """Settle the form of the answer before anything is done. Raises NotAcceptable."""
    offers = offered(request)
    chosen = choose(list_field(request, "accept"), offers)
    if chosen is None:
        raise NotAcceptable(offers)
    request.scope["state"]["media"] = chosen


def offered(request: Asked) -> tuple[str, ...]:
    """Give the forms that the answer can have."""
    if is_stream(request):
        return (NDJSON,)
    offers: tuple[str, ...] = request.route_handler.opt.get("offers", JSON_ALONE)
    return offers


def is_stream(request: Asked) -> bool:
    """Say whether a request comes as lines, to a route that takes them."""
    return "streams" in request.route_handler.opt and request.content_type[0].lower() == NDJSON


def media_of(request: Asked) -> str:
    """Give the form that was settled on."""
    return str(request.scope["state"].get("media", JSON))


def choose(accept: str | None, offers: Sequence[str]) -> str | None:
    """Give the offer wanted most, of equals the first; None where none is wanted. Without a header any is."""
    if accept is None or not accept.strip():
        return offers[0]
    ranges = list(read(accept))
    best = max(offers, key=lambda media: _wanted(media, ranges))
    return best if _wanted(best, ranges) else None


def _wanted(media: str, ranges: Sequence[Range]) -> int:
    """Give what the closest range says: a type excluded by its name is not had by `*/*`."""
    closest = max(ranges, key=lambda one: (one.closeness(media), one.wanted), default=None)
    return 0 if closest is None or not closest.closeness(media) else closest.wanted


def read(accept: str) -> Iterator[Range]:
    """Read an Accept header, forbearing: what is no media range asks for nothing, a weight that is none is a full one.

    Parameters of a media type but its weight are left out of account: no form offered here has variants.
    """
    for element in accept.split(","):
        media, *parameters = (part.strip().lower() for part in element.split(";"))
        kind, slash, form = media.partition("/")
        if slash and kind and form:
            yield Range(kind, form, min((weight(text) for text in parameters if text.startswith("q=")), default=1000))


def weight(text: str) -> int:
    """Read a weight such as q=0.8, in thousandths."""
    try:
        value = float(text[2:])
    except ValueError:
        return 1000
    return round(value * 1000) if 0 <= value <= 1 else 1000
