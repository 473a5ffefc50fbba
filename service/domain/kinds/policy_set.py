"""The firm sets a rule's values."""

from collections.abc import Iterator
from typing import Any, ClassVar

from typing_extensions import override

from service.domain.event import ReferenceEvent
from service.domain.policy import PolicyName, PolicyScope, PolicyValues
from service.domain.sample import sample
from service.domain.value import FieldError


class PolicySet(ReferenceEvent, frozen=True, kw_only=True):
    """One policy's values for the whole firm, a site or a model; the narrowest wins (R35)."""

    kept_out: ClassVar[tuple[str, ...]] = ("remark", "reason", "values.confined_proven.reason")
    example: ClassVar[dict[str, Any]] = sample(
        "policy-set",
        {
            "effective_from": "2026-03-02T00:00:00+00:00",
            "correction": True,
            "reason": "agreed in January",
            "policy": "thorough-examination",
            "scope": {"organisation": True, "site": "harrow-dock", "model": "northwind-2"},
            "values": {"interval": {"routine": "P1M", "occasional": "P3M", "emergency": "P1M"}, "due_soon": "P7D"},
        },
    )

    policy: PolicyName
    scope: PolicyScope
    values: PolicyValues

    @override
    def wrong(self) -> Iterator[FieldError]:
        """Refuse a value that the policy does not have, and a policy without any."""
        yield from self.values.others(self.policy)

    @override
    def subjects(self) -> tuple[str, ...]:
        """Name the policy, and the site and model it is narrowed to."""
        return (
            f"policy:{self.policy}",
            *([f"site:{self.scope.site}"] if self.scope.site else ()),
            *([f"model:{self.scope.model}"] if self.scope.model else ()),
        )
