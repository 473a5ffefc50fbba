"""Entity tags and the conditions on them (RFC 9110 sections 8.8.3 and 13). A version n has the tag "n"."""

import re
from typing import NamedTuple

from service.domain.errors import BadParameter

#: RFC 9110 section 8.8.3: entity-tag = [ "W/" ] DQUOTE *etagc DQUOTE.
TAG = re.compile(r'(W/)?"([\x21\x23-\x7e\x80-\xff]*)"')
TAGS = re.compile(rf"{TAG.pattern}(?:\s*,\s*{TAG.pattern})*")
VERSION = re.compile(r"[1-9][0-9]{0,17}")

#: What no version is: a tag that this service never wrote matches nothing.
NO_VERSION = -2


class Tag(NamedTuple):
    """An entity tag."""

    opaque: str
    weak: bool = False

    def matches_strongly(self, other: "Tag") -> bool:
        """Compare for If-Match (RFC 9110 section 8.8.3.2)."""
        return not self.weak and not other.weak and self.opaque == other.opaque

    def matches_weakly(self, other: "Tag") -> bool:
        """Compare for If-None-Match (RFC 9110 section 8.8.3.2)."""
        return self.opaque == other.opaque


def written(version: int) -> str:
    """Write the tag of a version."""
    return f'"{version}"'


def tags(header: str, text: str) -> list[Tag]:
    """Read a list of tags. Raises BadParameter naming the header."""
    if not TAGS.fullmatch(text.strip()):
        detail = f'Expected the ETag of your last read, in its quotes: {header}: "7".'
        raise BadParameter(header, detail)
    return [Tag(opaque, bool(weak)) for weak, opaque in TAG.findall(text)]


def unchanged(if_none_match: str | None, version: int) -> bool:
    """Say whether the reader has this version already, so that 304 is enough."""
    if if_none_match is None:
        return False
    current = Tag(str(version))
    return if_none_match.strip() == "*" or any(
        tag.matches_weakly(current) for tag in tags("If-None-Match", if_none_match)
    )


def expected_version(if_match: str | None, if_none_match: str | None) -> int | None:
    """Read which version a change starts from: None not said, 0 there must be none yet.

    A weak tag, or one that this service never wrote, gives a version that no object has: the condition is false.
    Raises BadParameter for what names more than one version, because only one can have been read.
    """
    if if_match is not None:
        named = tags("If-Match", if_match)
        if len(named) > 1:
            detail = "Name one version, the ETag of your last read."
            raise BadParameter("If-Match", detail)
        tag = named[0]
        return (
            int(tag.opaque) if VERSION.fullmatch(tag.opaque) and tag.matches_strongly(Tag(tag.opaque)) else NO_VERSION
        )
    if if_none_match is not None and if_none_match.strip() != "*":
        detail = (
            "A change takes 'If-None-Match: *' (there must be none yet) or 'If-Match' with the ETag of your last read."
        )
        raise BadParameter("If-None-Match", detail)
    return None if if_none_match is None else 0
