"""A pre-use check failed."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.check import CHECK_EXAMPLE, CheckEvent
from service.domain.sample import sample


class FailedCheck(CheckEvent, frozen=True, kw_only=True):
    """A check whose sender says it failed, whatever its points say."""

    example: ClassVar[dict[str, Any]] = sample(
        "failed-check",
        CHECK_EXAMPLE
        | {
            "points": {"airflow": "fail", "low-flow-alarm": "pass", "battery": "pass"},
            "airflow_lpm": 141.5,
            "airflow_indicator": "below",
            "filter_loading": {"particle-filter": 4, "pre-filter": 2},
            "action": "put aside for the storekeeper",
        },
    )

    @override
    def adverse(self) -> bool:
        """Say yes: a failure is bad news."""
        return True
