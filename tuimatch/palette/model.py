"""A palette: paper, inks in laying order, and for each ink a ladder of tints.

Plain values without arrays, so that a palette can be read, checked and listed before numpy is
loaded. Colours are CIELAB (D50) triples on measured palettes and 8-bit sRGB triples on screens.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import prod
from typing import Literal

from tuimatch.palette.kinds import KINDS, Kind
from tuimatch.palette.process_inks import process_ink
from tuimatch.text import exact, percent

Channels = Literal["xyz", "sharp"]
Fused = Literal["eye", "resized"]
Triple = tuple[float, float, float]

MAX_INKS = 6
MAX_RECIPES = 200_000
# The largest charts in use have 1,617 patches (IT8.7/4, from memory).
MAX_MIXTURES = 2_000

# For inks that have no conventional angle, degrees.
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
        ramp: Lab of further single tints, between those of the ladder; measured palettes only.
        gain: Tone value increase at 50 %, as a fraction; None where the file gives none.
        angle: Screen angle in degrees; None where the file gives none.
        screen: The ink as the drawing program has it, sRGB 0…255; measured palettes only.
    """

    name: str
    symbol: str
    solid: Triple
    tints: tuple[float, ...]
    labels: tuple[str, ...] = ()
    measured: tuple[tuple[float, Triple], ...] = ()
    ramp: tuple[tuple[float, Triple], ...] = ()
    gain: float | None = None
    angle: float | None = None
    screen: Triple | None = None

    @property
    def steps(self) -> tuple[float, ...]:
        """The ladder with 0 (none of this ink) at its foot, in percent."""
        return (0.0, *self.tints)

    def label(self, tint: float) -> str | None:
        """What the artist calls a tint, or None; always None for 0 %."""
        if not self.labels or tint not in self.tints:
            return None
        return self.labels[self.tints.index(tint)]

    def tint_words(self, tint: float, *, named: bool = True, roomy: bool = True) -> str:
        """A tint as the artist calls it: ``saffron: coarse dots 71 %``, or ``saffron 71 %``.

        Args:
            tint: Percent.
            named: Whether the ink is named before it.
            roomy: Whether there is room for the percentage of a tint that has a label.
        """
        share = f"{percent(tint)} %"
        label = self.label(tint)
        if label is None:
            return f"{self.name} {share}" if named else share
        words = f"{label} {share}" if roomy and not label.endswith("%") else label
        return f"{self.name}: {words}" if named else words

    def tint_called(self, label: str) -> float | None:
        """The tint with this label, in any letter case, or None."""
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
        mixtures: Lab of measured mixtures, by their tints in percent in laying order.
        channels: The three channels of light in which areas and mixtures are reckoned.
        fused: What the dots fuse by: the eye, or a program that makes the picture smaller.
        paper_screen: The paper as the drawing program has it; measured palettes only.
    """

    stem: str
    name: str
    about: str
    kind: str
    source: str
    paper_name: str
    paper: Triple
    inks: tuple[Ink, ...]
    overprints: tuple[tuple[tuple[int, ...], Triple], ...] = ()
    yule_nielsen: float | None = None
    coverage_limit: float | None = None
    channels: Channels = "xyz"
    mixtures: tuple[tuple[tuple[float, ...], Triple], ...] = ()
    fused: Fused = "eye"
    paper_screen: Triple | None = None
    text: str = ""

    def tints_named(self, tints: Mapping[str, float]) -> tuple[float, ...] | None:
        """A recipe by the names of its inks as percent for every ink, in laying order.

        None if the palette lacks an ink that is laid, or its tint. Its other inks do not
        matter: a recipe is still in a palette that was given one more ink.
        """
        found = tuple(tints.get(ink.name, 0.0) for ink in self.inks)
        laid = sum(1 for tint in tints.values() if tint)
        on_ladder = all(t in ink.steps for t, ink in zip(found, self.inks, strict=True))
        return found if on_ladder and sum(map(bool, found)) == laid else None

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
    def rules(self) -> Kind:
        """What sets its kind apart."""
        return KINDS[self.kind]

    @property
    def n(self) -> float:
        """The Yule-Nielsen factor: as given, or that of its kind."""
        if self.yule_nielsen is not None:
            return self.yule_nielsen
        return self.rules.n if self.has_measured_tints else self.rules.n_of_gain

    @property
    def has_measured_tints(self) -> bool:
        """Whether a tint of an ink was measured, and not its solid alone."""
        return any(ink.measured or ink.ramp for ink in self.inks)

    @property
    def estimated(self) -> bool:
        """Whether an overprint of solids had to be estimated."""
        wanted = 2 ** len(self.inks) - len(self.inks) - 1
        return self.rules.overprints == "given" and len(self.overprints) < wanted

    @property
    def is_process(self) -> bool:
        """Whether every ink is one of yellow, magenta, cyan and black."""
        return all(process_ink(ink.name) for ink in self.inks)

    @property
    def black(self) -> int | None:
        """The position of black ink, or None."""
        found = (process_ink(ink.name) for ink in self.inks)
        return next((i for i, ink in enumerate(found) if ink and ink.name == "black"), None)

    @property
    def canvas(self) -> Palette | None:
        """The same ladders as layers of a drawing program, where print has its screen colours."""
        if self.paper_screen is None:
            return None
        inks = tuple(
            Ink(ink.name, ink.symbol, ink.screen, ink.tints) for ink in self.inks if ink.screen
        )
        return Palette(
            self.stem, self.name, "", "screen", "", self.paper_name, self.paper_screen, inks
        )

    @property
    def angles(self) -> tuple[float, ...]:
        """The screen angle of each ink: the file's, the conventional one, or a spare one."""
        given = [
            ink.angle if ink.angle is not None else found and found.angle
            for ink in self.inks
            for found in [process_ink(ink.name)]
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
        """A recipe in laying order, as files and the log keep it: ``yellow 100 %, magenta 50 %``.

        Args:
            tints: Percent for every ink in laying order, 0 for none.
        """
        used = [f"{ink.name} {exact(t)} %" for ink, t in zip(self.inks, tints, strict=True) if t]
        return ", ".join(used) or "bare paper"

    def recipe_words(self, tints: tuple[float, ...], *, roomy: bool = True) -> str:
        """A recipe for people, in the artist's words: ``saffron: coarse dots 71 %, slate 50 %``.

        Args:
            tints: Percent for every ink in laying order, 0 for none.
            roomy: Whether there is room for the percentages of tints that have labels.
        """
        used = [
            ink.tint_words(t, roomy=roomy) for ink, t in zip(self.inks, tints, strict=True) if t
        ]
        return ", ".join(used) or "bare paper"

    def recipe_wordings(self, tints: tuple[float, ...]) -> tuple[str, ...]:
        """A recipe for people from the longest wording to the shortest, which names its inks alone.

        Args:
            tints: Percent for every ink in laying order, 0 for none.
        """
        words = self.recipe_words(tints)
        inks = ", ".join(ink.name for ink, t in zip(self.inks, tints, strict=True) if t)
        short = self.recipe_words(tints, roomy=False)
        return (words, words.replace(" %", ""), short, inks or words)
