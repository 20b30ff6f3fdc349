"""How far predicted colours may be off, and which swatch would help most.

The figures are what 95 % of 125 mixtures stayed within, over 13 measured printing conditions from
newsprint to gloss, rounded up; `tests/bench/model_figures.py` shows two of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

from tuimatch.palette.process_inks import process_ink

if TYPE_CHECKING:
    from tuimatch.palette.model import Palette

_ESTIMATED, _GAIN_ONLY, _SWATCHES, _CHART = 10.0, 3.0, 2.0, 0.5
ESTIMATED_IN_WORDS = (
    f"Estimated: overprints were not measured, colours may be about {_ESTIMATED:g} ΔE off."
)
# A chart is enough to say so from this many mixtures: with 150 of them, taken at random from the
# charts of TR 002 and TR 003, 95 % of the others were within 0.15 to 0.6 ΔE.
CHART = 200

Mixture = dict[str, float]  # percent by the name of a process ink

_GREY: Mixture = {"yellow": 50, "magenta": 50, "cyan": 50}
_RED: Mixture = {"yellow": 50, "magenta": 50}
_BROWN: Mixture = {"yellow": 50, "magenta": 100, "cyan": 50}
# Sets of mixtures to measure besides paper, solids, overprints and single tints, and the
# uncertainty with all of a set.
_SETS: tuple[tuple[float, tuple[Mixture, ...]], ...] = (
    (1.6, (_GREY,)),
    (1.4, (_GREY, _RED, {"yellow": 100, "cyan": 50}, _BROWN)),
    (
        1.3,
        (
            _GREY,
            _RED,
            {"yellow": 50, "cyan": 50},
            {"magenta": 50, "cyan": 50},
            {"yellow": 100, "magenta": 100, "cyan": 50},
            {"yellow": 100, "magenta": 50, "cyan": 100},
            {"yellow": 50, "magenta": 100, "cyan": 100},
        ),
    ),
)
# A tint this near to the one of a set stands in for it, where the ladder has no 50 %.
_NEAR = 20


def uncertainty(palette: Palette) -> float | None:
    """The CIEDE2000 that 95 % of the colours stay within; None on a screen, which is exact."""
    if palette.rules.overprints != "given":
        return None
    if palette.estimated:
        return _ESTIMATED
    if not palette.has_measured_tints:
        return _GAIN_ONLY
    if len(palette.mixtures) >= CHART:
        return _CHART
    reached = [least for least, missing in _missing(palette) if not missing]
    return min(reached, default=_SWATCHES)


def next_mixtures(palette: Palette) -> tuple[float, tuple[tuple[float, ...], ...]] | None:
    """The mixtures to measure next, the one that helps most first, and the uncertainty with them.

    Returns:
        The uncertainty, and percent for every ink in laying order; None where paper, solids and
        tints come first, or nothing but a whole chart would help.
    """
    now = uncertainty(palette)
    if now is None or now > _SWATCHES:
        return None
    return next(((least, missing) for least, missing in _missing(palette) if least < now), None)


def all_mixtures(palette: Palette) -> tuple[tuple[float, ...], ...]:
    """Every mixture worth measuring on a chart of one's own, percent in laying order.

    The largest set that the inks can make; of inks that are not process inks, the halves of two.
    """
    sets = [missing for _, missing in _missing(replace(palette, mixtures=()))]
    if sets:
        return max(sets, key=len)
    inks = palette.inks
    return tuple(
        tuple(_on_ladder(50 if i in pair else 0, ink.tints) for i, ink in enumerate(inks))
        for pair in combinations(range(len(inks)), 2)
    )


def in_words(palette: Palette) -> str:
    """The uncertainty after the name of a palette, or nothing on a screen."""
    off = uncertainty(palette)
    if off is None:
        return ""
    estimated = ", overprints estimated" if palette.estimated else ""
    return f"{estimated}, prints within ΔE {off:g}"


def _missing(palette: Palette) -> Iterator[tuple[float, tuple[tuple[float, ...], ...]]]:
    """For each set that a palette's inks can make: its uncertainty and what is not measured yet."""
    found = [process_ink(ink.name) for ink in palette.inks]
    names = [ink.name if ink else "" for ink in found]
    for least, mixtures in _SETS:
        own = [mixture for mixture in mixtures if set(mixture) <= set(names)]
        if not own or not palette.is_process:
            continue
        yield (
            least,
            tuple(
                tuple(
                    _on_ladder(mixture.get(name, 0), ink.tints)
                    for name, ink in zip(names, palette.inks, strict=True)
                )
                for mixture in own
                if not any(_stands_for(tints, mixture, names) for tints, _ in palette.mixtures)
            ),
        )


def _on_ladder(tint: float, ladder: tuple[float, ...]) -> float:
    """The ladder's tint nearest to 50 % for a half; 0 and 100 % stay."""
    partial = [own for own in ladder if own < 100 and abs(own - 50) <= _NEAR]
    return min(partial, key=lambda own: abs(own - tint)) if tint == 50 and partial else tint


def _stands_for(tints: tuple[float, ...], mixture: Mixture, names: list[str]) -> bool:
    return all(
        abs(tint - 50) <= _NEAR if mixture.get(name, 0) == 50 else tint == mixture.get(name, 0)
        for name, tint in zip(names, tints, strict=True)
    )
