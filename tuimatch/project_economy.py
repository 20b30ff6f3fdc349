"""The economy of a project or a page: its areas read from the log, and what is saved put back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from tuimatch import economy
from tuimatch.areas import Area, areas_of_log, on_page
from tuimatch.economy import Change, Economy
from tuimatch.errors import LogError, UsageError
from tuimatch.log import Choice, Log
from tuimatch.narrowing import allowed
from tuimatch.narrowing_steps import start
from tuimatch.recipes import Recipes, mix
from tuimatch.text import hexed

# So many names in a refusal; a line with all of a comic's would not be read.
_MOST_NAMED = 20


@dataclass(frozen=True)
class Work:
    """What is to be painted.

    Attributes:
        project: The project's name as it is spelled.
        page: The page meant; None for all.
        areas: Its choices as areas, oldest first.
        left_out: The choices whose palette is lost: without it nothing can be said of them.
    """

    project: str
    page: str | None
    areas: tuple[Area, ...]
    left_out: tuple[Choice, ...]

    @property
    def remark(self) -> str:
        """One line on what is left out; empty when nothing is."""
        if not self.left_out:
            return ""
        names = ", ".join(choice.name for choice in self.left_out)
        return f"left as they are, the palette being lost: {names}"

    def named(self, label: str) -> list[Area]:
        """The areas of a label, in any letter case; one without a label goes by its number.

        Raises:
            UsageError: There is none.
        """
        found = [a for a in self.areas if a.name.casefold() == label.strip().casefold()]
        if not found:
            names = list(dict.fromkeys(area.name for area in self.areas))
            more = ", …" if len(names) > _MOST_NAMED else ""
            known = ", ".join(names[:_MOST_NAMED]) + more or "none"
            raise UsageError(f"no area {label!r}; there are {known}")
        return found


def gather(log: Log, project: str, page: str | None = None) -> Work:
    """The areas of a project, or of one page.

    Raises:
        LogError: There is no such project, or the log cannot be read.
        UsageError: The project has no such page.
    """
    _, project = log.projects.existing(project)
    choices = on_page(log.choices(project), project, page)
    lost = _without_palette(log, choices)
    kept = [choice for choice in choices if choice not in lost]
    return Work(project, page, areas_of_log(log, kept), tuple(lost))


def _without_palette(log: Log, choices: list[Choice]) -> list[Choice]:
    """The choices whose palette cannot be read, or does not hold their recipe."""
    palettes = {}
    for choice in choices:
        if choice.palette_digest not in palettes:
            palettes[choice.palette_digest] = log.palette(choice)
    return [
        choice
        for choice in choices
        if (palette := palettes[choice.palette_digest]) is None
        or [ink.name for ink in palette.inks] != list(choice.tints)
        or any(choice.tints[ink.name] not in ink.steps for ink in palette.inks)
    ]


def plan(
    work: Work,
    tables: dict[str, Recipes],
    *,
    allowance: float = economy.ALLOWANCE,
    allowances: Mapping[int, float] | None = None,
    seconds: float = economy.SECONDS,
) -> Economy:
    """Choose recipes with the fewest passes, each area on the recipes of its own palette.

    What is above a palette's own coverage limit is not offered.

    Args:
        work: What is to be painted.
        tables: The recipes mixed so far, by the palette's digest; those lacking are added.
        allowance: How much extra ΔE an area bears over its nearest recipe.
        allowances: The same for single areas, by key.
        seconds: When to stop, about, with the best found so far.

    Raises:
        UsageError: An allowance is no ΔE, or is for no area.
    """
    palettes = {area.palette.digest: area.palette for area in work.areas}
    for digest, palette in palettes.items():
        if digest not in tables:
            tables[digest] = mix(palette)
    return economy.economise(
        work.areas,
        tables,
        allowance=allowance,
        allowances=allowances,
        allowed={d: allowed(tables[d], start(palette)) for d, palette in palettes.items()},
        seconds=seconds,
    )


def take(log: Log, work: Work, found: Economy, tables: Mapping[str, Recipes]) -> int:
    """Put the recipes chosen in the place of those before, in one transaction and one undo.

    Args:
        log: Where the choices are kept.
        work: What `gather` gave.
        found: What `plan` made of it.
        tables: The recipes by the palette's digest.

    Returns:
        How many recipes were replaced.

    Raises:
        LogError: The choices are no longer those that were planned for, or nothing could be
            written; the log is as it was.
    """
    changed = [change for change in found.changes if change.changed]
    if not changed:
        return 0
    where = work.project if work.page is None else f"page {work.page}"
    what = f"economised {where}: {found.before.by_passes} passes to {found.after.by_passes}"
    with log.together(what, work.project):
        if gather(log, work.project, work.page) != work:
            raise LogError(f"{log.path}: the choices have changed meanwhile; plan anew")
        for change in changed:
            choice = log.choice(change.area.key)
            log.replace(
                change.area.palette, _with_recipe(choice, change, tables[choice.palette_digest])
            )
    return len(changed)


def _with_recipe(choice: Choice, change: Change, recipes: Recipes) -> Choice:
    row, palette = recipes.row_of(change.tints), recipes.palette
    assert row is not None  # It was chosen among them.
    lightness, a, b = recipes.lab[row].tolist()
    return replace(
        choice,
        recipe=palette.recipe_text(change.tints),
        tints={ink.name: t for ink, t in zip(palette.inks, change.tints, strict=True)},
        lab=(lightness, a, b),
        srgb=hexed(recipes.rgb_of(row)),
        delta_e=change.delta_e_after,
    )
