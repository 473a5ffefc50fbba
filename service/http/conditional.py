"""Reads of what has an ETag, answered as their conditions want (RFC 9110 section 13.2.2)."""

from service.domain.errors import VersionMismatch
from service.http.answers import Answer, answer, not_modified
from service.http.etags import VERSION, is_weak, matched, tags, unchanged
from service.http.problems import refusal
from service.http.request import Asked, list_field


def tagged(request: Asked, value: object, etag: str) -> Answer:
    """Answer with a value and its tag: 412 where it is not what `If-Match` wants, 304 where the reader has it already.

    Raises BadParameter.
    """
    headers = {"ETag": etag}
    if_match = list_field(request, "if-match")
    if not matched(if_match, etag):
        why = VersionMismatch.WEAK if is_weak(if_match) else VersionMismatch.CHANGED
        return refusal(VersionMismatch(version(etag), why).problem(), headers=headers)
    if unchanged(list_field(request, "if-none-match"), etag):
        return not_modified(headers)
    return answer(value, headers=headers)


def version(etag: str) -> int | None:
    """Give the version that a tag stands for; None where it stands for content."""
    (tag,) = tags("ETag", etag)
    return int(tag.opaque) if VERSION.fullmatch(tag.opaque) else None
