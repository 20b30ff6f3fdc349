"""The passes of a project, a page or some areas: each brush with the areas that take it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from rich.style import Style
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.message import Message

from tuimatch.log import Choice, Log, Tick
from tuimatch.log.area import pages_of
from tuimatch.planning.areas import Area, areas_of_log, left_out_in_words, on_page
from tuimatch.planning.passes import Pass, Plan, plan
from tuimatch.text import printable, rgb_of_hex
from tuimatch.tui.screens.explained import help_key
from tuimatch.tui.screens.log_screen import LogScreen
from tuimatch.tui.widgets.block_list import DIM, HERE, NARROW, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.lines import Lines, whole
from tuimatch.tui.widgets.paint import RGB, block
from tuimatch.tui.widgets.plan_picture import PlanPicture

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from tuimatch.palette.model import Palette
    from tuimatch.recipe.dots import Press

_HEAD = Style(bold=True)

# A tint alone on its paper: the palette's digest, the ink's name, percent.
Tint = tuple[str, str, float]


@dataclass(frozen=True)
class Line:
    """A line of the list: a pass, one area in it, or the name of the palette it begins."""

    one: Pass
    area: Area | None = None
    heads: bool = False

    @property
    def is_pass(self) -> bool:
        """Whether it is a whole pass."""
        return self.area is None and not self.heads

    @property
    def ticks(self) -> tuple[Tick, ...]:
        """What is ticked off with this line; nothing for a palette's name."""
        if self.heads:
            return ()
        areas = self.one.areas if self.area is None else (self.area,)
        return tuple(Tick(area.key, self.one.ink, self.one.brush.tint) for area in areas)


def _lines(found: Plan) -> list[Line]:
    """Each pass with its areas under it; where palettes are mixed, each begins with its name."""
    several = len({one.brush.palette for one in found.passes}) > 1
    lines: list[Line] = []
    for before, one in zip((None, *found.passes), found.passes, strict=False):
        if several and (before is None or before.brush.palette != one.brush.palette):
            lines.append(Line(one, heads=True))
        lines += [Line(one), *(Line(one, area) for area in one.areas)]
    return lines


