"""A unit is meant for another use."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import AssetEvent
from service.domain.sample import sample
from service.domain.value import FieldError
from service.domain.words import Reason, Ref, Use


class UseSet(AssetEvent, frozen=True, kw_only=True):
    """The use decides how often the law asks for an examination; occasional needs a reason (design 4)."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "reason")
    example: ClassVar[dict[str, Any]] = sample(
        "use-set",
        {"asset": "FX-0142", "use": "occasional", "authorised_by": "p-1002", "reason": "worn on shutdowns only"},
    )

    use: Use
    authorised_by: Ref
    reason: Reason | None = None

    @override
    def __post_init__(self) -> None:
        """Demand the reason of an occasional use."""
        super().__post_init__()
        if self.use == "occasional" and self.reason is None:
            raise FieldError("reason", "occasional use needs a reason")
