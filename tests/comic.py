"""The invented comic 'Nine Lamps of Ferrow': python tests/comic.py FILE.

A .sqlite file becomes its log, a .png file its page 10 as flats under line art (`comic_page`).

In the harbour town of Ferrow nine lamps keep the fog away. Oda lights them, until the fourth stays
dark. The interior is printed on newsprint, the cover drawn on screen layers, and page 8, a leaf
from the harbour ledger, in the two inks of a zine. Some entries are there for the checks to find:
Oda's coat has one recipe too many, and the signal flag is too near the lamp flame.
"""

from __future__ import annotations

import sys
from pathlib import Path

import comic_page

from tuimatch.colour import target
from tuimatch.log import Log, new_choice
from tuimatch.match import ranking
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Triple
from tuimatch.recipe import recipes

PROJECT = "ferrow"
TITLE = "Nine Lamps of Ferrow"

_COVER, _PAGES, _LEAF = "screen-quarters", "newsprint-quarters", "zine-two-inks"

# Page, palette, label, target, note.
ENTRIES = (
    ("cover", _COVER, "title", "#c8322d", "drawn by hand, no outline"),
    ("cover", _COVER, "lamp flame", "#f6b73c", ""),
    ("cover", _COVER, "lamp glass", "#f3e3a1", "brightest thing on the page"),
    ("cover", _COVER, "Oda's coat", "#8c3b3f", "wet side"),
    ("cover", _COVER, "Oda's skin", "#c98f6b", ""),
    ("cover", _COVER, "fog, near", "#b9c4c2", ""),
    ("cover", _COVER, "fog, far", "#dfe3dc", ""),
    ("cover", _COVER, "night sea", "#1f3b57", ""),
    ("cover", _COVER, "harbour wall", "#6f6a63", ""),
    ("cover", _COVER, "signal flag", "#f4b440", "hoisted upside down"),
    ("1", _PAGES, "dawn sky", "#e8c9a0", ""),
    ("1", _PAGES, "sea, calm", "#7d9ba3", ""),
    ("1", _PAGES, "wet quay", "#7b7468", "sky shows in it"),
    ("1", _PAGES, "gull", "#e4ded0", ""),
    ("1", _PAGES, "gull's beak", "#d99a3e", ""),
    ("1", _PAGES, "Oda's coat", "#9a4a45", ""),
    ("1", _PAGES, "Oda's skin", "#c79a78", ""),
    ("1", _PAGES, "ladder", "#8a6a45", ""),
    ("1", _PAGES, "lamp post", "#56645c", ""),
    ("2", _PAGES, "lamp glass", "#e9d79a", "lit"),
    ("2", _PAGES, "lamp glass, dark", "#9aa08c", "the fourth lamp"),
    ("2", _PAGES, "brass", "#b98d3c", ""),
    ("2", _PAGES, "oil can", "#5d7a6a", ""),
    ("2", _PAGES, "rope", "#c2a878", ""),
    ("2", _PAGES, "Oda's hair", "#5a4038", ""),
    ("2", _PAGES, "Oda's coat", "#a8584c", "too light, redo"),
    ("2", _PAGES, "fog, near", "#b4b8ac", ""),
    ("2", _PAGES, "roof tiles", "#b0614a", ""),
    ("3", _PAGES, "harbour master's cap", "#3f5666", ""),
    ("3", _PAGES, "harbour master's beard", "#cfc6b4", ""),
    ("3", _PAGES, "ledger, cover", "#5f7f58", "never bluer than the oil can"),
    ("3", _PAGES, "ledger, page", "#e6d8b0", ""),
    ("3", _PAGES, "ink stain", "#4d4a5e", ""),
    ("3", _PAGES, "desk", "#8d6038", ""),
    ("3", _PAGES, "window, night", "#4a6275", ""),
    ("3", _PAGES, "candle", "#ead08a", ""),
    ("4", _PAGES, "stairs", "#8f897c", ""),
    ("4", _PAGES, "moss", "#8a9a52", ""),
    ("4", _PAGES, "iron door", "#5e5a58", ""),
    ("4", _PAGES, "lantern light on stone", "#d8b36a", ""),
    ("4", _PAGES, "shadow on stone", "#6a6672", ""),
    ("4", _PAGES, "Oda's scarf", "#d8a13a", ""),
    ("4", _PAGES, "rat", "#77695e", ""),
    ("5", _PAGES, "storm sky", "#66727a", ""),
    ("5", _PAGES, "lightning", "#f0e6b8", ""),
    ("5", _PAGES, "sea, rough", "#4f7a7c", ""),
    ("5", _PAGES, "foam", "#dcdccc", ""),
    ("5", _PAGES, "fishing boat", "#b55a3e", ""),
    ("5", _PAGES, "sail", "#dcc493", ""),
    ("5", _PAGES, "signal flag, red", "#c4484a", ""),
    ("5", _PAGES, "signal flag, blue", "#4f78a0", ""),
    ("6", _PAGES, "lens", "#a8c4b8", ""),
    ("6", _PAGES, "lens, edge", "#6fa08e", ""),
    ("6", _PAGES, "sparks", "#efc24e", ""),
    ("6", _PAGES, "Oda's glove", "#a5714a", ""),
    ("6", _PAGES, "machine grease", "#54504a", ""),
    ("6", _PAGES, "copper pipe", "#c07850", ""),
    ("7", _PAGES, "morning sea", "#8fb0a6", ""),
    ("7", _PAGES, "morning fog", "#dcd6c4", "thin, at last"),
    ("7", _PAGES, "market awning", "#c95f4a", ""),
    ("7", _PAGES, "mackerel", "#7f95a0", ""),
    ("7", _PAGES, "oranges", "#e0863a", ""),
    ("8", _LEAF, "ledger, ruled lines", "#a8c8c8", ""),
    ("8", _LEAF, "ledger, writing", "#2f5a70", ""),
    ("8", _LEAF, "ledger, red mark", "#e05a48", "the fourth lamp again"),
    ("8", _LEAF, "", "#f2b8a0", ""),
    ("8", _LEAF, "ledger, shadow", "#6a5a68", ""),
    ("9", _PAGES, "sky, high", "#9fa9a8", "the ninth lamp is lit"),
    ("9", _PAGES, "sky, low", "#e2a878", ""),
    ("9", _PAGES, "cloud, lit", "#e8cfa4", ""),
    ("9", _PAGES, "sun", "#f0d080", ""),
    ("9", _PAGES, "sea, evening", "#6f8a90", ""),
    ("9", _PAGES, "sea, near", "#4f6f7c", ""),
    ("9", _PAGES, "sun on water", "#e6c878", ""),
    ("9", _PAGES, "quay", "#8a8478", ""),
    ("9", _PAGES, "quay, shadow", "#64626a", ""),
    ("9", _PAGES, "roof tiles", "#b0614a", ""),
    ("9", _PAGES, "house, lit", "#d8b890", ""),
    ("9", _PAGES, "house, shadow", "#8f7a6a", ""),
    ("9", _PAGES, "window, lit", "#eccf60", ""),
    ("9", _PAGES, "fishing boat", "#b55a3e", ""),
    ("9", _PAGES, "rope", "#c2a878", ""),
    ("9", _PAGES, "lamp post", "#56645c", ""),
    ("9", _PAGES, "lamp glass", "#e9d79a", "lit"),
    ("9", _PAGES, "Oda's coat", "#9a4a45", ""),
    ("9", _PAGES, "Oda's skin", "#c79a78", ""),
    ("9", _PAGES, "Oda's hair", "#5a4038", ""),
    ("9", _PAGES, "Oda's scarf", "#d8a13a", ""),
    ("9", _PAGES, "gull", "#e4ded0", ""),
)


