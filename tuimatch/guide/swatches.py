"""The guide as a palette of painting programs, and as CGATS text."""

from __future__ import annotations

from tuimatch import __version__
from tuimatch.guide.sheet import NO_PROOF, Entry, Sheet, Used
from tuimatch.palette.process_inks import process_ink
from tuimatch.text import exact, printable, rgb_of_hex

# The device columns of CGATS.17 by the inks they are for, in the order of the columns.
_PROCESS = {
    "CMY": ("cyan", "magenta", "yellow"),
    "CMYK": ("cyan", "magenta", "yellow", "black"),
}


def to_gpl(sheet: Sheet) -> str:
    """The guide as the open text palette of free painting programs, an entry a colour.

    The first line is what those programs know the format by.
    """
    lines = ["GIMP Palette", f"Name: {printable(sheet.project)}", "Columns: 6"]
    lines += [f"# {NO_PROOF}"]
    for entry in sheet.entries:
        choice = entry.choice
        red, green, blue = rgb_of_hex(choice.srgb)
        page = f"page {choice.page}, " if choice.page else ""
        label = f"{choice.label}: " if choice.label else ""
        name = printable(f"{label}{page}{choice.recipe}")
        lines.append(f"{red:3d} {green:3d} {blue:3d}\t{name}")
    return "\n".join(lines) + "\n"


def to_cgats(sheet: Sheet) -> str:
    """The guide as CGATS text (ISO 28178), a table for each palette.

    Nominal tints in percent and the Lab predicted for them, D50 and 2°. Keywords and names of
    columns from memory; those of our own are declared by KEYWORD.
    """
    lines = [
        "CGATS.17",
        f"ORIGINATOR {_quoted(f'tuimatch {__version__}')}",
        f"DESCRIPTOR {_quoted(f'Colour guide of {sheet.project}')}",
        f"CREATED {_quoted(sheet.made_at)}",
        'ILLUMINATION_NAME "D50"',
        'OBSERVER_ANGLE "2"',
        *(f"KEYWORD {_quoted(name)}" for name in ("PALETTE", "PAPER", "INKS", "SAMPLE_NAME")),
        "# Nominal tints; Lab is predicted by a model, not measured.",
        f"# {NO_PROOF}",
    ]
    for used in sheet.palettes:
        lines += ["", *_table(sheet, used)]
    return "\n".join(lines) + "\n"


def _table(sheet: Sheet, used: Used) -> list[str]:
    entries = [e for e in sheet.entries if _made_with(e, used)]
    inks = list(entries[0].choice.tints)
    columns, order = _columns(inks)
    lines = [f"PALETTE {_quoted(used.stem)}"]
    if used.palette is not None:
        lines.append(f"PAPER {_quoted(used.palette.paper_name)}")
        if used.palette.source:
            lines.append(f"MEASUREMENT_SOURCE {_quoted(used.palette.source)}")
    lines += [f"INKS {_quoted(', '.join(order))}"]
    lines += [f"# {caution}" for caution in used.cautions]
    fields = ["SAMPLE_ID", "SAMPLE_NAME", *columns, "LAB_L", "LAB_A", "LAB_B"]
    lines += [f"NUMBER_OF_FIELDS {len(fields)}", "BEGIN_DATA_FORMAT", " ".join(fields)]
    lines += ["END_DATA_FORMAT", f"NUMBER_OF_SETS {len(entries)}", "BEGIN_DATA"]
    for entry in entries:
        choice = entry.choice
        tints = [exact(choice.tints[ink]) for ink in order]
        lab = [f"{x:.4f}" for x in choice.lab]
        lines.append(" ".join((str(choice.id), _quoted(_name(entry)), *tints, *lab)))
    return [*lines, "END_DATA"]


def _columns(inks: list[str]) -> tuple[list[str], list[str]]:
    """The names of the device columns, and the inks in their order."""
    known = {found.name: ink for ink in inks if (found := process_ink(ink))}
    for letters, names in _PROCESS.items():
        if len(known) == len(inks) and set(known) == set(names):
            return [f"{letters}_{letter}" for letter in letters], [known[name] for name in names]
    return [f"{len(inks)}CLR_{number}" for number in range(1, len(inks) + 1)], inks


def _made_with(entry: Entry, used: Used) -> bool:
    choice = entry.choice
    return (choice.palette, choice.palette_digest) == (used.stem, used.digest)


def _name(entry: Entry) -> str:
    choice = entry.choice
    return f"{choice.label or 'unnamed'}, page {choice.page}" if choice.page else choice.name


def _quoted(text: str) -> str:
    return '"' + printable(text).replace('"', '""') + '"'
