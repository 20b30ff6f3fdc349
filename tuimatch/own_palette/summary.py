"""What a palette file holds and what is doubtful in it, in words."""

from __future__ import annotations

from tuimatch.own_palette.warnings import doubts
from tuimatch.palette import uncertainty
from tuimatch.palette.model import Palette
from tuimatch.recipe.channels import ENCODED, SHARP
from tuimatch.recipe.halftone import channels_of
from tuimatch.text import percent, printable


def summary(file: str, palette: Palette) -> list[str]:
    """Say it line by line; `file` is the name that the artist gave."""
    said = [
        f"{file}: a correct palette, {palette.recipe_count:,} recipes",
        f"  {palette.name}: {palette.kind}, on {palette.paper_name}, {_channels(palette)}",
    ]
    for ink in palette.inks:
        tints = " ".join(map(percent, ink.tints))
        measured = f", {len(ink.measured)} tints given as colours" if ink.measured else ""
        gain = f", gain {ink.gain:g}" if ink.gain is not None and not ink.measured else ""
        said.append(f"  {ink.name} ({ink.symbol}): {tints} %{measured}{gain}")
    if palette.rules.overprints == "given":
        mixtures = f", {len(palette.mixtures):,} measured mixtures" if palette.mixtures else ""
        given = f"{len(palette.overprints)} overprints given{mixtures}"
        said.append(f"  {given}, source {palette.source}")
    if palette.coverage_limit is not None:
        said.append(f"  coverage limit {percent(palette.coverage_limit)} %")
    said += _trust(palette)
    said += [f"  doubtful: {doubt}" for doubt in doubts(palette)]
    return [printable(line) for line in said]


def _channels(palette: Palette) -> str:
    """Which channels its colours are worked out in."""
    channels = channels_of(palette)
    if channels is SHARP:
        return "sharp channels"
    return (
        "mixed as a program does when it resizes" if channels is ENCODED else f"n = {palette.n:g}"
    )


def _trust(palette: Palette) -> list[str]:
    """How far colours may be off, and what would bring them nearer."""
    off, said = uncertainty.uncertainty(palette), []
    if off is not None:
        why = ", estimated, as overprints are missing" if palette.estimated else ""
        said.append(f"  95 % of the colours print within about ΔE {off:g}{why}")
    following = uncertainty.next_mixtures(palette)
    if following is not None:
        least, mixtures = following
        first = palette.recipe_text(mixtures[0])
        more = f" and {len(mixtures) - 1} more" if len(mixtures) > 1 else ""
        said.append(f"  measure next: {first}; with it{more} within ΔE {least:g}")
        said += [f"    then: {palette.recipe_text(tints)}" for tints in mixtures[1:]]
    return said
