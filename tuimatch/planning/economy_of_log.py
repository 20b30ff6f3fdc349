"""The economy of a project or a page: its areas read from the log, and what is saved put back."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from time import monotonic

from tuimatch.errors import LogError, UsageError
from tuimatch.log import Choice, Log
from tuimatch.match.limits import allowed, start
from tuimatch.planning import economy
from tuimatch.planning.areas import Area, areas_of_log, chosen, left_out_in_words
from tuimatch.planning.economy import Change, Economy
from tuimatch.recipe.recipes import Recipes, mix
from tuimatch.text import hexed

# At most so many names in a refusal; nobody would read a line with all of a comic's.
_MOST_NAMED = 20


@dataclass(frozen=True)
class Work:
    """What is to be painted.

    Attributes:
        project: The project's name as it is spelled.
        page: The page meant; None for all.
        only: The numbers of the choices meant; None for all.
        areas: Its choices as areas, oldest first.
        laid: The numbers of the areas that are begun: an ink of the recipe they have now is ticked
            off as laid. What is on the page stays right only if they keep it.
        left_out: The choices whose palette is lost: without it nothing can be said of them.
    """

    project: str
    page: str | None
    only: frozenset[int] | None
    areas: tuple[Area, ...]
    laid: frozenset[int]
    left_out: tuple[Choice, ...]

    @property
    def remark(self) -> str:
        """One line on what is left as it is; empty when nothing is."""
        said = []
        if self.laid:
            many = len(self.laid) > 1
            stay = "areas are laid already and stay" if many else "area is laid already and stays"
            said.append(f"{len(self.laid)} {stay}")
        if self.left_out:
            said.append(left_out_in_words(self.left_out))
        return "; ".join(said)

    def named(self, label: str) -> list[Area]:
        """The areas of a name, in any letter case; one without a label goes by its number too.

        Raises:
            UsageError: There is none.
        """
        wanted = label.strip().casefold()
        found = [
            area
            for area in self.areas
            if wanted in (area.name.casefold(), area.name_in_words.casefold())
            or (not area.label and wanted == str(area.key))
        ]
        if not found:
            names = list(dict.fromkeys(area.name for area in self.areas))
            more = ", …" if len(names) > _MOST_NAMED else ""
            known = ", ".join(names[:_MOST_NAMED]) + more or "none"
            raise UsageError(f"no area {label!r}; there are {known}")
        return found


def gather(
    log: Log, project: str, page: str | None = None, only: Collection[int] | None = None
) -> Work:
    """The areas of a project, of one page, or only some by their numbers.

    Raises:
        LogError: There is no such project, a number is not one of its choices, or the log cannot
            be read.
        UsageError: The project has no such page.
    """
    _, project = log.projects.existing(project)
    only = None if only is None else frozenset(only)
    choices = chosen(log, project, page, only)
    areas, lost = areas_of_log(log, choices)
    laid = frozenset(log.ticks.laid(choices)) & {area.key for area in areas}
    return Work(project, page, only, areas, laid, lost)


def plan(
    work: Work,
    tables: dict[str, Recipes],
    *,
    allowance: float = economy.ALLOWANCE,
    allowances: Mapping[int, float] | None = None,
    keep: Collection[int] = (),
    seconds: float = economy.SECONDS,
    go_on: Callable[[], bool] = lambda: True,
) -> Economy:
    """Choose recipes with the fewest passes, each area on the recipes of its own palette.

    What is above a palette's own coverage limit is not offered, and what is laid stays. Where no
    pass is saved nothing changes.

    Args:
        work: What is to be painted.
        tables: The recipes mixed so far, by the palette's digest; those lacking are added.
        allowance: How much extra ΔE an area accepts over its nearest recipe.
        allowances: The same for single areas, by key.
        keep: The areas that are to keep just the recipe they have, by key.
        seconds: When to stop, about, with the best found so far.
        go_on: Asked again and again whether to go on; once it says no, the best so far is given.

    Raises:
        UsageError: An allowance is not a ΔE, or is for no area.
    """
    deadline = monotonic() + seconds
    palettes = {area.palette.digest: area.palette for area in work.areas}
    for digest, palette in palettes.items():
        if digest not in tables:
            tables[digest] = mix(palette)
    found = economy.economise(
        work.areas,
        tables,
        allowance=allowance,
        allowances=allowances,
        allowed={d: allowed(tables[d], start(palette)) for d, palette in palettes.items()},
        stay=work.laid | frozenset(keep),
        seconds=deadline - monotonic(),
        go_on=go_on,
    )
    return found.worth_taking


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
    where = work.project if work.page is None else f"page {work.page or '–'}"
    if work.only is not None:
        where = f"{len(work.areas)} {'area' if len(work.areas) == 1 else 'areas'} of {where}"
    what = f"fewer passes for {where}: {found.before.by_passes} to {found.after.by_passes}"
    with log.together(what, work.project):
        if gather(log, work.project, work.page, work.only) != work:
            raise LogError(f"{log.path}: the recipes have changed meanwhile; plan again")
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
