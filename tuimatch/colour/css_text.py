"""The grammar of a colour: what CSS Color 4 can write, and the habits people have.

Only the text is understood here; `target` turns it into CIELAB. That keeps a wrong colour on the
command line from waiting for colour-science.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Literal, NamedTuple

from tuimatch.errors import TargetError
from tuimatch.palette.model import Triple
from tuimatch.text import has_unsafe

if TYPE_CHECKING:
    from coloraide import Color

MAX_LENGTH = 120
_HINT = "give a colour such as #d94f2a, tomato, rgb(217 79 42), lab(53 51 46) or oklch(0.6 0.17 40)"

_HEX = re.compile(r"#?((?:[0-9a-f]{3,4}){1,2}|[0-9a-f]{2}(?: [0-9a-f]{2}){2,3})", re.I)
_SIX_DIGITS = re.compile("#[0-9a-f]{6}")
# The lightness of white.
_WHITE = {"lab": 100.0, "lch": 100.0, "oklab": 1.0, "oklch": 1.0}
# What a panel of styles gives along with the colour.
_DECLARATION = re.compile(r"^(?:[a-z-]*color|background|fill|stroke)\s*:\s*", re.I)
_THREE_NUMBERS = re.compile(r"(\d{1,3})(?:\s*,\s*|\s+)(\d{1,3})(?:\s*,\s*|\s+)(\d{1,3})")


class ColourText(NamedTuple):
    """A colour as written.

    Attributes:
        text: The text; every run of white space is one space, none around it.
        space: The space of the coordinates; everything CSS can write is brought to one of them.
        coordinates: sRGB 0…1, CIELAB (D50), or XYZ under D65 with Y = 1 for white.
    """

    text: str
    space: Literal["srgb", "lab", "xyz-d65"]
    coordinates: Triple


def read(text: str) -> ColourText:
    """Read the text of a colour.

    Raises:
        TargetError: It is not a colour or is not opaque.
    """
    shown = " ".join(text.split())
    if len(shown) > MAX_LENGTH:
        raise TargetError(shown, f"is too long for a colour; {_HINT}")
    if not shown or has_unsafe(shown):
        raise TargetError(shown, f"is not a colour; {_HINT}")
    regular = _regular(shown)
    if _SIX_DIGITS.fullmatch(regular):
        # The usual form need not wait for the library; it gives what rgb() gives there, to the bit.
        red, green, blue = (n * (1 / 255) for n in bytes.fromhex(regular[1:]))
        return ColourText(shown, "srgb", (red, green, blue))
    from coloraide import Color

    try:
        colour = Color(regular)
    except ValueError as error:
        raise TargetError(shown, f"is not a colour; {_HINT}") from error
    alpha = colour.alpha(nans=False)
    if alpha < 1:
        opaque = int(alpha * 100)  # never rounded up to 100
        raise TargetError(
            shown, f"is {opaque}% opaque; ink has no transparency, so give the colour as it looks"
        )
    if any(map(math.isinf, colour.coords())):  # an infinite hue would be read as some grey
        raise TargetError(shown, f"is not a colour; {_HINT}")
    _clamp(colour, is_rgb=regular.startswith("rgb"))
    space = _common_space(colour.space())
    try:
        first, second, third = (float(x) for x in colour.convert(space).coords(nans=False))
    except OverflowError as error:  # a coordinate such as 1e200
        raise TargetError(shown, f"is not a colour; {_HINT}") from error
    return ColourText(shown, space, (first, second, third))


def _clamp(colour: Color, *, is_rgb: bool) -> None:
    """Bring values into their range as CSS Color 4 does where it reads them; ``none`` stays.

    rgb() to its range (5.1); saturation of hsl() from 0 (7.1, from memory); lightness of lab() and
    lch() (9.3), oklab() and oklch() (9.4, both from memory) to 0…100 %, their chroma from 0.
    """
    space = colour.space()
    if is_rgb:
        colour.clip()
    if space in _WHITE:
        colour[0] = min(max(colour[0], 0.0), _WHITE[space])
    if space in ("hsl", "lch", "oklch"):
        colour[1] = max(colour[1], 0.0)


def _common_space(space: str) -> Literal["srgb", "lab", "xyz-d65"]:
    # Spaces that are sRGB or CIELAB written another way stay there, so that no adaptation of the
    # library's own comes between the text and our matrix.
    if space in ("srgb", "hsl", "hwb"):
        return "srgb"
    return "lab" if space in ("lab", "lch") else "xyz-d65"


def _regular(text: str) -> str:
    """The value as CSS would have written it: no property, no quotes, '#' before hex digits."""
    text = _DECLARATION.sub("", text.strip("'\"; \t"))
    if hexadecimal := _HEX.fullmatch(text):
        digits = hexadecimal[1]
        # "10 20 30" are three numbers; "d9 4f 2a" and "#10 20 30" are hex digits in pairs.
        if " " not in digits or text.startswith("#") or not digits.replace(" ", "").isdigit():
            return "#" + digits.replace(" ", "").lower()
    numbers = _THREE_NUMBERS.fullmatch(text)
    if numbers and max(map(int, numbers.groups())) <= 255:
        return f"rgb({numbers[1]} {numbers[2]} {numbers[3]})"
    # People write names with spaces; functions keep theirs.
    return text.lower() if "(" in text else re.sub(r"[\s_-]+", "", text).lower()
