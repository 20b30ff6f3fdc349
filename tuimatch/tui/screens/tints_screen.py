"""Which one more tint would bring a project's areas nearest, and which tints are used least."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from tuimatch.log import Choice
from tuimatch.log.area import pages_of
from tuimatch.planning.areas import Area, areas_of_log, left_out_in_words, on_page
from tuimatch.text import printable
from tuimatch.tui.screens.explained import help_key
from tuimatch.tui.screens.log_screen import LogScreen
from tuimatch.tui.widgets.block_list import DIM, HERE, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.lines import Lines

if TYPE_CHECKING:
    from tuimatch.planning.tints import InUse, OneMore, Tints
    from tuimatch.recipe.recipes import Recipes


class TintsList(BlockList):
    """Tints worth making, then those the ladders have: what each is, and the areas it moves."""

    HIGH = 2

    def __init__(self) -> None:
        super().__init__()
        self._found: Tints | None = None
        self._with_page = True

    def show(self, found: Tints, *, with_page: bool) -> None:
        """Show an answer from its top."""
        self._found, self._with_page = found, with_page
        self.show_blocks(len(found.best) + len(found.in_use))

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """The tint and what it does to all areas, or the areas that it does most to."""
        from tuimatch.planning.tints import brush_in_words, moved_in_words

        found = self._found
        assert found is not None
        here = place == self.cursor
        style = HERE if here else PLAIN
        if place < len(found.best):
            worth = found.best[place]
            brush, moved, says = worth.brush, worth.gains, self._made(worth)
        else:
            in_use = found.in_use[place - len(found.best)]
            brush, moved, says = in_use.brush, in_use.losses, self._given_up(in_use)
        if part:
            words = moved_in_words(moved, most=6, with_page=self._with_page)
            return [fitted(f"    {words}", width, DIM)]
        name = brush_in_words(brush, several=found.several)
        return [fitted(f"{'▸' if here else ' '} {name}: {says}", width, style)]

    def _made(self, one: OneMore) -> str:
        return f"worth making, total ΔE {one.total:.1f}"

    def _given_up(self, one: InUse) -> str:
        areas = "1 area" if one.uses == 1 else f"{one.uses} areas"
        label = f"“{printable(one.label)}”, " if one.label else ""
        return f"{label}in {areas}, giving it up costs ΔE {one.cost:.1f}"


class TintsScreen(LogScreen[None]):
    """The tints of a project or a page."""

    DEFAULT_CSS = "TintsScreen #tints-head { height: 2; padding: 0 0 0 1; text-style: bold; }"
    WORDS = (
        "total ΔE",
        "ΔE",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("g", "page", "Page", id="tints.page", tooltip="The next page, or all of them"),
        help_key("tints"),
        Binding("escape", "dismiss(None)", "Back", id="tints.back", tooltip="Go back"),
    ]

    class Found(Message):
        """The tints of some areas are worked out."""

        def __init__(self, areas: tuple[Area, ...], found: Tints) -> None:
            super().__init__()
            self.areas, self.found = areas, found

    def __init__(self, log_path: Path, project: str, page: str | None = None) -> None:
        """Ask for a project.

        Args:
            log_path: The log that holds it.
            project: The project's name.
            page: Its page to begin with; None for all.
        """
        super().__init__(log_path)
        self._project, self._page = project, page
        self._choices: list[Choice] = []
        self._areas: tuple[Area, ...] = ()
        self._tables: dict[str, Recipes] = {}

    def compose(self) -> ComposeResult:
        """What is meant and its total, the tints, the keys."""
        yield Lines(id="tints-head")
        yield TintsList()
        yield from self.foot()

    def needs(self, work: str, deed: str) -> bool:
        """No key waits for the answer."""
        del work, deed
        return False

    def on_mount(self) -> None:
        """Work out the first answer."""
        self.query_one(TintsList).focus()
        self._choices = self.with_log(lambda log: log.choices(self._project)) or []
        if self._page not in self._pages():
            self._page = None
        self._ask()

    def _ask(self) -> None:
        meant = on_page(self._choices, self._page)
        read = self.with_log(lambda log: areas_of_log(log, meant))
        self._areas, lost = read or ((), ())
        self._head("trying every tint …")
        if read is not None:
            self.say(left_out_in_words(lost))
        self._find(self._areas)

    @work(thread=True, exclusive=True, group="tints")
    def _find(self, areas: tuple[Area, ...]) -> None:
        from tuimatch.planning.tints import tints

        self.post_message(self.Found(areas, tints(areas, self._tables)))

    @on(Found)
    def _show(self, message: Found) -> None:
        if message.areas is self._areas:  # else another page was asked for meanwhile
            self._head(message.found.in_words())
            self.query_one(TintsList).show(message.found, with_page=self._page is None)

    def _head(self, said: str) -> None:
        where = "all pages" if self._page is None else f"page {printable(self._page) or '–'}"
        self.query_one("#tints-head", Lines).show(f"{printable(self._project)}, {where}\n{said}")

    def action_page(self) -> None:
        """The next page, and after the last all of them."""
        pages = self._pages()
        self._page = pages[(pages.index(self._page) + 1) % len(pages)]
        self._ask()

    def _pages(self) -> list[str | None]:
        return [None, *pages_of(self._choices)]
