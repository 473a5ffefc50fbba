"""The words of answers: numbers and texts with their bounds, and the lists of words that may grow."""

from typing import Annotated, Literal, TypeAlias

from msgspec import Meta

from service.domain.conflict import CODES
from service.domain.kinds import KINDS
from service.domain.rules import RULES
from service.domain.standing import REASONS
from service.http.paging import MAX_LIMIT

MOST = 2**53 - 1
"""The largest whole number that every reader of JSON holds exactly (RFC 8259 section 6)."""
MANY = 1_000_000
"""More of anything than one organisation has."""

Count = Annotated[int, Meta(ge=0, le=MOST)]
Seq = Annotated[int, Meta(ge=1, le=MOST)]
Seq0 = Annotated[int, Meta(ge=0, le=MOST)]
Rate = Annotated[float, Meta(ge=0, le=1)]
Status = Annotated[int, Meta(ge=200, le=599)]
Sentence = Annotated[str, Meta(max_length=10_000)]
Next = Annotated[str, Meta(max_length=1000, pattern="^[A-Za-z0-9_-]+$")]

HYPHENATED = "^[a-z]+(-[a-z]+)*$"
Reason = Annotated[str, Meta(max_length=40, pattern=HYPHENATED, examples=list(REASONS))]
Reasons = Annotated[tuple[Reason, ...], Meta(max_length=len(REASONS))]
RULE_NAMES = tuple(rule.name for rule in RULES)
RuleName: TypeAlias = Annotated[str, Meta(max_length=40, pattern=HYPHENATED, examples=list(RULE_NAMES))]
KindName: TypeAlias = Annotated[str, Meta(max_length=40, pattern=HYPHENATED, examples=[kind.kind for kind in KINDS])]
ConflictCode: TypeAlias = Annotated[str, Meta(max_length=40, pattern=HYPHENATED, examples=list(CODES))]
Profile: TypeAlias = Literal["uk", "us", "eu", "au-nz", "ca"]

Page = Meta(max_length=MAX_LIMIT)
Many = Meta(max_length=MANY)
