"""The kinds of palette: what sets each apart, as one value, asked wherever the kind matters.

A new kind is a new value here. Only if its solids overprint by a rule of their own does it need
more: that rule, in `recipe.halftone.primaries`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Kind:
    """One kind of palette.

    Attributes:
        name: As the file spells it.
        colour: How its colours are given, and the key they are under: CIELAB (D50) or 8-bit sRGB.
        overprints: Where the overprints of solids come from: the file, or the multiply blend.
        keys: The keys of its file, besides those that every kind has.
        ink_keys: The keys of an ink, besides those that every kind has and the key of its colour.
        paper_keys: The keys of the paper, likewise.
        needs_source: Whether it must say where its figures come from.
        n: The Yule-Nielsen factor where tints are measured; `n_of_gain` where only a gain is known.
        fused: How its dots may fuse: by the eye, or also by a program that makes a picture smaller.
        intent: How a target is taken unless the artist says otherwise, in the ICC's words.
    """

    name: str
    colour: Literal["lab", "srgb"]
    overprints: Literal["given", "multiplied"]
    keys: tuple[str, ...]
    ink_keys: tuple[str, ...]
    paper_keys: tuple[str, ...]
    needs_source: bool
    n: float
    n_of_gain: float
    fused: tuple[str, ...]
    intent: Literal["absolute", "relative-black"]


SCREEN = Kind(
    name="screen",
    colour="srgb",
    overprints="multiplied",
    keys=("fused",),
    ink_keys=(),
    paper_keys=(),
    needs_source=False,
    n=1.0,
    n_of_gain=1.0,
    fused=("eye", "resized"),
    intent="absolute",
)
MEASURED = Kind(
    name="measured",
    colour="lab",
    overprints="given",
    keys=("channels", "overprints", "measured_mixtures"),
    ink_keys=("measured", "ramp", "screen"),
    paper_keys=("screen",),
    needs_source=True,
    n=1.5,
    n_of_gain=2.0,
    fused=("eye",),
    intent="relative-black",
)
KINDS = {kind.name: kind for kind in (MEASURED, SCREEN)}
