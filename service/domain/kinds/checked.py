"""A pre-use check was done."""

from typing import Any, ClassVar

from typing_extensions import override

from service.domain.check import CHECK_EXAMPLE, CheckEvent
from service.domain.sample import sample


class Checked(CheckEvent, frozen=True, kw_only=True):
    """A check whose sender thinks it passed; the service judges it by its readings (design 3.3)."""

    example: ClassVar[dict[str, Any]] = sample("checked", CHECK_EXAMPLE)

    @override
    def adverse(self) -> bool:
        """Say yes to a failing point or an indicator below its mark (R1)."""
        return "fail" in self.points.values() or self.airflow_indicator == "below"

    @override
    def claims_to_pass(self) -> bool:
        """Say yes if no point failed, whatever the readings beside them say."""
        return "fail" not in self.points.values()