class PassesList(BlockList):
    """Passes with their areas under them."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[Line] = []
        self.ticked: set[Tick] = set()
        self.with_page = False  # whether areas of several pages stand together
        self.colours: dict[int, RGB] = {}  # of each area, by its number
        self.tints: dict[Tint, RGB] = {}

    @property
    def first(self) -> int:
        """The place of the line that is shown first."""
        return self._first

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """One pass, or one area."""
        line, here = self.lines[place], place == self.cursor
        done = sum(tick in self.ticked for tick in line.ticks)
        mark = "✓" if done == len(line.ticks) else "–" if done else " "
        pointer = Segment("▸" if here else " ", HERE)
        if line.heads:
            return [pointer, fitted(f"{printable(line.one.palette.name)}:", width - 1, DIM)]
        if line.area is None:
            one = line.one
            rgb = self.tints.get((one.palette.digest, one.brush.ink, one.brush.tint))
            wide = 6 if width >= NARROW else 4
            swatch = [block(rgb, wide)] if rgb else [Segment(" " * wide)]
            words, count = printable(one.words), len(line.ticks)
            text = whole(
                width - wide - 4, f"{words}   {done} of {count}", f"{words} {done}/{count}", words
            )
            return [
                *(pointer, Segment(f"{mark} ", _HEAD), *swatch),
                fitted(f" {text}", width - wide - 3, _HEAD),
            ]
        style = HERE if here else DIM if done else PLAIN
        name = line.area.name_with_page if self.with_page else line.area.name_in_words
        rgb = self.colours.get(line.area.key, (0, 0, 0))
        return [
            pointer,
            Segment(f"    {mark} ", style),
            block(rgb, 4),
            fitted(f" {printable(name)}", width - 11, style),
        ]


class PassesScreen(LogScreen[None]):
    """The plan, ticked off as it is painted; what is ticked stays ticked in the log."""

    DEFAULT_CSS = """
    PassesScreen {
        #passes-head { height: 2; padding: 0 0 0 1; text-style: bold; }
        #passes-body { height: 1fr; }
        PlanPicture { display: none; margin-right: 1; }
        &.-wide PassesList { max-width: 50; }
        &.-broad PassesList { max-width: 60; }
        &.-wide PlanPicture, &.-broad PlanPicture { display: block; }
    }
    """
    HORIZONTAL_BREAKPOINTS = [(0, "-slim"), (96, "-wide"), (140, "-broad")]  # noqa: RUF012 (Textual's way)
    WORDS = (
        "pass",
        "change of brush",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        # What fits at the foot of 36 cells.
        Binding(
            "space",
            "tick",
            "Tick",
            id="passes.tick",
            tooltip="Tick a pass or an area",
        ),
        Binding("g", "page", "Page", id="passes.page", tooltip="The next page, or all of them"),
        Binding(
            "u",
            "turn('undo')",
            "Undo",
            id="passes.undo",
            tooltip="Undo the last change, even from an earlier session",
        ),
        Binding(
            "U,ctrl+r",
            "turn('redo')",
            "Redo",
            id="passes.redo",
            tooltip="Redo what was undone last",
            show=False,
        ),
        Binding(
            "e", "economy", "Economy", id="passes.economy", tooltip="Fewer passes of these areas"
        ),
        help_key("passes"),
        Binding("escape", "dismiss(None)", "Back", id="passes.back", tooltip="Go back"),
    ]

    # The page chosen last in this run, by log and project.
    last_page: ClassVar[dict[tuple[Path, str], str | None]] = {}

    class Coloured(Message):
        """The colours of brushes alone on their paper."""

        def __init__(self, tints: dict[Tint, RGB]) -> None:
            super().__init__()
            self.tints = tints

    class Mixed(Message):
        """The inks of a palette, by its digest, are ready to draw dots with."""

        def __init__(self, digest: str, press: Press) -> None:
            super().__init__()
            self.digest, self.press = digest, press

    def __init__(
        self,
        log_path: Path,
        project: str,
        page: str | None = None,
        only: Collection[int] | None = None,
    ) -> None:
        """Plan what is meant.

        Args:
            log_path: The log that holds it.
            project: The project's name.
            page: Its page to begin with; None for the one chosen last in this run, or for all.
            only: The numbers of the choices to plan; None for all.
        """
        super().__init__(log_path)
        if page is None and only is None:
            page = self.last_page.get((log_path, project))
        self._project, self._page, self._only = project, page, only
        self._choices: list[Choice] = []
        self._plan = Plan(0, ())
        self._bare: set[int] = set()  # areas left as bare paper: no pass has them
        self._coloured: set[str] = set()  # the palettes whose tints are worked out, or soon
        self._presses: dict[str, Press] = {}  # by the palette's digest

    def compose(self) -> ComposeResult:
        """The counts, the passes, the keys."""
        yield Lines(id="passes-head")
        with Horizontal(id="passes-body"):
            yield PassesList()
            yield PlanPicture(self._dots)
        yield from self.foot()

    def needs(self, work: str, deed: str) -> bool:
        """No key waits for the colours."""
        del work, deed
        return False

    @property
    def passes(self) -> PassesList:
        """The list."""
        return self.query_one(PassesList)

    def on_mount(self) -> None:
        """Plan the page."""
        self.passes.focus()
        self.watch(self.passes, "cursor", self._show_picture, init=False)
        self.read_anew()
        self.call_after_refresh(self.show_next)  # only then is known how many lines are in view

    def read_anew(self) -> None:
        """Plan what the log holds now."""
        choices = self.with_log(lambda log: log.choices(self._project)) or []
        self._choices = [c for c in choices if self._only is None or c.id in self._only]
        if self._choices and self._page not in self._pages():
            self._page = None  # it was renamed
        self.passes.colours = {choice.id: rgb_of_hex(choice.srgb) for choice in self._choices}
        self.replan()

    def replan(self) -> None:
        """Plan what is chosen, and show the first pass that is not laid."""
        chosen = on_page(self._choices, self._page)
        read = self.with_log(lambda log: self._read(log, chosen))
        areas, lost = read or ((), ())
        self._plan = plan(areas)
        self._bare = {area.key for area in areas if not area.brushes}
        self.passes.lines, self.passes.with_page = _lines(self._plan), self._page is None
        self.show_next()
        self._show_head()
        if read is not None:
            nothing = "" if areas else "nothing to paint here yet: take some recipes first"
            self.say(left_out_in_words(lost) or nothing)
        palettes = {one.palette.digest: one.palette for one in self._plan.passes}
        if palettes.keys() - self._coloured:
            self._coloured |= palettes.keys()
            self._colour(tuple(palettes.values()))

    def show_next(self) -> None:
        """Point at the first pass that is not laid; when all are, at the first."""
        lines, ticked = self.passes.lines, self.passes.ticked
        to_lay = (
            place
            for place, line in enumerate(lines)
            if line.is_pass and not ticked.issuperset(line.ticks)
        )
        place = next(to_lay, 0)
        headed = place > 0 and lines[place - 1].heads
        self.passes.show_blocks(len(lines), place, first=place - headed)
        self._show_picture()

    def _show_picture(self) -> None:
        """The plan beside the list, with the pass that the cursor is in."""
        passes, lines, tints = self._plan.passes, self.passes.lines, self.passes.tints
        here = passes.index(lines[self.passes.cursor].one) if lines else 0
        alone = {
            place: tints.get((one.palette.digest, one.brush.ink, one.brush.tint))
            for place, one in enumerate(passes)
        }
        ticked = self.passes.ticked
        self.query_one(PlanPicture).show(passes, here, ticked, self.passes.colours, alone)

    def _dots(
        self, one: Pass, width: int, height: int, period: float
    ) -> npt.NDArray[np.uint8] | None:
        """The dots of a pass alone on its paper."""
        from tuimatch.recipe.dots import View

        press = self._presses.get(one.palette.digest)
        if press is None:
            return None
        ink = [ink.name for ink in one.palette.inks].index(one.ink)
        return press.alone(ink, one.brush.tint, View(height, width, period))

    @on(PlanPicture.Pointed)
    def _pointed(self, message: PlanPicture.Pointed) -> None:
        one = self._plan.passes[message.place]
        lines = self.passes.lines
        self.passes.cursor = next(p for p, line in enumerate(lines) if line == Line(one))

    def _show_head(self) -> None:
        areas = {area.key for one in self._plan.passes for area in one.areas} | self._bare
        count = f"{len(areas)} {'area' if len(areas) == 1 else 'areas'}"
        page = "" if self._page is None else f"page {printable(self._page) or '–'}, "
        if self._only is not None:
            where = f"{page}{len(areas)} ticked"
        else:
            where = f"{page or 'all pages, '}{count}"
        if self.size.width >= NARROW:
            where = f"{printable(self._project)} · {where}"
        laid = sum(self.passes.ticked.issuperset(Line(one).ticks) for one in self._plan.passes)
        counts = self._plan.in_short() if self.size.width < NARROW else self._plan.in_words()
        self.query_one("#passes-head", Lines).show(
            f"{where} · {laid} of {len(self._plan.passes)} laid\n{counts}"
        )

    def on_resize(self) -> None:
        """Say it in as many words as there is room for."""
        self._show_head()

    def _read(
        self, log: Log, chosen: Sequence[Choice]
    ) -> tuple[tuple[Area, ...], tuple[Choice, ...]]:
        self.passes.ticked = log.ticks.of(choice.id for choice in chosen)
        return areas_of_log(log, chosen)

    @work(thread=True, exclusive=True, group="colour")
    def _colour(self, palettes: Collection[Palette]) -> None:
        import numpy as np

        from tuimatch.colour.colorimetry import displayed
        from tuimatch.recipe.halftone import Halftone

        tints: dict[Tint, RGB] = {}
        for palette in palettes:
            halftone = Halftone(palette)
            for position, ink in enumerate(palette.inks):
                alone = np.zeros((len(ink.tints), len(palette.inks)))
                alone[:, position] = ink.tints
                shown = displayed(halftone.colour_of(alone)).srgb.tolist()
                for tint, (r, g, b) in zip(ink.tints, shown, strict=True):
                    tints[(palette.digest, ink.name, tint)] = (r, g, b)
        self.post_message(self.Coloured(tints))
        from tuimatch.recipe import dots, recipes

        for palette in palettes:
            self.post_message(self.Mixed(palette.digest, dots.Press(recipes.mix(palette))))

    @on(Mixed)
    def _mixed(self, message: Mixed) -> None:
        self._presses[message.digest] = message.press
        self._show_picture()

    @on(Coloured)
    def _show_colours(self, message: Coloured) -> None:
        self.passes.tints |= message.tints
        self.passes.refresh()
        self._show_picture()

    @on(BlockList.Chosen)
    def _clicked_again(self) -> None:
        self.action_tick()

    def action_tick(self) -> None:
        """Tick a pass with all its areas, or one area in it; ticked already, untick it."""
        lines = self.passes.lines
        ticks = lines[self.passes.cursor].ticks if lines else ()
        if not ticks:
            return
        on_now = not all(tick in self.passes.ticked for tick in ticks)
        line = lines[self.passes.cursor]
        of = f" for {line.area.name}" if line.area is not None else ""
        what = f"{'ticked' if on_now else 'unticked'} {line.one.words}{of}"

        def put(log: Log) -> set[Tick]:
            log.tick(ticks, on_now, what, self._project)
            return log.ticks.of(self.passes.colours)

        ticked = self.with_log(put)
        if ticked is not None:
            self.passes.ticked = ticked
            self.passes.refresh()
            self._show_picture()
            self._show_head()

    def action_turn(self, way: str) -> None:
        """Undo the last change of the project, or do again what was undone last."""

        def turn(log: Log) -> str:
            said = log.undo(self._project) if way == "undo" else log.redo(self._project)
            return said or f"nothing to {way}"

        said = self.with_log(turn)
        if said is not None:
            place, first = self.passes.cursor, self.passes.first
            self.read_anew()
            count = len(self.passes.lines)
            self.passes.show_blocks(count, max(0, min(place, count - 1)), first)
            self._show_picture()
            self.say(said)

    def action_page(self) -> None:
        """The next page, and after the last all of them."""
        pages = self._pages()
        place = pages.index(self._page) if self._page in pages else 0
        self._page = pages[(place + 1) % len(pages)]
        if self._only is None:
            self.last_page[self.path, self._project] = self._page
        self.replan()

    def _pages(self) -> list[str | None]:
        return [None, *pages_of(self._choices)]

    def action_economy(self) -> None:
        """Accept slightly worse matches for these areas, to save passes."""
        from tuimatch.tui.screens.economy_screen import EconomyScreen

        def back(written: bool | None) -> None:
            if written:
                self.read_anew()

        screen = EconomyScreen(self.path, self._project, self._page, self._only)
        self.app.push_screen(screen, back)

    def answered(self, what: str, answer: str) -> bool:
        """Nothing is asked here."""
        return True
