"""What somebody wants of a webhook: where events go, and which."""

import re
from typing import Annotated, Final, Literal

import msgspec
from msgspec import Meta

from service.domain.words import MANY, Label, Ref, Subject

LONGEST_URL: Final = 500
URL_PATTERN: Final = r"^https?://[A-Za-z0-9.-]{1,253}(:[0-9]{1,5})?(/[!$&-;=?-Z_a-z~%]*)?$(?!\n)"
"""A name or IPv4 address without a user, then ASCII as an address on the line has it; no fragment is ever sent."""
KIND_PATTERN: Final = r"^[a-z]+(-[a-z]+){0,5}$(?!\n)"
URL: Final = re.compile(URL_PATTERN)

Kinds = Annotated[
    tuple[Annotated[str, Meta(pattern=KIND_PATTERN, max_length=40)], ...], Meta(min_length=1, max_length=MANY)
]
Url = Annotated[str, Meta(pattern=URL_PATTERN, max_length=LONGEST_URL)]


class Wish(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where events go, and which: all that is given must hold, what is left out asks nothing."""

    url: Annotated[
        Url,
        Meta(
            description="Where events are posted: https, at a public address, port 443 or one from 1024 up.",
            examples=["https://erp.example.com/hooks/respirators"],
        ),
    ]
    purpose: Annotated[Label | None, Meta(description="What it is for, in words of your own.")] = None
    kinds: Annotated[Kinds | None, Meta(description="Events of one of these kinds alone.")] = None
    site: Annotated[Ref | None, Meta(description="Events of this site alone.")] = None
    subject: Annotated[Subject | None, Meta(description="Events about this alone, such as `item:pf-170`.")] = None
    state: Annotated[
        Literal["active", "paused"],
        Meta(description="`active` sends; `paused` sends nothing and goes on later where it was."),
    ] = "active"
