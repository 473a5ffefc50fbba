"""Entity tags and the conditions on them (RFC 9110 sections 8.8.3 and 13). A version n has the tag "n"."""

import base64
import re
from hashlib import sha256
from typing import NamedTuple

from service.domain.errors import BadParameter
from service.domain.starting import Start, Versions

#: RFC 9110 section 8.8.3: entity-tag = [ "W/" ] DQUOTE *etagc DQUOTE.
TAG = re.compile(r'(W/)?+"([\x21\x23-\x7e\x80-\xff]*+)"')
#: RFC 9110 section 5.6.1.2: empty elements of a list are passed over. Nothing that was read is given back (`*+`), so
#: that what is no list is known for none in one reading of it.
TAGS = re.compile(rf"[ \t,]*+{TAG.pattern}(?:[ \t]*+,[ \t,]*+{TAG.pattern})*+[ \t,]*+")
VERSION = re.compile(r"[1-9][0-9]{0,17}")

ANY = "*"


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


def of_content(content: bytes, *, weak: bool) -> str:
    """Write the tag of what is said: other content has another one. Weak where the answer tells its own moment, too."""
    digest = base64.urlsafe_b64encode(sha256(content).digest()[:18]).decode()
    return f'W/"{digest}"' if weak else f'"{digest}"'


def tags(header: str, text: str) -> list[Tag]:
    """Read a list of tags. Raises BadParameter naming the header."""
    if not TAGS.fullmatch(text):
        detail = f'Send the ETag of your last read as it came, in its quotes: {header}: "7".'
        raise BadParameter(header, detail)
    return [Tag(opaque, bool(weak)) for weak, opaque in TAG.findall(text)]


def matched(if_match: str | None, etag: str) -> bool:
    """Say whether what is there is what the reader wants to go on with (RFC 9110 section 13.1.1)."""
    if if_match is None or if_match.strip() == ANY:
        return True
    (current,) = tags("ETag", etag)
    return any(tag.matches_strongly(current) for tag in tags("If-Match", if_match))


def is_weak(if_match: str | None) -> bool:
    """Say whether a reader names nothing but weak tags, which match nothing in `If-Match`."""
    return if_match is not None and if_match.strip() != ANY and all(tag.weak for tag in tags("If-Match", if_match))


def unchanged(if_none_match: str | None, etag: str) -> bool:
    """Say whether the reader has what the tag stands for already, so that 304 is enough (RFC 9110 section 13.1.2)."""
    if if_none_match is None:
        return False
    (current,) = tags("ETag", etag)
    return if_none_match.strip() == ANY or any(
        tag.matches_weakly(current) for tag in tags("If-None-Match", if_none_match)
    )


def start(if_match: str | None, if_none_match: str | None) -> Start:
    """Read which version a change starts from. Raises BadParameter.

    `If-Match` compares strongly, so that a weak tag names no version; `If-None-Match` weakly.
    """
    return Start(
        of=versions("If-Match", if_match, weak=False),
        but=versions("If-None-Match", if_none_match, weak=True),
    )


def versions(header: str, text: str | None, *, weak: bool) -> Versions | None:
    """Read the versions that a condition names, by weak tags too or not. A tag never written here names none."""
    if text is None:
        return None
    if text.strip() == ANY:
        return Versions(each=True)
    told = tags(header, text)
    named = (tag.opaque for tag in told if weak or not tag.weak)
    return Versions(
        frozenset(int(opaque) for opaque in named if VERSION.fullmatch(opaque)),
        weak=not weak and all(tag.weak for tag in told),
    )
