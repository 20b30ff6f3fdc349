"""The three ways to take a colour that was chosen on a white screen, in the standards' words.

A colour picked on a screen is meant beside the white of that screen, and print has another white.
"""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tuimatch.colour.colorimetry import Array
    from tuimatch.palette.model import Palette, Triple


class Intent(Enum):
    """How a colour is taken; the value is what options, JSON and the log call it.

    Attributes:
        words: What the interface says.
        meaning: What that does, in a few words.
    """

    ABSOLUTE = "absolute", "as given", "taken as given, whatever the paper"
    RELATIVE = "relative", "white fitted to this paper", "fitted: white is bare paper"
    RELATIVE_BLACK = (
        "relative-black",
        "fitted to this paper",
        "fitted: white is bare paper, black the darkest recipe",
    )

    words: str
    meaning: str

    def __new__(cls, value: str, words: str = "", meaning: str = "") -> Intent:
        """A member whose value is its name in the standards."""
        member = object.__new__(cls)
        member._value_ = value
        member.words, member.meaning = words, meaning
        return member

    @property
    def following(self) -> Intent:
        """The next in the cycle of a key."""
        every = list(Intent)
        return every[(every.index(self) + 1) % len(every)]


def usual(palette: Palette) -> Intent:
    """How a palette takes colours unless the artist says otherwise."""
    return Intent(palette.rules.intent)


def adapted(lab: Triple, intent: Intent, paper: Array, darkest: Array) -> Triple:
    """A colour as it is meant on a paper, CIELAB (D50) both.

    - relative: XYZ · paper / D50, channel by channel (ICC.1, media-relative colorimetry), so that
      the white of the screen becomes bare paper.
    - relative with black: before that, black point compensation of ISO 18619 from a source whose
      black is 0. With Y_black the darkest recipe's media-relative Y and a = 1 - Y_black,
      XYZ' = a · XYZ + (1 - a) · white, so that black becomes as dark as the darkest recipe.

    Args:
        lab: The colour as given.
        intent: How it is taken.
        paper: XYZ of the paper, shape (3,).
        darkest: XYZ of the darkest recipe, shape (3,); its Y counts.
    """
    if intent is Intent.ABSOLUTE:
        return lab
    from tuimatch.colour.colorimetry import D50, lab_to_xyz, xyz_to_lab

    xyz = lab_to_xyz(lab)
    if intent is Intent.RELATIVE_BLACK:
        a = 1 - darkest[1] / paper[1] if paper[1] > 0 else 0
        xyz = a * xyz + (1 - a) * D50
    lightness, green_red, blue_yellow = xyz_to_lab(xyz * paper / D50).tolist()
    return lightness, green_red, blue_yellow
