"""The forms of documents of purchase: UBL 2.1 (XML), and tables (CSV) for firms that have none of it."""

from collections.abc import Callable, Mapping
from typing import Final

from service.domain.errors import UnsupportedMedia
from service.http.answers import Answer
from service.http.negotiation import CSV, TEXT_XML, XML, media_of
from service.http.request import Asked
from service.http.tables import CSV_MEDIA
from service.outbound.ubl.documents import Document
from service.outbound.ubl.reading import Reading
from service.outbound.ubl.sheet import sheet
from service.outbound.ubl.which import Answer as Said
from service.outbound.ubl.which import read_answer, read_answer_sheet
from service.outbound.ubl.writing import written

READERS: Final[Mapping[str, Callable[[bytes], Reading[Said]]]] = {
    XML: read_answer,
    TEXT_XML: read_answer,
    CSV: read_answer_sheet,
}


def document_answer(request: Asked, document: Document) -> Answer:
    """Answer with a document in the form that was settled on."""
    if media_of(request) == CSV:
        return Answer(sheet(document), media_type=CSV_MEDIA)
    return Answer(written(document), media_type=XML)


def form_of(request: Asked) -> str:
    """Give the form that a document is sent in. What it says of its own encoding counts. Raises UnsupportedMedia."""
    media = request.content_type[0].lower()
    if media not in READERS:
        detail = f"Send a document as one of {', '.join(READERS)}, and say which as Content-Type, not {media!r}."
        raise UnsupportedMedia(detail)
    return media
