"""What the label of a unit says: the firm's own address of it, or its tag.

An identification link (IEC 61406-1) is an https address that is the only one of its kind; so it has the organisation's
id in it, since tags are each firm's own. Whose host it names is no matter when it is read: the firm may move, the
labels stay.
"""

import re
from uuid import UUID

from service.domain.words import REF_PATTERN

LINK = re.compile(r"https://[^/?#\s]+(?:/[^?#]*)?/(?P<organisation>[0-9a-f-]{36})/(?P<tag>[^/?#]+)")
TAG = re.compile(REF_PATTERN)


def label_text(address: str | None, organisation: UUID, tag: str) -> str:
    """Give what the code of a label says; without an address of the firm's own it is the tag alone."""
    return tag if address is None else f"{address}/{organisation}/{tag}"


def tag_of(text: str, organisation: UUID) -> str | None:
    """Give the tag that an address of this organisation names; None for any other text."""
    found = LINK.fullmatch(text)
    if found is None or found["organisation"] != str(organisation) or not TAG.match(found["tag"]):
        return None
    return found["tag"]
