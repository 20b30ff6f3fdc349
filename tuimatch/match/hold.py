"""What orders the candidates: CIEDE2000, plain or with an attribute held.

Another attribute to hold, or another measure altogether, is one more member here.
"""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from tuimatch.colour.colorimetry import Array
    from tuimatch.palette.model import Triple


class Hold(Enum):
    """The attribute that must stay; the factors of the other two become 2 for the ordering.

    The value is what options and JSON call it.

    Attributes:
        factors: The parametric factors kL, kC, kH of CIEDE2000.
        word: What people read.
    """

    NOTHING = "nothing", (1, 1, 1), ""
    LIGHTNESS = "lightness", (1, 2, 2), "lightness"
    HUE = "hue", (2, 2, 1), "hue"
    CHROMA = "chroma", (2, 1, 2), "vividness"

    factors: tuple[float, float, float]
    word: str

    def __new__(
        cls, value: str, factors: tuple[float, float, float] = (1, 1, 1), word: str = ""
    ) -> Hold:
        """A member whose value is its name."""
        member = object.__new__(cls)
        member._value_ = value
        member.factors, member.word = factors, word
        return member

    def measure(self, target: Triple, lab: Array) -> Array:
        """What candidates are ordered by, shape (…).

        Args:
            target: CIELAB of the wanted colour.
            lab: CIELAB of the candidates, shape (…, 3).
        """
        from tuimatch.colour.colorimetry import difference

        return difference(target, lab).weighted(*self.factors)

    def promising(self, target: Triple, lab: Array, top: int) -> npt.NDArray[np.intp]:
        """Rows, ascending, among which are the first `top` of the order; see `ciede2000_bounds`.

        Args:
            target: CIELAB of the wanted colour.
            lab: CIELAB of the candidates, shape (N, 3).
            top: How many are wanted, from 1.
        """
        from tuimatch.colour import ciede2000_bounds

        return ciede2000_bounds.promising(target, lab, top, self.factors)

    def within(self, target: Triple, lab: Array, most: float) -> npt.NDArray[np.intp]:
        """Rows, ascending, among which are all whose measure is at most `most`.

        Args:
            target: CIELAB of the wanted colour.
            lab: CIELAB of the candidates, shape (N, 3).
            most: CIEDE2000 with the factors of this hold.
        """
        from tuimatch.colour import ciede2000_bounds

        return ciede2000_bounds.within(target, lab, most, self.factors)


HELD = tuple(hold for hold in Hold if hold is not Hold.NOTHING)
