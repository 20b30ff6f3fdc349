"""A difference in words: lighter or darker, more vivid or duller, and the hue it leans toward."""

from __future__ import annotations

from collections.abc import Iterator
from math import atan2, degrees, hypot

from tuimatch.palette.model import Triple

# The unique hues of CIECAM02 (CIE 159:2004, table of unique hue data: 20.14, 90.00, 164.25 and
# 237.53 degrees); near enough in CIELAB to say which way a hue turns.
UNIQUE_HUES = (("red", 20.14), ("yellow", 90.0), ("green", 164.25), ("blue", 237.53))

# What people call a hue, each up to a CIELAB angle in degrees: the unique hues, and what lies
# between them. Where one ends is common practice, no source. Printers know magenta from red. Blue
# ends late: in CIELAB a full blue stands as far as 301 degrees, where a light colour is purple.
_NAMES = (
    *(
        (5.0, "magenta"),
        (42.0, "red"),
        (77.0, "orange"),
        (111.0, "yellow"),
        (128.0, "yellow-green"),
    ),
    *(
        (186.0, "green"),
        (230.0, "blue-green"),
        (306.0, "blue"),
        (325.0, "purple"),
        (360.0, "magenta"),
    ),
)
# What a hue can turn toward, and how that is said.
_TOWARD = (*UNIQUE_HUES, ("magenta", 350.0))
_TURNED = {
    "red": "redder",
    "yellow": "yellower",
    "green": "greener",
    "blue": "bluer",
    "magenta": "more magenta",
}

# Below this chroma a colour counts as neutral: it has no hue to turn or to lean toward, only a
# tinge that it takes on or loses.
NEUTRAL_CHROMA = 4.0

# What a colour without a hue is called, each up to a lightness, and where others are dark, light,
# greyish or vivid (common practice, no source).
_GREYS = (
    (15.0, "black"),
    (40.0, "dark grey"),
    (70.0, "grey"),
    (92.0, "light grey"),
    (1e9, "white"),
)
_DARK_BELOW, _LIGHT_FROM, _GREYISH_BELOW, _VIVID_FROM = 40.0, 75.0, 20.0, 70.0
# A light purple reaches further toward blue, and a dark one further toward magenta.
_LIGHT_PURPLE_FROM, _DARK_PURPLE_TO = 295.0, 340.0

# Sizes of ΔE in words: common practice, not a standard.
SAME_BELOW = 1.0
_SLIGHT_BELOW = 2.0
_MUCH_FROM = 5.0


def size_in_words(delta_e: float) -> str:
    """How large a difference looks (common practice, not a standard)."""
    if delta_e < SAME_BELOW:
        return "no difference to the eye"
    if delta_e < _SLIGHT_BELOW:
        return "seen only side by side"
    if delta_e < _MUCH_FROM:
        return "a visible difference"
    return "another colour"


def differs(
    target: Triple, sample: Triple, delta_e: float, lightness: float, chroma: float, hue: float
) -> str:
    """How a sample differs from a target, the largest part first; empty below ΔE 1.

    Args:
        target: Lab of the target; `sample` likewise.
        delta_e: Plain CIEDE2000.
        lightness: ΔL' / S_L, positive where the sample is lighter.
        chroma: ΔC' / S_C, positive where the sample is more vivid.
        hue: ΔH' / S_H, positive where the sample's hue angle is larger.
    """
    if delta_e < SAME_BELOW:
        return ""
    parts = [(abs(lightness), "lighter" if lightness > 0 else "darker")]
    if hypot(target[1], target[2]) < NEUTRAL_CHROMA:
        tinged = chroma > 0 or abs(hue) > abs(chroma)
        parts.append((hypot(chroma, hue), _tinge(sample) if tinged else "duller"))
    elif hypot(sample[1], sample[2]) < NEUTRAL_CHROMA:
        parts.append((hypot(chroma, hue), "duller"))
    else:
        parts.append((abs(chroma), "more vivid" if chroma > 0 else "duller"))
        parts.append((abs(hue), _hue_word(target, hue)))
    parts.sort(key=lambda part: -part[0])
    largest = parts[0][0]
    # What is small beside the largest part is not what the eye sees first.
    said = [part for part in parts if part[0] >= max(0.5, largest / 4) or part is parts[0]]
    return ", ".join(_sized(size, word) for size, word in said)


def fewer(words: str, room: int) -> str:
    """As much of a difference in words as there is room for: fewer words rather than cut ones.

    Args:
        words: As `differs` gives them, the largest part first.
        room: In characters.
    """
    return next((said for said in shorter(words) if len(said) <= room), "")


def shorter(words: str) -> Iterator[str]:
    """A difference in ever fewer words: first without the sizes, then without the least part."""
    parts = words.split(", ")
    for count in range(len(parts), 0, -1):
        said = ", ".join(parts[:count])
        plain = said.replace("slightly ", "")
        yield from (said, plain, plain.replace("much ", ""))


def colour_name(lab: Triple) -> str:
    """What a colour may be called in a word or two, such as ``dark red`` (common practice).

    Args:
        lab: CIELAB under D50.
    """
    lightness, a, b = lab
    chroma, angle = hypot(a, b), degrees(atan2(b, a)) % 360
    hue, is_dark = hue_name(angle), lightness < _DARK_BELOW
    if (hue == "blue" and angle > _LIGHT_PURPLE_FROM and not is_dark) or (
        hue == "magenta" and 180 < angle <= _DARK_PURPLE_TO and is_dark
    ):
        hue = "purple"
    if chroma < NEUTRAL_CHROMA:
        return next(name for most, name in _GREYS if lightness <= most)
    if hue == "orange" and lightness < _DARK_BELOW + 10 and chroma < _VIVID_FROM:
        return "brown"
    if hue in ("red", "magenta") and lightness > _LIGHT_FROM:
        return "pink"
    if chroma >= _VIVID_FROM:  # a full yellow is light and a full blue dark by nature
        return hue
    if is_dark or lightness > _LIGHT_FROM:
        return f"{'dark' if is_dark else 'light'} {hue}"
    return f"greyish {hue}" if chroma < _GREYISH_BELOW else hue


def hue_name(angle: float) -> str:
    """What a CIELAB hue angle in degrees is called: a unique hue, or what lies between two."""
    return next(name for most, name in _NAMES if angle % 360 <= most)


def _sized(size: float, word: str) -> str:
    if size < _SLIGHT_BELOW:
        return f"slightly {word}"
    return f"much {word}" if size >= _MUCH_FROM else word


def _tinge(sample: Triple) -> str:
    return f"tinged {hue_name(degrees(atan2(sample[2], sample[1])))}"


def _hue_word(target: Triple, hue: float) -> str:
    """The next hue in the direction of the turn: a unique one, or magenta."""
    angle = degrees(atan2(target[2], target[1])) % 360
    ways = [((hue_at - angle) * (1 if hue > 0 else -1) % 360, name) for name, hue_at in _TOWARD]
    # A hue that stands on one of them already turns toward the one after it.
    return _TURNED[min(((way, name) for way, name in ways if way > 3), default=ways[0])[1]]
