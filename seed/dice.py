"""Chance from a fixed seed: the same seed and name give the same throws on every machine."""

from datetime import datetime
from random import Random
from typing import Self


class Dice(Random):
    """One stream of throws. Streams of different names do not disturb each other."""

    @classmethod
    def named(cls, seed: int, name: str) -> Self:
        """Start the stream `name` of a seed; text seeds do not depend on the process."""
        return cls(f"{seed}/{name}")

    def between(self, low: int, high: int) -> int:
        """Draw a whole number from `low` to `high`, both included."""
        return low + int(self.random() * (high - low + 1))

    def happens(self, share: float) -> bool:
        """Say whether something that happens in `share` of all cases happens now."""
        return self.random() < share

    def near(self, middle: float, spread: float) -> float:
        """Draw around `middle`, never further than three spreads away."""
        return middle + spread * max(-3.0, min(3.0, self.gauss(0.0, 1.0)))

    def uuid(self, at: datetime) -> str:
        """Draw an identifier in the layout of UUID version 7 (RFC 9562 5.7) whose clock shows `at`."""
        stamp = f"{int(at.timestamp() * 1000):012x}"
        rest = self.getrandbits(74)
        low = f"{(rest >> 12) & 0x3FFFFFFFFFFFFFFF | 0x8000000000000000:016x}"
        return f"{stamp[:8]}-{stamp[8:]}-7{rest & 0xFFF:03x}-{low[:4]}-{low[4:]}"
