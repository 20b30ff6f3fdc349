"""`tuimatch match`: recipes for colours, as a table or as JSON."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from tuimatch.cli.arguments import count
from tuimatch.cli.tables import print_table
from tuimatch.errors import TargetError
from tuimatch.files.json_out import to_json
from tuimatch.palette import file as palette_file
from tuimatch.text import hexed, percent, printable

if TYPE_CHECKING:
    from tuimatch.colour.target import Target
    from tuimatch.match.limits import Narrowing
    from tuimatch.match.ranking import Candidate, Ranking
    from tuimatch.recipe.recipes import Recipes

DESCRIPTION = "Rank every recipe of a palette by how near it comes to each colour."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument(
        "colours", nargs="+", metavar="COLOUR", help="colours; - reads them from standard input"
    )
    parser.add_argument(
        "--top", type=count, default=10, metavar="N", help="how many recipes for each (10)"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object a line")
    parser.add_argument(
        "--hold",
        choices=("lightness", "hue", "chroma"),
        default="nothing",
        help="what must stay; the order weighs the other two half, the ΔE shown is the plain one",
    )
    limits = parser.add_argument_group("limits")
    limits.add_argument("--max-inks", metavar="N", help="at most so many inks")
    limits.add_argument(
        "--without", action="append", default=[], metavar="INK", help="leave an ink out"
    )
    limits.add_argument(
        "--with",
        action="append",
        default=[],
        dest="fixed",
        metavar="INK=TINT",
        help="an ink that is down already, by percent or label",
    )
    limits.add_argument(
        "--max-coverage",
        metavar="PCT",
        help="most coverage, the sum of the tints; none lifts the palette's own limit",
    )


def run(arguments: argparse.Namespace) -> None:
    """Answer for each colour; nothing is printed when one of them is no colour."""
    palette = palette_file.load(arguments.palette)
    from tuimatch.match import typed_limits
    from tuimatch.recipe import recipes

    narrowing = typed_limits.read(
        palette,
        without=arguments.without,
        fixed=arguments.fixed,
        max_inks=arguments.max_inks,
        max_coverage=arguments.max_coverage,
    )
    from tuimatch.match.limits import allowed
    from tuimatch.match.ranking import Hold, rank

    mixed = recipes.mix(palette)
    targets = list(_targets(mixed, arguments.colours))
    mask, hold = allowed(mixed, narrowing), Hold(arguments.hold)
    for target in targets:
        answer = rank(target, mixed, allowed=mask, hold=hold, top=arguments.top)
        if arguments.json:
            print(to_json(as_json(answer)))
        else:
            print_answer(answer, narrowing)


def _targets(recipes: Recipes, colours: list[str]) -> Iterator[Target]:
    from tuimatch.match.asked import asked

    for text in colours:
        if text != "-":
            yield asked(recipes, text)[0]
            continue
        for number, line in enumerate(sys.stdin, 1):
            if not line.strip():
                continue
            try:
                yield asked(recipes, line)[0]
            except TargetError as error:
                raise TargetError(line.strip(), f"line {number}: {error.problem}") from error


def as_json(answer: Ranking) -> dict[str, Any]:
    """An answer as JSON has it, nothing rounded."""
    palette = answer.recipes.palette
    return {
        "target": {"text": answer.target.text, "lab": list(answer.target.lab)},
        "palette": palette.stem,
        "estimated": palette.estimated,
        "out_of_reach": answer.out_of_reach,
        "left_out": answer.left_out,
        "candidates": [_candidate_json(answer, c) for c in answer.candidates],
    }


def _candidate_json(answer: Ranking, candidate: Candidate) -> dict[str, Any]:
    recipes, row = answer.recipes, candidate.row
    palette, tints = recipes.palette, recipes.tints_of(row)
    by_ink = list(zip(palette.inks, tints, strict=True))
    return {
        "rank": candidate.rank,
        "recipe": palette.recipe_text(tints),
        "tints": {ink.name: _plain(tint) for ink, tint in by_ink},
        "labels": {ink.name: ink.label(tint) for ink, tint in by_ink},
        "inks": int(recipes.inks[row]),
        "coverage": _plain(float(recipes.coverage[row])),
        "lab": [float(x) for x in recipes.lab[row]],
        "srgb": hexed(recipes.rgb_of(row)),
        "clipped": bool(recipes.clipped[row]),
        "delta_e": candidate.delta_e,
        "differs": candidate.differs,
    }


def print_answer(answer: Ranking, narrowing: Narrowing) -> None:
    """Print an answer for people."""
    palette, target = answer.recipes.palette, answer.target
    lightness, a, b = target.lab
    print(f"{printable(target.text)}   Lab {lightness:.1f} {a:.1f} {b:.1f}   {palette.name}")
    for remark in _remarks(answer, narrowing):
        print(remark)
    heads = ["", "ΔE", *(ink.name for ink in palette.inks), "coverage", "differs"]
    print_table(
        [_cells(answer, c) for c in answer.candidates],
        ">" * (len(heads) - 1) + "<",
        heads=heads,
        seams=[(target.srgb, answer.recipes.rgb_of(c.row)) for c in answer.candidates],
    )
    print()


def _remarks(answer: Ranking, narrowing: Narrowing) -> list[str]:
    """What must be said before the candidates, one sentence a line."""
    from tuimatch.match.limits import in_words, limit_to_lift

    palette, target = answer.recipes.palette, answer.target
    said = []
    if answer.nearest is None:
        lift = limit_to_lift(answer.recipes, narrowing, target.lab)
        mend = f"lift “{lift.limit}” to reach ΔE {lift.delta_e:.1f}" if lift else "lift several"
        said.append(f"Nothing left: the limits leave out every recipe; {mend}.")
    elif answer.without_limits is not None:
        nearest, least = answer.nearest, answer.without_limits.delta_e
        said.append(
            f"Under these limits the nearest is ΔE {nearest.delta_e:.1f} away, {nearest.differs}; "
            f"without them {least:.1f}."
        )
    elif answer.out_of_reach:
        nearest = answer.nearest
        said.append(
            f"Out of reach: the nearest is ΔE {nearest.delta_e:.1f} away, {nearest.differs}."
        )
        said += _best_of_holds(answer)
    if target.clipped:
        said.append("The target lies outside sRGB: the screen shows it clipped.")
    if palette.estimated:
        said.append("Estimated: overprints are missing from the palette, about 10 ΔE may be off.")
    if answer.hold.value != "nothing":
        said.append(f"Ordered by ΔE with {answer.hold.value} held; the ΔE shown is the plain one.")
    if answer.left_out:
        said.append(f"{answer.left_out:,} recipes left out: {in_words(palette, narrowing)}.")
    return said


def _best_of_holds(answer: Ranking) -> list[str]:
    """The best recipe for each attribute that could be held besides."""
    from tuimatch.match.ranking import Hold

    said = []
    for hold in Hold:
        if hold not in (Hold.NOTHING, answer.hold):
            best = answer.best_holding(hold)
            recipe = answer.recipes.palette.recipe_text(answer.recipes.tints_of(best.row))
            said.append(f"Best for {hold.value}: {recipe}; ΔE {best.delta_e:.1f}, {best.differs}.")
    return said


def _cells(answer: Ranking, candidate: Candidate) -> list[str]:
    recipes, row = answer.recipes, candidate.row
    cells = [str(candidate.rank), f"{candidate.delta_e:.2f}"]
    for ink, tint in zip(recipes.palette.inks, recipes.tints_of(row), strict=True):
        label = ink.label(tint)
        cells.append((percent(tint) if tint else "–") + (f" {label}" if label else ""))
    clipped = ["outside sRGB"] if recipes.clipped[row] else []
    differs = [candidate.differs] if candidate.differs else []
    return [*cells, percent(float(recipes.coverage[row])), "; ".join(differs + clipped)]


def _plain(number: float) -> float:
    """Whole percents as whole numbers."""
    return int(number) if number == int(number) else number