def make(log: Log) -> None:
    """Keep every entry, each the nearest recipe of its palette but for a few by hand."""
    mixed = {name: recipes.mix(palette_file.load(name)) for name in (_COVER, _PAGES, _LEAF)}
    for page, name, label, text, note in ENTRIES:
        of = mixed[name]
        wanted = target.parse(text)
        (nearest,) = ranking.rank(wanted, of, top=1).candidates
        log.keep(
            of.palette,
            new_choice(
                of.palette,
                of.tints_of(nearest.row),
                project=PROJECT,
                target_text=wanted.text,
                target_lab=wanted.lab,
                lab=_triple(of.lab[nearest.row].tolist()),
                srgb=of.rgb_of(nearest.row),
                delta_e=nearest.delta_e,
                label=label,
                page=page,
                note=note,
            ),
        )


def _triple(values: list[float]) -> Triple:
    lightness, a, b = values
    return lightness, a, b


if __name__ == "__main__":
    if len(sys.argv) != 2 or Path(sys.argv[1]).exists():
        sys.exit("give a file that is not there yet: python tests/comic.py ferrow.sqlite")
    if sys.argv[1].endswith(".png"):
        comic_page.draw(line=3).save(sys.argv[1])
    else:
        with Log(Path(sys.argv[1])) as opened:
            make(opened)
