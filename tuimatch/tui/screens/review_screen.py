"""The review: everything that was chosen, to be found, used again, changed and written out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import sleep
from typing import TYPE_CHECKING, Any, ClassVar

from rich.cells import cell_len
from textual import getters, on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Vertical
from textual.content import Content
from textual.events import Click
from textual.message import Message
from textual.widgets import Static
from textual.worker import get_current_worker

from tuimatch.errors import TuimatchError
from tuimatch.log import Choice, Log
from tuimatch.text import printable
from tuimatch.tui import clipboard
from tuimatch.tui.asked import Asked
from tuimatch.tui.screens import guide_file
from tuimatch.tui.screens.explained import not_in_use
from tuimatch.tui.screens.log_screen import LogScreen
from tuimatch.tui.screens.review_keys import REVIEW_KEYS
from tuimatch.tui.screens.review_state import Question, ReviewState
from tuimatch.tui.widgets.block_list import BlockList, fitted
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.prompt import Prompt
from tuimatch.tui.widgets.review_list import ReviewList, heading, order_at
from tuimatch.tui.widgets.seam import Seam

if TYPE_CHECKING:
    from tuimatch.palette.model import Palette
    from tuimatch.planning.consistency import Finding

_IN_WORDS = {
    "newest": "newest first",
    "oldest": "oldest first",
    "label": "by label",
    "page": "by page",
    "delta_e": "by ΔE",
}
_LOOK_SECONDS = 2.0  # between looks at what other windows have changed
_PAUSE = 0.1  # seconds without another key before what takes longer is begun


class ReviewScreen(LogScreen[Choice | None]):
    """The log of one project or of all; answers the choice whose target is wanted again.

    Attributes:
        state: What is found, where the cursor is, what is ticked and asked.
    """

    WORDS = (
        "ΔE",
        "recipe",
        "conflict",
        "fitted to this paper",
        "white fitted",
        "as given",
        "#rrggbb",
    )
    BINDINGS: ClassVar[list[BindingType]] = REVIEW_KEYS
    DEFAULT_CSS = """
    ReviewScreen {
        #review-head { height: 1; padding: 0 1; }
        #review-columns { height: 1; padding: 0 1; color: $secondary; }
        #review-body { height: 1fr; }
        #review-panel { height: auto; background: $panel; }
        #review-foot { height: 2; padding: 0 1; }
        &.-conflicts #review-foot { height: 6; }
        &.-conflicts.-wide #review-foot { height: 4; }
        &.-short #review-foot { height: 2; }
        Seam { display: none; height: 14; }
        &.-broad {
            #review-body { layout: horizontal; }
            #review-panel { width: 44; height: 100%; }
            #review-foot { height: 1fr; padding: 1; }
            Seam { display: block; }
        }
    }
    """
    HORIZONTAL_BREAKPOINTS = [(0, "-slim"), (96, "-wide"), (140, "-broad")]  # noqa: RUF012 (Textual's way)
    VERTICAL_BREAKPOINTS = [(0, "-short"), (18, "-long")]  # noqa: RUF012

    class Listed(Message):
        """The numbers of all choices asked for are there."""

        def __init__(self, question: Question, numbers: list[int]) -> None:
            super().__init__()
            self.question, self.numbers = question, numbers

    class Checked(Message):
        """What disagrees is known."""

        def __init__(self, project: str | None, findings: list[Finding]) -> None:
            super().__init__()
            self.project, self.findings = project, findings

    class Ready(Message):
        """The colours of targets can be worked out without holding up the screen."""

    class Said(Message):
        """Something done in a thread has a line to say."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    choices = getters.query_one(ReviewList)

    def __init__(self, log_path: Path, project: str, palette: Palette | None = None) -> None:
        """Open on a project's newest choice.

        Args:
            log_path: The log's file.
            project: Whose choices to show first.
            palette: The palette in use: choices made with one of its name are checked against it.
        """
        super().__init__(log_path)
        self._palettes = () if palette is None else (palette,)
        self.state = ReviewState(log_path, project, copy=self._copy, write_guide=self._start_guide)
        self.access = self.state.access
        self._asked: Asked | None = None  # the question that is shown

    def compose(self) -> ComposeResult:
        """Head, choices, the one under the cursor in full, message, keys or question."""
        yield Lines(id="review-head")
        yield Lines(id="review-columns")
        with Container(id="review-body"):
            yield ReviewList(self.state.fetch, self.state.recipe_words)
            with Vertical(id="review-panel"):
                yield Seam()
                yield Static(id="review-foot", markup=False)
        yield from self.foot()

    def on_mount(self) -> None:
        """Show the newest, and start what takes longer."""
        self.choices.focus()
        self.watch(self.choices, "cursor", self._cursor_moved, init=False)
        self._get_ready()
        self.state.is_behind()  # from here on
        self.call_after_refresh(self._find_anew)
        self.set_interval(_LOOK_SECONDS, self._look_again)

    def on_resize(self) -> None:
        """Set the head to the new width."""
        self.call_after_refresh(self._show_head)

    def needs(self, work: str, deed: str) -> bool:
        """Typing need not wait for the list; only going to the next conflict needs the check."""
        if work in ("list", "guide"):
            return deed != "type"
        return work == "check" and deed == "next_finding"

    # What takes longer, in threads of its own.

    def _look_again(self) -> None:
        if self.app.screen is self and self.state.asked is None and self.state.is_behind():
            self._find_anew()

    def _find_anew(self) -> None:
        self.state.look_up()
        self.show()
        self._check()

    @work(thread=True, exclusive=True, group="list")
    def _find_rest(self) -> None:
        question = text, whose, order = self.state.question
        sleep(_PAUSE)
        if get_current_worker().is_cancelled:
            return
        self._in_thread(
            lambda log: self.post_message(
                self.Listed(question, log.numbers(text, whose, order=order))
            )
        )

    @on(Listed)
    def _listed(self, message: Listed) -> None:
        self.action_do("found", message.question, message.numbers)

    @work(thread=True, exclusive=True, group="check")
    def _check(self) -> None:
        """Find out what disagrees."""
        whose = self.state.whose
        sleep(_PAUSE)
        if get_current_worker().is_cancelled:
            return

        def check(log: Log) -> None:
            from tuimatch.planning import consistency

            projects = log.projects.all(archived=True)
            names = [project.name for project in projects] if whose is None else [whose]
            palette_now = consistency.palette_finder(*self._palettes)
            findings = [
                finding
                for name in names
                for finding in consistency.check(log.choices(name), palette_now)
            ]
            self.post_message(self.Checked(whose, findings))

        self._in_thread(check)

    @on(Checked)
    def _checked(self, message: Checked) -> None:
        self.action_do("checked", message.project, message.findings)

    @work(thread=True, group="ready")
    def _get_ready(self) -> None:
        import tuimatch.colour.colorimetry  # noqa: F401

        self.post_message(self.Ready())

    @on(Ready)
    def _ready(self) -> None:
        self.choices.with_targets = True
        self.choices.fetch_again()
        self._show_choice()

    @work(thread=True, exclusive=True, group="copy")
    def _copy_to_desktop(self, text: str) -> None:
        self.post_message(self.Said(f"recipe {clipboard.send_to_desktop(text)}"))

    def _start_guide(self, project: str, path: Path) -> None:
        self._write_guide(project, path)

    @work(thread=True, exclusive=True, group="guide")
    def _write_guide(self, project: str, path: Path) -> None:
        self._in_thread(
            lambda log: self.post_message(self.Said(guide_file.write(log, project, path)))
        )

    def _in_thread(self, work: Callable[[Log], object]) -> None:
        """Do something with a log of the thread's own, and say why when it cannot be done."""
        try:
            with Log(self.path) as log:
                work(log)
        except TuimatchError as error:
            self.post_message(self.Said(str(error)))

    @on(Said)
    def _said(self, message: Said) -> None:
        self.action_do("say", message.text)

    # Showing.

    def show(self) -> None:
        """Bring every widget to what the state is now."""
        state = self.state
        if state.more:
            self._find_rest()
        self.choices.with_project = state.everyone
        self.choices.marked, self.choices.ticked = state.findings.keys(), state.ticked
        self.choices.show(state.numbers, state.place)
        self._show_head()
        self._show_choice()
        self.show_notice(self.access.notice)
        self.say(state.said)
        if state.asked is not self._asked:
            self._asked = state.asked
            if state.asked is not None:
                asked = state.asked
                self.ask(asked.what, state.said, asked.answer, replace=asked.replace)
            else:
                self.close_prompt()

    def _show_head(self) -> None:
        state = self.state
        whose = printable("all projects" if state.everyone else state.project)
        holding = f"“{printable(state.filter)}” in " if state.filter else ""
        order = f" · {_IN_WORDS[state.order]}"
        count, conflicts, ticked = len(state.numbers), state.conflicts, len(state.ticked)
        counts = [f"{'more than ' * state.more}{count:,} recipe{'s' * (count != 1)}"]
        counts += [f"{conflicts:,} conflict{'s' * (conflicts != 1)}"] * bool(conflicts)
        counts += [f"{ticked:,} ticked"] * bool(ticked)
        if state.unread:
            counts = [""]
        head = self.query_one("#review-head", Lines)
        ways = [(f"{holding}{whose}{order}", counts), (f"{holding}{whose}", counts)]
        ways += [(f"{holding}{whose}", counts[-shown:]) for shown in range(len(counts) - 1, 0, -1)]
        fits = (one for one in ways if cell_len(one[0] + ", ".join(one[1])) + 2 <= head.size.width)
        left, kept = next(fits, ways[-1])
        right = ", ".join(kept)
        room = head.size.width - cell_len(right) - 2
        head.show(fitted(left, room).text + "  " + right)
        self.query_one("#review-columns", Lines).show(heading(self.choices.size.width))
        self.set_class(conflicts > 0, "-conflicts")

    def _show_choice(self) -> None:
        foot = self.query_one("#review-foot", Static)
        foot.update(Content("\n".join(map(printable, self.state.facts()))), layout=False)
        self.query_one(Seam).show(*self.choices.colours_here)

    def _cursor_moved(self) -> None:
        if self.choices.cursor != self.state.place:
            self.state.move_to(self.choices.cursor)
            self._show_choice()

    # Keys.

    def action_do(self, what: str, *arguments: Any) -> None:
        """Do what a key of the state does, and show what it is then."""
        getattr(self.state, what)(*arguments)
        self.show()

    def unused(self, key: str) -> None:
        """Say that a key does nothing here, until the state says something else."""
        self.action_do("say", not_in_use(key))

    def action_change(self, what: str, *arguments: Any) -> None:
        """The same for a change after which other choices may conflict."""
        self.action_do(what, *arguments)
        self._check()

    @on(Click, "#review-columns")
    def _heading_clicked(self, event: Click) -> None:
        """Sort by the column whose heading was clicked."""
        order = order_at(self.choices.size.width, event.x, self.state.order)
        if order is not None and self.state.asked is None:
            self.action_do("sort_by", order)

    @on(BlockList.Chosen)
    def action_reuse(self) -> None:
        """Close with the choice under the cursor."""
        if (choice := self.state.choice) is not None:
            self.dismiss(choice)

    def action_back(self) -> None:
        """Take the filter off, or close."""
        if self.state.back():
            self.dismiss(None)
        else:
            self.show()

    def action_passes(self) -> None:
        """Plan the passes of what is ticked."""
        from tuimatch.tui.screens.passes_screen import PassesScreen

        if meant := self._meant():
            self.app.push_screen(PassesScreen(self.path, meant[0], only=meant[1]), self._planned)

    def action_economy(self) -> None:
        """Save passes among what is ticked."""
        from tuimatch.tui.screens.economy_screen import EconomyScreen

        if meant := self._meant():
            self.app.push_screen(EconomyScreen(self.path, meant[0], only=meant[1]), self._planned)

    def action_palette(self) -> None:
        """Match what is ticked, or all that is shown, again on another palette."""
        from tuimatch.palette import file as palette_file
        from tuimatch.tui.screens.palette_screen import PaletteScreen
        from tuimatch.tui.screens.rematch_screen import RematchScreen

        meant = self.state.to_rematch()
        self.show()
        if meant is None:
            return
        project, find = meant

        def chosen(palette: Palette | None) -> None:
            if palette is not None:
                screen = RematchScreen(self.path, project, find, palette)
                self.app.push_screen(screen, self._rematched)

        now = next(iter(self._palettes), None) or palette_file.load(palette_file.DEFAULT)
        self.app.push_screen(PaletteScreen(now), chosen)

    def _rematched(self, said: str | None) -> None:
        """Back, with other recipes where they were taken."""
        self._find_anew()
        if said:
            self.action_do("say", said)

    def _meant(self) -> tuple[str, list[int]] | None:
        meant = self.state.meant()
        self.show()
        return meant

    def _planned(self, _: bool | None) -> None:
        """Back from planning, where recipes may have been changed."""
        self._find_anew()

    def _copy(self, text: str) -> None:
        clipboard.send_to_terminal(self.app, text)
        self._copy_to_desktop(text)

    # Answers.

    @on(Prompt.Changed)
    def _typed(self, message: Prompt.Changed) -> None:
        if self.state.asked is not None and self.state.asked.what == "filter":
            self.action_do("filter_by", message.value)

    def answered(self, what: str, answer: str) -> bool:
        """Take an answer; the state says whether it will do."""
        if what in ("filter", "guide"):
            self.action_do("answer", answer)
        else:
            self.action_change("answer", answer)
        return False

    def left(self, what: str) -> None:
        """The question was left."""
        self.action_do("leave")
