"""The guide as one self-contained HTML file that prints well on A4 and Letter."""

from __future__ import annotations

import base64
import io
from html import escape
from typing import TYPE_CHECKING

from tuimatch.colour.difference_words import size_in_words
from tuimatch.guide.sheet import NO_PROOF, Entry, Sheet, Used, page_title
from tuimatch.text import hexed, percent, printable

if TYPE_CHECKING:
    from tuimatch.recipe.dots import Picture

# Nothing is loaded and nothing runs, whatever a label holds.
_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"

_STYLE = """
* { box-sizing: border-box; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
@page { margin: 13mm 12mm; }
body { margin: 0 auto; max-width: 60rem; padding: 1.5rem; background: #fff; color: #222;
  font: 14px/1.4 "Helvetica Neue", Arial, "Liberation Sans", sans-serif;
  overflow-wrap: anywhere; }
h1 { font-size: 1.7rem; margin: 0; }
h2 { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0 1rem;
  font-size: 1.1rem; margin: 1.6rem 0 .6rem; border-bottom: 1px solid #888; break-after: avoid; }
h2 small { font-weight: normal; color: #444; }
h3 { font-size: 1rem; margin: 0; }
p { margin: .2rem 0; }
.caution { border: 1px solid #888; padding: .4rem .7rem; margin: .7rem 0; }
.entries { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(19rem, 100%), 1fr));
  gap: .9rem 1.2rem; }
.entry { display: grid; grid-template-columns: 7.5rem minmax(0, 1fr); gap: .1rem .8rem;
  break-inside: avoid; align-content: start; }
.picture { width: 7.5rem; }
.swatch { display: flex; height: 3.4rem; }
.swatch div { flex: 1; }
.swatch .chosen { flex: 3; }
.dots { display: block; width: 7.5rem; height: 5rem; }
.no-dots { height: 5rem; border: 1px dashed #888; color: #555; font-size: .8rem; padding: .4rem; }
ol { margin: .15rem 0; padding-left: 1.3rem; }
.facts span { white-space: nowrap; }
.remark { font-size: .86rem; font-weight: bold; }
.palette { break-inside: avoid; margin-bottom: 1rem; }
.ladder { display: flex; flex-wrap: wrap; gap: .2rem .9rem; list-style-position: inside;
  padding: 0; }
@media print {
  body { padding: 0; max-width: none; font-size: 9.5pt; }
  .entries { grid-template-columns: repeat(2, minmax(0, 1fr)); }
}
"""


def to_html(sheet: Sheet) -> str:
    """The guide as the text of an HTML file; every foreign text in it is escaped."""
    title = f"Colour guide: {sheet.project}"
    count = "1 colour" if len(sheet.entries) == 1 else f"{len(sheet.entries)} colours"
    parts = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        '<meta name="viewport" content="width=device-width">',
        f"<title>{_text(title)}</title><style>{_STYLE}</style></head><body>",
        f"<h1>{_text(title)}</h1>",
        f"<p>{count} · {_text(sheet.made_at[:10])} · the small part of a swatch is "
        "your colour, the large part that of the recipe; below it are its dots, "
        "enlarged.</p>",
        f'<p class="caution">{NO_PROOF}</p>',
    ]
    for page, entries in sheet.pages:
        stems = ", ".join(dict.fromkeys(entry.choice.palette for entry in entries))
        parts += [f"<section><h2>{_text(page_title(page))} <small>{_text(stems)}</small></h2>"]
        several = len({entry.choice.palette for entry in entries}) > 1
        parts += ['<div class="entries">', *(_entry(entry, several) for entry in entries)]
        parts += ["</div></section>"]
    parts += ["<section><h2>Palettes</h2>", *map(_palette, sheet.palettes)]
    return "\n".join(parts) + "\n</section></body></html>\n"


def _entry(entry: Entry, with_palette: bool) -> str:
    choice = entry.choice
    lab = " ".join(f"{x:.1f}" for x in choice.lab)
    palette = f"<br>{_text(choice.palette)}" if with_palette else ""
    lays = "".join(f"<li>{_text(lay.text)}</li>" for lay in entry.laying)
    remarks = "".join(f'<p class="remark">{_text(caution)}</p>' for caution in entry.cautions)
    note = f'<p class="note">{_text(choice.note)}</p>' if choice.note else ""
    return (
        '<article class="entry"><div class="picture">'
        f'<div class="swatch"><div style="background:{_target_colour(entry)}"></div>'
        f'<div class="chosen" style="background:{_text(choice.srgb)}"></div></div>'
        f"{_dots(entry)}</div><div>"
        f"<h3>{_text(choice.label or 'without a label')}</h3>"
        f"<ol>{lays}</ol>{'' if entry.laying else '<p>bare paper</p>'}"
        f'<p class="facts">wanted {_text(choice.wanted)}<br>'
        f"ΔE {choice.delta_e:.2f}, {size_in_words(choice.delta_e)}<br>"
        f"<span>{_text(choice.srgb)}</span> · <span>Lab {lab}</span>{palette}</p>"
        f"{note}{remarks}</div></article>"
    )


def _target_colour(entry: Entry) -> str:
    from tuimatch.colour import target

    return hexed(target.from_lab(entry.choice.meant_lab, "").srgb)


def _dots(entry: Entry) -> str:
    if entry.dots is None:
        return '<div class="no-dots">no dots: the palette is lost</div>'
    data = base64.b64encode(_png(entry.dots)).decode("ascii")
    alt = f"dots of {entry.choice.recipe}"
    return f'<img class="dots" alt="{_text(alt)}" src="data:image/png;base64,{data}">'


def _png(picture: Picture) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.fromarray(picture).save(out, "PNG", optimize=True)
    return out.getvalue()


def _palette(used: Used) -> str:
    cautions = "".join(f'<p class="remark">{_text(caution)}</p>' for caution in used.cautions)
    count = "1 colour" if used.choices == 1 else f"{used.choices} colours"
    parts = [f'<div class="palette"><h3>{_text(used.stem)}</h3>']
    if used.palette is not None:
        palette = used.palette
        source = f"source: {palette.source}" if palette.source else "not measured"
        parts.append(f"<p>{_text(palette.name)}, on {_text(palette.paper_name)}; {count}</p>")
        parts.append(f'<p class="facts">{_text(source)}</p>')
        if palette.coverage_limit is not None:
            limit = percent(palette.coverage_limit)
            parts.append(f'<p class="facts">coverage limit {limit} %</p>')
        parts.append('<ol class="ladder">')
        for ink in palette.inks:
            tints = ", ".join(ink.tint_words(tint, named=False) for tint in ink.tints)
            parts.append(f"<li>{_text(ink.name)}: {_text(tints)}</li>")
        parts.append("</ol>")
    else:
        parts.append(f"<p>{count}</p>")
    return "".join((*parts, cautions, "</div>"))


def _text(text: str) -> str:
    return escape(printable(text))
