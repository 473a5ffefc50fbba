"""Histories handed on: a document of EPCIS 2.0."""

from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta

from service.domain.words import Instant
from service.http.shapes.words import MANY

Address = Annotated[str, Meta(max_length=1000)]
Context = Annotated[tuple[Address | dict[str, Address], ...], Meta(max_length=10)]
Events = Annotated[tuple[dict[str, Any], ...], Meta(max_length=MANY)]


class EpcisBody(msgspec.Struct, frozen=True, kw_only=True, rename="camel"):
    """The events of a document of EPCIS."""

    event_list: Events


class EpcisDocument(msgspec.Struct, frozen=True, kw_only=True, rename="camel"):
    """What happened to units and their parts, in the words of EPCIS 2.0 and CBV 2.0 (ISO/IEC 19987 and 19988)."""

    context: Context = msgspec.field(name="@context")
    type: Literal["EPCISDocument"]
    schema_version: Literal["2.0"]
    creation_date: Instant
    epcis_body: EpcisBody
