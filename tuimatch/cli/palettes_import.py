"""`tuimatch palettes import`: a measured palette from measurements, and how far to trust it."""

from __future__ import annotations

import argparse
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.cli.arguments import add_out, out_path
from tuimatch.files import out_file
from tuimatch.text import percent, printable

if TYPE_CHECKING:
    from tuimatch.own_palette.characterise import Characterisation
    from tuimatch.palette.model import Triple

_LADDER = (25.0, 50.0, 75.0, 100.0)


DESCRIPTION = (
    "Read measurements (CGATS text: CMYK or CMY with Lab or XYZ), write a palette "
    "file that keeps all of them, and say how well it predicts patches that are left out."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the action takes."""
    parser.add_argument("file", metavar="FILE", help="measurements, such as .txt or .ti3")
    add_out(parser, "FILE.toml")
    parser.add_argument("--name", metavar="NAME", default="", help="what to call the palette")
    parser.add_argument(
        "--tints",
        type=_tints,
        default=_LADDER,
        metavar="T,T…",
        help="the ladder of every ink in percent (25,50,75,100)",
    )
    parser.add_argument(
        "--inks", type=_words, default=(), metavar="INK,INK…", help="only some of the inks"
    )


def run(arguments: argparse.Namespace) -> None:
    """Read, write, and say what came of it."""
    out = out_path(arguments, ".toml", "a palette file is TOML")
    from tuimatch.own_palette import cgats
    from tuimatch.own_palette.characterise import characterise
    from tuimatch.own_palette.summary import summary

    data = cgats.read(Path(arguments.file))
    made = characterise(
        data, arguments.tints, inks=arguments.inks, name=arguments.name, stem=out.stem
    )
    repeats = int(data.repeats.sum()) - len(data)
    more = f", {repeats:,} more are repeats and count in their mean" if repeats else ""
    out_file.write(out, made.palette.text, replace=arguments.replace)
    print("\n".join(summary(str(out), made.palette)))
    print(printable(f"{arguments.file}: {len(data):,} patches{more}"))
    for line in (*_provenance(made), *_trust(made)):
        print(printable(line))


def _provenance(made: Characterisation) -> list[str]:
    """What was measured and what was not."""
    said = []
    interpolated = dict(made.interpolated)
    for ink in made.palette.inks:
        if ink.name in made.bare:
            said.append(f"  {ink.name}: only the solid is measured; its tints go without dot gain")
            continue
        absent = interpolated.get(ink.name, ())
        tints = " ".join(f"{percent(t)}{'*' if t in absent else ''}" for t in ink.tints)
        said.append(f"  {ink.name}: {tints} %")
    if interpolated:
        said.append("  * between measured tints")
    said += [f"  overprint not measured, estimated: {' + '.join(inks)}" for inks in made.missing]
    return said


def _trust(made: Characterisation) -> list[str]:
    """How well the palette predicts what it was not made from."""
    check = made.check
    if check is None:
        return ["No patch mixes the inks, so how well it predicts is not known."]
    return [
        f"{check.count:,} patches that mix inks are kept; predicted with a tenth of them left out "
        f"each time, CIEDE2000: mean {check.mean:.2f}, median {check.median:.2f}, "
        f"95 % within {check.p95:.2f}, largest {check.largest:.2f}",
        "the worst of them:",
        *(
            f"  ΔE {miss.delta_e:.2f}  {miss.recipe}: "
            f"measured Lab {_lab(miss.measured)}, predicted {_lab(miss.predicted)}"
            for miss in check.worst
        ),
    ]


def _lab(lab: Triple) -> str:
    return " ".join(f"{x:.1f}" for x in lab)


def _words(text: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.split(",") if word.strip())


def _tints(text: str) -> tuple[float, ...]:
    try:
        tints = tuple(float(word) for word in _words(text))
    except ValueError:
        tints = ()
    if not tints or not all(isfinite(tint) for tint in tints):
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a list of tints; give percents: 25,50,75,100"
        )
    return tints
