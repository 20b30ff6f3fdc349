"""How a candidate is looked at, and its previews: what each draws beside the target and says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

from tuimatch.text import percent, printable

if TYPE_CHECKING:
    from tuimatch.match.answer import Match
    from tuimatch.recipe.copied_recipe import Wording
    from tuimatch.recipe.dots import Picture, Press
    from tuimatch.tui.widgets.seam import Shown

PERIODS = (4, 6, 8, 11, 16, 22)
RULINGS = (45, 55, 65, 75, 85, 100, 120, 133, 150, 175)
SHIFTS = (0.25, 0.5, 0.125)


class Preview(Enum):
    """The ways to preview a candidate, in the order in which its key goes through them.

    Attributes:
        draw: What stands beside the target, of the press, the recipe's row and the look.
        says: Two lines on the recipe, each of at most so many cells: the last one, and one in the
            place of the lettering; empty where there is nothing to say.
    """

    FROM_AFAR = (
        lambda press, row, look: press.recipes.rgb_of(row),
        lambda match, row, look, room: (_alike(match, row, room), ""),
    )
    # Nobody who looks this closely asks for more, and the dots already take long to draw.
    DOTS = (
        lambda press, row, look: lambda width, height: _dots(press, row, look, width, height),
        lambda match, row, look, room: (
            _fusing(match, row, look, room),
            _register(match, row, look, room),
        ),
    )

    def __init__(
        self,
        draw: Callable[[Press, int, Look], Shown],
        says: Callable[[Match, int, Look, int], tuple[str, str]],
    ) -> None:
        self.draw, self.says = draw, says


@dataclass(frozen=True)
class Look:
    """How a candidate is looked at.

    Attributes:
        preview: From afar, or close up.
        period: Pixels from dot to dot.
        shifted: The position of an ink out of register, or None.
        shift: How far it is out, in periods.
        ruling: Lines of dots in an inch.
        wording: How its recipe is written when it is copied; None until the inks are mixed.
    """

    preview: Preview = Preview.FROM_AFAR
    period: int = 8
    shifted: int | None = None
    shift: float = 0.25
    ruling: int = 85
    wording: Wording | None = None

    def next_preview(self) -> Look:
        """The preview after this one."""
        every = list(Preview)
        return replace(self, preview=every[(every.index(self.preview) + 1) % len(every)])

    def zoomed(self, by: int) -> Look:
        """One step nearer or further."""
        place = min(max(PERIODS.index(self.period) + by, 0), len(PERIODS) - 1)
        return replace(self, preview=Preview.DOTS, period=PERIODS[place])

    def ruled(self, by: int) -> Look:
        """A finer or coarser ruling: from where the dots fuse."""
        place = min(max(RULINGS.index(self.ruling) + by, 0), len(RULINGS) - 1)
        return replace(self, preview=Preview.DOTS, ruling=RULINGS[place])

    def misregistered(self, tints: tuple[float, ...]) -> Look:
        """The first screened ink out of register, the next … and back into register."""
        cycle = [None, *(ink for ink, tint in enumerate(tints) if 0 < tint < 100)]
        place = cycle.index(self.shifted) if self.shifted in cycle else 0
        return replace(self, preview=Preview.DOTS, shifted=cycle[(place + 1) % len(cycle)])

    def shifted_more(self) -> Look:
        """Another amount out of register."""
        following = SHIFTS[(SHIFTS.index(self.shift) + 1) % len(SHIFTS)]
        return replace(self, preview=Preview.DOTS, shift=following)


def _dots(press: Press, row: int, look: Look, width: int, height: int) -> Picture:
    from tuimatch.recipe.dots import View

    return press.picture(
        row, View(height, width, look.period, look.shifted, shift=(look.shift, 0.0))
    )


def _alike(match: Match, row: int, room: int) -> str:
    """Which of the project's colours colour-blind readers may take it for."""
    from tuimatch.tui.widgets.lines import whole

    for name, _ in match.alike(row)[:1]:
        begins = "the colour-blind may take it for "
        short = "to the colour-blind like "
        named = printable(name)
        return whole(room, begins + named, short + named)
    return ""


def _fusing(match: Match, row: int, look: Look, room: int) -> str:
    from tuimatch.recipe.dots import fusing_distance
    from tuimatch.tui.widgets.lines import whole

    if not any(0 < tint < 100 for tint in match.recipes.tints_of(row)):
        return "solids have no dots"
    merge = f"dots merge from {fusing_distance(look.ruling):.1f} m"
    ways = (f"{look.ruling} lines an inch: {merge}", f"{look.ruling} an inch: {merge}", merge)
    return whole(room, *ways)


def _register(match: Match, row: int, look: Look, room: int) -> str:
    """Which ink is out of register; empty when none that has dots is."""
    from tuimatch.tui.widgets.lines import whole

    ink = look.shifted
    if ink is None or not 0 < match.recipes.tints_of(row)[ink] < 100:
        return ""
    name, by = match.recipes.palette.inks[ink].name, f"by {percent(look.shift)} dot"
    return whole(room, f"{name} out of register {by}", f"{name} out {by}", f"{name} out")
