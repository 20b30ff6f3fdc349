"""A palette: paper, inks in laying order, and for each ink a ladder of tints.

Plain values without arrays, so that a palette can be read, checked and listed before numpy is
loaded. Colours are CIELAB (D50) triples on measured palettes and 8-bit sRGB triples on screens.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import prod
from typing import Literal

from tuimatch.text import percent

Kind = Literal["measured", "screen"]
Channels = Literal["xyz", "bt2020"]
Triple = tuple[float, float, float]

MAX_INKS = 6
MAX_RECIPES = 200_000

# Conventional screen angles, degrees (common practice, no source). Yellow shows least, so it takes
# the angle the eye sees best.
CONVENTIONAL_ANGLES = {"yellow": 0.0, "magenta": 75.0, "cyan": 15.0, "black": 45.0}
SPARE_ANGLES = (45.0, 75.0, 15.0, 0.0, 30.0, 60.0)


@dataclass(frozen=True)
class Ink:
    """One ink: its solid, its ladder of tints and what the artist calls them.

    Attributes:
        name: As the palette file spells it.
        symbol: One or two characters for narrow columns.
        solid: Lab on a measured palette, sRGB 0…255 on a screen.
        tints: Nominal areas in percent, ascending, without 0.
        labels: One for each tint, or empty.
        measured: Lab of single tints, by tint; measured palettes only.
        gain: Tone value increase at 50 %, as a fraction; None where the file gives none.
        angle: Screen angle in degrees; None where the file gives none.
    """

    name: str
    symbol: str
    solid: Triple
    tints: tuple[float, ...]
    labels: tuple[str, ...] = ()
    measured: tuple[tuple[float, Triple], ...] = ()
    gain: float | None = None
    angle: float | None = None

    @property
    def steps(self) -> tuple[float, ...]:
        """The ladder with 0 (none of this ink) at its foot, in percent."""
        return (0.0, *self.tints)

    def label(self, tint: float) -> str | None:
        """What the artist calls a tint, or None; never for none of the ink."""
        if not self.labels or tint not in self.tints:
            return None
        return self.labels[self.tints.index(tint)]

    def tint_called(self, label: str) -> float | None:
        """The tint the artist calls so, in any letter case, or None."""
        wanted = label.strip().casefold()
        called = zip(self.labels, self.tints, strict=False)  # there may be no labels
        return next((tint for name, tint in called if name.casefold() == wanted), None)


@dataclass(frozen=True)
class Palette:
    """A checked palette file.

    Attributes:
        stem: The name it is called by: a shipped name or the file's stem.
        text: The file's full text, kept with every choice made from it.
        overprints: Lab of overprinted solids by the positions of their inks, ascending.
        channels: The three channels of light in which areas and mixtures are reckoned.
    """

    stem: str
    name: str
    about: str
    kind: Kind
    source: str
    paper_name: str
    paper: Triple
    inks: tuple[Ink, ...]
    overprints: tuple[tuple[tuple[int, ...], Triple], ...] = ()
    yule_nielsen: float | None = None
    coverage_limit: float | None = None
    channels: Channels = "xyz"
    text: str = ""

    @cached_property
    def digest(self) -> str:
        """SHA-256 of the file's text: the identity of what a choice was made from."""
        import hashlib  # only when a choice is kept: not before the first frame

        return hashlib.sha256(self.text.encode()).hexdigest()

    @property
    def recipe_count(self) -> int:
        """How many recipes the inks make, bare paper included."""
        return prod(len(ink.tints) + 1 for ink in self.inks)

    @property
    def n(self) -> float:
        """The Yule-Nielsen factor: as given, or 1 on a screen, 1.5 with measured tints, else 2."""
        if self.yule_nielsen is not None:
            return self.yule_nielsen
        if self.kind == "screen":
            return 1.0
        return 1.5 if any(ink.measured for ink in self.inks) else 2.0

    @property
    def estimated(self) -> bool:
        """Whether an overprint of solids had to be estimated."""
        wanted = 2 ** len(self.inks) - len(self.inks) - 1
        return self.kind == "measured" and len(self.overprints) < wanted

    @property
    def angles(self) -> tuple[float, ...]:
        """The screen angle of each ink: the file's, the conventional one, or a spare one."""
        given = [
            ink.angle if ink.angle is not None else CONVENTIONAL_ANGLES.get(ink.name.casefold())
            for ink in self.inks
        ]
        spare = iter([a for a in SPARE_ANGLES if a not in given] + list(SPARE_ANGLES))
        return tuple(next(spare) if angle is None else angle for angle in given)

    def ink_position(self, name: str) -> int | None:
        """The position of an ink by name or symbol, in any letter case, or None."""
        wanted = name.strip().casefold()
        for position, ink in enumerate(self.inks):
            if wanted in (ink.name.casefold(), ink.symbol.casefold()):
                return position
        return None

    def recipe_text(self, tints: tuple[float, ...]) -> str:
        """A recipe in laying order: ``yellow 100 %, magenta 50 %``.

        Args:
            tints: Percent for every ink in laying order, 0 for none.
        """
        used = [f"{ink.name} {percent(t)} %" for ink, t in zip(self.inks, tints, strict=True) if t]
        return ", ".join(used) or "bare paper"
