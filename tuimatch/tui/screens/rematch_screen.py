"""Matching areas together again on another palette: old beside new, all taken in one step."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from textual import getters, on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message

from tuimatch.errors import TuimatchError
from tuimatch.log import Choice, Log
from tuimatch.text import printable, rgb_of_hex
from tuimatch.tui.screens.explained import help_key, own_binding
from tuimatch.tui.screens.log_screen import LogScreen
from tuimatch.tui.widgets.block_list import DIM, HERE, NARROW, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.paint import RGB, block, half_block

if TYPE_CHECKING:
    from tuimatch.palette.model import Palette
    from tuimatch.planning.page import Again
    from tuimatch.planning.page_match import PageMatch, State

_key = partial(own_binding, "rematch")


@dataclass(frozen=True)
class Row:
    """An area before and after: what it is, its colours, its recipes in words.

    Attributes:
        wanted: The colour as meant on the new paper.
        why_not: What it is not kept apart from any more, and why; empty where all is kept.
    """

    name: str
    wanted: RGB
    before: RGB
    after: RGB
    old: str
    new: str
    delta_e: tuple[float, float]
    why_not: str


@dataclass(frozen=True, eq=False)
class Answer:
    """What was found: the areas, and what taking it puts into the log."""

    again: Again
    found: PageMatch
    changed: tuple[Choice, ...]
    rows: tuple[Row, ...]


def rematched(
    log: Log,
    meant: list[Choice],
    palette: Palette,
    watch: Callable[[State], bool] | None = None,
) -> Answer | None:
    """Match choices together again; None where none of them may change.

    Args:
        log: Has the choices, and what of them is laid already.
        meant: The choices.
        palette: What they are matched on.
        watch: Looks on and may stop the search.
    """
    from tuimatch.match.limits import start
    from tuimatch.planning import page as pages
    from tuimatch.recipe import recipes

    again = pages.of_log(log, meant, recipes.mix(palette), None)
    if not again.areas:
        return None
    found = pages.solve(again.page, start(palette), watch=watch)
    palettes = {own[-1].palette_digest: log.palette(own[-1]) for own in again.areas}
    rows, page = [], again.page
    for place, (colour, own, row) in enumerate(
        zip(page.colours, again.areas, found.rows, strict=True)
    ):
        old = own[-1]
        where = ", ".join(dict.fromkeys(choice.page for choice in own if choice.page))
        not_kept = (
            (page.colours[r.second if r.first == place else r.first].name, why)
            for r, why in ((found.relations[n], why) for n, why in found.why_not.items())
            if place in (r.first, r.second)
        )
        rows.append(
            Row(
                f"{colour.name}{f' · page {where}' if where else ''}",
                colour.meant.srgb,
                rgb_of_hex(old.srgb),
                page.recipes.rgb_of(row),
                old.recipe_words(palettes[old.palette_digest]),
                palette.recipe_words(page.recipes.tints_of(row)),
                (old.delta_e, found.delta_e[place]),
                "; ".join(f"too near to {name}: {why}" for name, why in not_kept),
            )
        )
    return Answer(again, found, tuple(pages.replaced(again, found)), tuple(rows))


class RematchList(BlockList):
    """Two lines for each area: wanted, old and new colour with name and ΔE, then both recipes."""

    HIGH = 2

    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[Row, ...] = ()

    def show(self, rows: tuple[Row, ...]) -> None:
        """Show areas."""
        self.rows = rows
        self.show_blocks(len(rows))

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """One of the two lines of an area."""
        row, here = self.rows[place], place == self.cursor
        style = HERE if here else PLAIN
        draw = block if part == 0 else half_block
        wide = 8 if width >= 90 else 5 if width >= NARROW else 3
        colours = [draw(rgb, wide) for rgb in (row.wanted, row.before, row.after)]
        lead = [
            Segment("▸" if here and part == 0 else " ", style),
            Segment("!" if part == 0 and row.why_not else " ", HERE),
            *colours,
            Segment(" "),
        ]
        room = width - 3 - 3 * wide
        before, after = row.delta_e
        if part == 0:
            said = f"ΔE {before:.2f} → {after:.2f}"
            return [*lead, fitted(printable(row.name), room - len(said) - 2, style), Segment(said)]
        words = f"{row.old}  →  {row.new}" if row.old != row.new else f"{row.new}, as before"
        return [*lead, fitted(printable(words), room, style if here else DIM)]


class RematchScreen(LogScreen[str | None]):
    """Answers what was taken, in words; None where nothing was."""

    DEFAULT_CSS = """
    RematchScreen {
        #rematch-head { height: 3; padding: 0 1; }
        #rematch-foot { height: 4; margin-top: 1; padding: 0 1; }
    }
    """
    WORDS = (
        "ΔE",
        "recipe",
        "proved",
        "stopped early",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        _key("enter", "take", "Take", "Put all these recipes into the log", "take", show=True),
        _key("escape", "leave", "Back", "Stop the search, or change nothing", "back", show=True),
        help_key("rematch"),
    ]

    areas = getters.query_one(RematchList)

    class Done(Message):
        """The areas are matched, or it is known why not."""

        def __init__(self, answer: Answer | None, refusal: str) -> None:
            super().__init__()
            self.answer, self.refusal = answer, refusal

    class Went(Message):
        """So many areas still want more recipes looked at."""

        def __init__(self, open: int) -> None:
            super().__init__()
            self.open = open

    def __init__(
        self, log_path: Path, project: str, find: Callable[[Log], list[Choice]], palette: Palette
    ) -> None:
        """Match what is found again.

        Args:
            log_path: The log's file.
            project: Whose areas they are.
            find: Gives the choices meant, all of the project.
            palette: What they are matched on.
        """
        super().__init__(log_path)
        self._project, self._find, self._palette = project, find, palette
        self._answer: Answer | None = None
        self._working, self._stopped = True, False

    def compose(self) -> ComposeResult:
        """Head, areas, the one under the cursor in full, message, keys."""
        yield Lines(id="rematch-head")
        yield RematchList()
        yield Lines(id="rematch-foot")
        yield from self.foot()

    def on_mount(self) -> None:
        """Begin at once."""
        self.areas.focus()
        self.watch(self.areas, "cursor", self._show_area, init=False)
        self._head("matching …")
        self._match()

    def needs(self, work: str, deed: str) -> bool:
        """Leaving stops the search; the rest waits for it."""
        del work
        return deed not in ("leave", "help")

    @work(thread=True, group="rematch")
    def _match(self) -> None:
        try:
            with Log(self.path) as log:
                answer = rematched(log, self._find(log), self._palette, self._go_on)
            none = f"{self._project} has no area here that may change"
            self.post_message(self.Done(answer, "" if answer else none))
        except TuimatchError as error:
            self.post_message(self.Done(None, str(error)))

    def _go_on(self, state: State) -> bool:
        self.post_message(self.Went(state.open))
        return not self._stopped

    @on(Went)
    def _went(self, message: Went) -> None:
        if self._working and not self._stopped:
            self._head(f"matching, {message.open} still open; Esc stops with the best so far")

    @on(Done)
    def _done(self, message: Done) -> None:
        self._working = False
        self._answer = message.answer
        if message.answer is None:
            self._head("nothing to match")
            self.say(message.refusal)
            return
        self.areas.show(message.answer.rows)
        self._show_answer(message.answer)
        self._show_area()

    # Showing.

    def _head(self, state: str) -> None:
        head = f"{self._project}, again on {self._palette.name}"
        self.query_one("#rematch-head", Lines).show(f"{printable(head)}\n{state}")

    def _show_answer(self, answer: Answer) -> None:
        found, laid = answer.found, len(answer.again.laid)
        kept = len(found.relations) - len(found.why_not)
        total = sum(map(len, answer.again.areas))
        lines = [
            f"{len(answer.changed)} of {total} areas change, "
            f"{kept} of {len(found.relations)} pairs still differ",
            found.certainty() + (f"; {laid} laid already, so kept" if laid else ""),
        ]
        self._head("\n".join(lines))

    def _show_area(self) -> None:
        rows = self.areas.rows
        lines = []
        if rows:
            row = rows[self.areas.cursor]
            lines = [f"old: {row.old}", f"new: {row.new}", *filter(None, [row.why_not])]
        self.query_one("#rematch-foot", Lines).show("\n".join(map(printable, lines)))

    # Keys.

    def action_take(self) -> None:
        """Put all of it into the log, in one step."""
        answer = self._answer
        if answer is None:
            return
        from tuimatch.planning import page as pages

        count = len(answer.changed)
        areas = f"{count} area{'s' * (count != 1)}"
        what = f"matched {areas} again on {self._palette.stem}"

        def put(log: Log) -> bool:
            pages.put_back(log, self._palette, answer.changed, what)
            return True

        if not count:
            self.dismiss("nothing changes")
        elif self.with_log(put):
            self.dismiss(f"{what}; u undoes it")

    def action_leave(self) -> None:
        """Stop the search, or go back."""
        if self._working:
            self._stopped = True
            self._head("stopping …")
        else:
            self.dismiss(None)
