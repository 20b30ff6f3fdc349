"""`tuimatch match`: recipes for colours, as a table or as JSON."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from tuimatch.cli.arguments import add_limits, count, limits
from tuimatch.cli.tables import print_table
from tuimatch.colour.intent import Intent
from tuimatch.errors import TargetError, UsageError
from tuimatch.files.json_out import to_json
from tuimatch.match.hold import HELD, Hold
from tuimatch.palette import file as palette_file
from tuimatch.palette import uncertainty
from tuimatch.text import hexed, percent, printable

if TYPE_CHECKING:
    from tuimatch.colour.target import Target
    from tuimatch.match.answer import Match
    from tuimatch.match.ranking import Candidate, Ranking
    from tuimatch.match.verdict import Verdict
    from tuimatch.palette.model import Palette
    from tuimatch.recipe.recipes import Recipes

_MOST_READ = 1_000_000

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
        choices=[hold.value for hold in HELD],
        default=Hold.NOTHING.value,
        help="what to put first when sorting (chroma: how vivid); the other two count half",
    )
    add_limits(parser)


def run(arguments: argparse.Namespace) -> None:
    """Answer for each colour; nothing is printed when one of them is not a colour."""
    palette = palette_file.load(arguments.palette)
    narrowing, intent = limits(arguments, palette)
    from tuimatch.match.answer import Question, known, match
    from tuimatch.recipe import recipes

    mixed = recipes.mix(palette)
    targets = list(_targets(mixed, arguments.colours))
    held, hold = known(mixed), Hold(arguments.hold)
    for target in targets:
        question = Question(target, hold, narrowing, intent=intent)
        answer = match(mixed, question, held, top=arguments.top)
        if arguments.json:
            print(to_json(as_json(answer)))
        else:
            print_answer(answer)


def _targets(recipes: Recipes, colours: list[str]) -> Iterator[Target]:
    from tuimatch.match.asked import asked

    for text in colours:
        if text != "-":
            yield asked(recipes, text)[0]
            continue
        lines = sys.stdin.read(_MOST_READ + 1)
        if len(lines) > _MOST_READ:
            raise UsageError("standard input: is over 1 MB; give fewer colours at once")
        for number, line in enumerate(lines.split("\n"), 1):
            if not line.strip():
                continue
            try:
                yield asked(recipes, line)[0]
            except TargetError as error:
                raise TargetError(line.strip(), f"line {number}: {error.problem}") from error


def as_json(answer: Match) -> dict[str, Any]:
    """An answer as JSON has it, nothing rounded."""
    palette, target = answer.recipes.palette, answer.question.target
    return {
        "target": {
            "text": target.text,
            "lab": list(target.lab),
            "meant_lab": list(answer.meant.lab),
        },
        "palette": palette.stem,
        "estimated": palette.estimated,
        "uncertainty": uncertainty.uncertainty(palette),
        "intent": answer.intent.value,
        **verdict_json(palette, answer.verdict),
        "left_out": answer.ranking.left_out,
        "candidates": [_candidate_json(answer.ranking, c) for c in answer.ranking.candidates],
    }


def verdict_json(palette: Palette, judged: Verdict | None) -> dict[str, Any]:
    """A verdict as JSON has it: which, the tints that would do it, the one tint that would help."""
    could, more = (judged.any_tint, judged.one_more) if judged else (None, None)
    names = [ink.name for ink in palette.inks]
    return {
        "verdict": judged.reached.value if judged else None,
        "any_tint": could
        and {
            "delta_e": could.delta_e,
            "tints": {name: _plain(t) for name, t in zip(names, could.tints, strict=True)},
        },
        "one_more_tint": more
        and {"ink": names[more.ink], "tint": _plain(more.tint), "delta_e": more.delta_e},
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


def print_answer(answer: Match) -> None:
    """Print an answer for people."""
    palette, target, ranking = answer.recipes.palette, answer.meant, answer.ranking
    print(
        f"{printable(target.text)}   {_lab(answer)}   {palette.name}{uncertainty.in_words(palette)}"
    )
    for remark in _remarks(answer):
        print(remark)
    heads = ["", "ΔE", *(ink.name for ink in palette.inks), "coverage", "differs"]
    print_table(
        [_cells(ranking, c) for c in ranking.candidates],
        ">" * (len(heads) - 1) + "<",
        heads=heads,
        seams=[(target.srgb, answer.recipes.rgb_of(c.row)) for c in ranking.candidates],
    )
    print()


def _lab(answer: Match) -> str:
    """The colour as given, and as it is meant where that is another."""
    given = "Lab {:.1f} {:.1f} {:.1f}".format(*answer.question.target.lab)
    if answer.intent is Intent.ABSOLUTE:
        return given
    return "{}, {} {:.1f} {:.1f} {:.1f}".format(given, answer.intent.words, *answer.meant.lab)


def _remarks(answer: Match) -> list[str]:
    """What must be said before the candidates, one sentence a line."""
    from tuimatch.match.limits import in_words, limit_to_remove
    from tuimatch.match.verdict import Reached
    from tuimatch.match.verdict import in_words as verdict_in_words

    palette, target, ranking, judged = (
        answer.recipes.palette,
        answer.meant,
        answer.ranking,
        answer.verdict,
    )
    said = []
    if judged is None or ranking.nearest is None:
        removal = limit_to_remove(answer.recipes, answer.narrowing, target.lab)
        advice = (
            f"remove the limit “{removal.limit}” to reach ΔE {removal.delta_e:.1f}"
            if removal
            else "remove several"
        )
        said.append(f"No recipe is left under these limits: {advice}.")
    else:
        words = "; ".join(verdict_in_words(palette, judged))
        said.append(f"{words[0].upper()}{words[1:]}.")
        if judged.reached is not Reached.WITHIN:
            if answer.without_limits is not None:
                said.append(
                    f"Without these limits it would be ΔE {answer.without_limits.delta_e:.1f}."
                )
            said += _best_of_holds(ranking)
    if target.clipped:
        said.append(
            "The colour is beyond the screen (outside sRGB): the nearest it can show stands for it."
        )
    if palette.estimated:
        said.append(uncertainty.ESTIMATED_IN_WORDS)
    if ranking.hold is not Hold.NOTHING:
        said.append(
            f"Sorted with {ranking.hold.word} first: other differences count half. "
            "The ΔE shown is the ordinary one."
        )
    if ranking.left_out:
        left_out = in_words(palette, answer.narrowing)
        said.append(f"{ranking.left_out:,} recipes left out: {left_out}.")
    return said


def _best_of_holds(answer: Ranking) -> list[str]:
    """The best recipe with each other attribute put first, if it is not the nearest."""
    said = []
    for hold in HELD:
        best = answer.best_holding(hold)
        if hold is not answer.hold and answer.nearest and best.row != answer.nearest.row:
            recipe = answer.recipes.palette.recipe_words(answer.recipes.tints_of(best.row))
            said.append(f"Best for {hold.word}: {recipe}; ΔE {best.delta_e:.1f}, {best.differs}.")
    return said


def _cells(answer: Ranking, candidate: Candidate) -> list[str]:
    recipes, row = answer.recipes, candidate.row
    cells = [str(candidate.rank), f"{candidate.delta_e:.2f}"]
    for ink, tint in zip(recipes.palette.inks, recipes.tints_of(row), strict=True):
        words = ink.tint_words(tint, named=False) if ink.labels else percent(tint)
        cells.append(words if tint else "–")
    clipped = ["beyond the screen"] if recipes.clipped[row] else []
    differs = [candidate.differs] if candidate.differs else []
    return [*cells, percent(float(recipes.coverage[row])), "; ".join(differs + clipped)]


def _plain(number: float) -> float:
    """Whole percents as whole numbers."""
    return int(number) if number == int(number) else number
