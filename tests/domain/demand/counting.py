"""Numbers that count what is worked out with them."""

from typing import Any, Self

from typing_extensions import override


class Steps:
    """How many steps were taken; more than `most` is a failure at once, so that a test does not go on for minutes."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.taken = 0

    def take(self) -> None:
        """Count a step."""
        self.taken += 1
        assert self.taken <= self.most, f"more than {self.most} steps"


class Counted(float):
    """A number that counts each multiplication and division of it, and of what comes of those and of sums of it."""

    steps: Steps

    def __new__(cls, number: float, steps: Steps) -> Self:
        """Make one."""
        made = super().__new__(cls, number)
        made.steps = steps
        return made

    def _of(self, number: float) -> "Counted":
        return Counted(number, self.steps)

    @override
    def __add__(self, other: Any) -> "Counted":
        return self._of(super().__add__(other))

    __radd__ = __add__

    @override
    def __sub__(self, other: Any) -> "Counted":
        return self._of(super().__sub__(other))

    @override
    def __rsub__(self, other: Any) -> "Counted":
        return self._of(super().__rsub__(other))

    @override
    def __mul__(self, other: Any) -> "Counted":
        self.steps.take()
        return self._of(super().__mul__(other))

    __rmul__ = __mul__

    @override
    def __truediv__(self, other: Any) -> "Counted":
        self.steps.take()
        return self._of(super().__truediv__(other))

    @override
    def __rtruediv__(self, other: Any) -> "Counted":
        self.steps.take()
        return self._of(super().__rtruediv__(other))
