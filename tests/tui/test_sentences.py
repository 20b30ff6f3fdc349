"""What the match screen says of a candidate."""

from __future__ import annotations

import numpy as np

from tuimatch.colour import target
from tuimatch.colour.dichromacy import told_apart
from tuimatch.log import Choice, new_choice
from tuimatch.match.answer import Question, known, match
from tuimatch.match.ranking import Candidate
from tuimatch.palette import file as palette_file
from tuimatch.recipe import recipes
from tuimatch.recipe.copied_recipe import Wording
from tuimatch.tui.match.look import Look
from tuimatch.tui.match.sentences import candidate_lines

TABLE = recipes.mix(palette_file.load("screen-quarters"))


def kept(label: str, row: int) -> Choice:
    lightness, a, b = TABLE.lab[row].tolist()
    return new_choice(
        TABLE.palette,
        TABLE.tints_of(row),
        project="ferrow",
        target_text="a colour",
        target_lab=(lightness, a, b),
        lab=(lightness, a, b),
        srgb=TABLE.rgb_of(row),
        delta_e=0.0,
        label=label,
    )


def lines_of(row: int, *choices: Choice, count: int) -> list[str]:
    answer = match(TABLE, Question(target.parse("#888")), known(TABLE, choices))
    candidate = Candidate(1, row, 0.0, "")
    return candidate_lines(answer, candidate, Look(wording=Wording.PERCENTAGES), lines=count)


def use_of(row: int, *choices: Choice) -> str:
    """The line on what a recipe is good for, in a project that holds the choices."""
    return lines_of(row, *choices, count=3)[-1]


def test_a_colour_that_some_cannot_tell_from_one_in_use_is_said_to_look_like_it() -> None:
    red = TABLE.row_of((100.0, 75.0, 0.0))
    assert red is not None
    pairs = told_apart(TABLE.xyz[red], TABLE.xyz)
    green = [pair.alike_for for pair in pairs].index(("deutan",))
    far = int(np.argmax([min(pair.plain, *pair.dichromat) for pair in pairs]))
    sea, moss = kept("sea", far), kept("moss", green)
    assert use_of(red, sea, moss) == "the colour-blind may take it for moss"
    # Lettering is what is said else; a colour is not said to look like itself.
    assert use_of(red, sea).startswith("black letters ")
    assert use_of(red, kept("coat", red)).startswith("black letters ")
    # Where there is room, both are said.
    *_, letters, last = lines_of(red, sea, moss, count=5)
    assert letters.startswith("black letters ")
    assert last == "the colour-blind may take it for moss"
