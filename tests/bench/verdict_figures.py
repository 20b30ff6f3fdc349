"""Counts of the three verdicts: python tests/bench/verdict_figures.py.

CSS's named colours (CSS Color 4, 6.1), and 200 muted ones: OKLCH with lightness 0.2 to 0.95, chroma
up to 0.1 and any hue, uniform, from a fixed seed; those that sRGB cannot hold are drawn again. For
each shipped process palette, as measured and as it usually takes colours. What was called "out of
reach" before there were three verdicts is "over 5", as measured: between and beyond together.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
from coloraide import Color
from coloraide.css import color_names

from tuimatch.colour import target
from tuimatch.colour.intent import Intent, usual
from tuimatch.colour.target import Target
from tuimatch.match.answer import Question, known, match
from tuimatch.match.limits import start
from tuimatch.match.verdict import Reached
from tuimatch.palette import file as palette_file
from tuimatch.recipe.recipes import mix

PALETTES = ("screen-quarters", "newsprint-quarters", "newsprint-sixty-four", "coated-tenths")


def named() -> list[Target]:
    """The named colours, those with two names once."""
    names = {value[:3]: name for name, value in color_names.name2val_map.items() if value[3]}
    return [target.parse(name) for name in names.values()]


def muted(count: int = 200, seed: int = 12) -> list[Target]:
    """Colours of little chroma that sRGB holds."""
    rng = np.random.default_rng(seed)
    found: list[Target] = []
    while len(found) < count:
        lightness, chroma, hue = rng.uniform((0.2, 0, 0), (0.95, 0.1, 360))
        if Color("oklch", [lightness, chroma, hue]).in_gamut("srgb"):
            found.append(target.parse(f"oklch({lightness:.4f} {chroma:.4f} {hue:.2f})"))
    return found


def main() -> None:
    """Print the table."""
    sets = {"named": named(), "muted": muted()}
    print(f"{'palette':22}{'taken':16}{'colours':14}over 5  within  between  beyond")
    for stem in PALETTES:
        palette = palette_file.load(stem)
        recipes = mix(palette)
        for intent in dict.fromkeys((Intent.ABSOLUTE, usual(palette))):
            for name, colours in sets.items():
                counts: Counter[Reached] = Counter()
                for colour in colours:
                    question = Question(colour, narrowing=start(palette), intent=intent)
                    judged = match(recipes, question, known(recipes), top=1).verdict
                    assert judged is not None
                    counts[judged.reached] += 1
                over = counts[Reached.BETWEEN] + counts[Reached.BEYOND]
                print(
                    f"{stem:22}{intent.value:16}{len(colours):4} {name:9}{over:6}"
                    + "".join(f"{counts[one]:8}" for one in Reached)
                )


if __name__ == "__main__":
    main()
