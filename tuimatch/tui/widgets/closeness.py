"""How a candidate is looked at: from afar or close up, how near, and what is out of register."""

from __future__ import annotations

from dataclasses import dataclass, replace

PERIODS = (4, 6, 8, 11, 16, 22)


@dataclass(frozen=True)
class Closeness:
    """How the candidate is looked at.

    Attributes:
        dots: Close up, rather than from afar.
        period: Pixels from dot to dot.
        shifted: The position of an ink out of register, or None.
        shift: How far it is out, in periods.
    """

    dots: bool = False
    period: int = 8
    shifted: int | None = None
    shift: float = 0.25

    def zoomed(self, by: int) -> Closeness:
        """One step nearer or further."""
        place = min(max(PERIODS.index(self.period) + by, 0), len(PERIODS) - 1)
        return replace(self, period=PERIODS[place])
