"""What the fast tests of the match work with: a state over a real log, without a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from tuimatch.colour import target
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.recipe.dots import Press
from tuimatch.recipe.recipes import Recipes, mix
from tuimatch.tui.match import sentences
from tuimatch.tui.match.pending_choices import Keeper
from tuimatch.tui.match.state import MatchState

COLOUR = "#d94f2a"


@cache
def mixed(name: str) -> Recipes:
    """The recipes of a shipped palette, mixed once."""
    return mix(palette_file.load(name))


def use(state: MatchState, palette: Palette) -> None:
    """Change to a palette, as the screen does when it is mixed."""
    state.change_palette(palette)
    recipes = mix(palette)
    state.mixed(recipes, Press(recipes))


@contextmanager
def begun(
    path: Path,
    colour: str | None = COLOUR,
    palette: str = "screen-quarters",
    project: str | None = "ferrow",
    copied: list[str] | None = None,
) -> Iterator[MatchState]:
    """A state with its log open and its inks mixed."""
    recipes = mixed(palette)
    keeper = Keeper(path, project)
    copied = [] if copied is None else copied
    state = MatchState(recipes.palette, keeper, colour=colour, copy=copied.append)
    keeper.open()
    state.recall()
    state.mixed(recipes, Press(recipes), None if colour is None else target.parse(colour))
    try:
        yield state
    finally:
        keeper.close()


def notice(state: MatchState) -> str:
    assert state.match is not None
    return sentences.notice(state.match)


def limits(state: MatchState) -> str:
    assert state.match is not None
    return sentences.limits(state.match)


def facts(state: MatchState) -> list[str]:
    assert state.match is not None and state.candidate is not None
    return sentences.candidate_lines(state.match, state.candidate, state.look)


def tints(state: MatchState) -> tuple[float, ...]:
    assert state.match is not None and state.candidate is not None
    return state.match.recipes.tints_of(state.candidate.row)


def choices(state: MatchState) -> list[tuple[str, str]]:
    """Label and page of each choice of the project."""
    return [(choice.label, choice.page) for choice in state.keeper.choices]


def take(state: MatchState, label: str | None = "", rank: int = 0) -> None:
    """Take a recipe under a label; None leaves the question."""
    state.take(rank)
    if label is None:
        state.leave()
    else:
        state.answer(label)
