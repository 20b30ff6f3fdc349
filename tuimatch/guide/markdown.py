"""The guide as Markdown: a table for each page."""

from __future__ import annotations

import re

from tuimatch.guide.sheet import NO_PROOF, Entry, Sheet, Used, page_title
from tuimatch.text import printable

_SPECIAL = re.compile(r"([\\`*_{}\[\]()#+!|~<>&$-])")


def to_markdown(sheet: Sheet) -> str:
    """The guide as the text of a Markdown file; foreign text in it stays text."""
    lines = [f"# Colour guide: {_text(sheet.project)}", ""]
    count = len(sheet.entries)
    lines += [f"{count} colours, {sheet.made_at[:10]}. {NO_PROOF}", ""]
    for page, entries in sheet.pages:
        lines += [f"## {_text(page_title(page))}", ""]
        lines += ["| label | lay in this order | ΔE | sRGB | wanted | palette | remarks |"]
        lines += ["|---|---|---:|---|---|---|---|"]
        lines += [_row(entry) for entry in entries] + [""]
    lines += ["## Palettes", ""]
    for used in sheet.palettes:
        lines += [*_palette(used), ""]
    return "\n".join(lines).rstrip("\n") + "\n"


def _row(entry: Entry) -> str:
    choice = entry.choice
    laying = ", ".join(f"{n}. {_text(lay.text)}" for n, lay in enumerate(entry.laying, 1))
    remarks = " ".join(filter(None, (_text(choice.note), *map(_text, entry.cautions))))
    cells = (
        _text(choice.label),
        laying or "bare paper",
        f"{choice.delta_e:.2f}",
        f"`{printable(choice.srgb)}`",
        _text(choice.wanted),
        _text(choice.palette),
        remarks,
    )
    return "| " + " | ".join(cells) + " |"


def _palette(used: Used) -> list[str]:
    lines = [f"### {_text(used.stem)}", ""]
    if used.palette is not None:
        palette = used.palette
        source = f"source: {_text(palette.source)}" if palette.source else "not measured"
        lines += [f"{_text(palette.name)}, on {_text(palette.paper_name)}; {source}.", ""]
        for number, ink in enumerate(palette.inks, 1):
            tints = ", ".join(_text(ink.tint_words(tint, named=False)) for tint in ink.tints)
            lines.append(f"{number}. {_text(ink.name)}: {tints}")
    lines += [f"\n{_text(caution)}" for caution in used.cautions]
    return lines


def _text(text: str) -> str:
    return _SPECIAL.sub(r"\\\1", printable(text))
