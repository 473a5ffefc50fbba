"""A unit leaves the firm's use for good."""

from typing import Any, ClassVar, Literal

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.words import Text


class Retired(AssetEvent, frozen=True, kw_only=True):
    """Final for the tag (R13)."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "disposal")
    example: ClassVar[dict[str, Any]] = sample(
        "retired", {"asset": "FX-0142", "reason": "worn-out", "disposal": "shell to metal scrap, battery to collection"}
    )

    reason: Literal["worn-out", "damaged", "obsolete", "lost", "other"]
    disposal: Text | None = None
