"""What a palette file holds and what is doubtful in it, in words."""

from __future__ import annotations

from tuimatch.own_palette.warnings import doubts
from tuimatch.palette.model import Palette
from tuimatch.text import percent, printable


def summary(file: str, palette: Palette) -> list[str]:
    """Say it line by line; `file` is the name that the artist gave."""
    said = [
        f"{file}: a correct palette, {palette.recipe_count:,} recipes",
        f"  {palette.name}: {palette.kind}, on {palette.paper_name}, n = {palette.n:g}",
    ]
    for ink in palette.inks:
        tints = " ".join(map(percent, ink.tints))
        measured = f", {len(ink.measured)} tints given as colours" if ink.measured else ""
        gain = f", gain {ink.gain:g}" if ink.gain is not None and not ink.measured else ""
        said.append(f"  {ink.name} ({ink.symbol}): {tints} %{measured}{gain}")
    if palette.kind == "measured":
        said.append(f"  {len(palette.overprints)} overprints given, source {palette.source}")
    if palette.coverage_limit is not None:
        said.append(f"  coverage limit {percent(palette.coverage_limit)} %")
    if palette.estimated:
        said.append("  estimated: overprints are missing, so colours may be about 10 ΔE off")
    said += [f"  doubtful: {doubt}" for doubt in doubts(palette)]
    return [printable(line) for line in said]
