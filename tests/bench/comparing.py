"""One line of the benchmark's table: what was measured, against what, and the ratio there should be."""

import msgspec


class Line(msgspec.Struct, frozen=True, kw_only=True):
    """A comparison of the same run; `reach` is the ratio that is wanted, `at_most` says from which side."""

    what: str
    ours: float
    against: str
    theirs: float
    unit: str
    reach: float
    at_most: bool = False

    @property
    def ratio(self) -> float:
        """Give ours by theirs."""
        return self.ours / self.theirs

    def told(self) -> str:
        """Write the line."""
        wanted = f"{'at most' if self.at_most else 'at least'} {self.reach:g}"
        return (
            f"{self.what:44}{self.ours:>12,.1f} {self.unit:<9}{self.against:34}{self.theirs:>12,.1f} {self.unit:<9}"
            f"{self.ratio:>7.2f}   {wanted}"
        )
