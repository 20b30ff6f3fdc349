"""What the review shows: choices of the log as they are found, and what disagrees among them.

This half looks things up and shows them; `review_screen` adds the keys.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import sleep
from typing import TYPE_CHECKING

from rich.cells import cell_len
from textual import on, work
from textual.app import ComposeResult
from textual.content import Content
from textual.message import Message
from textual.widgets import Static
from textual.worker import get_current_worker

from tuimatch.errors import TuimatchError
from tuimatch.log import Choice, Log
from tuimatch.text import printable
from tuimatch.tui.screens.log_screen import LogScreen
from tuimatch.tui.widgets.block_list import fitted
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.review_list import ReviewList, heading

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
_AT_ONCE = 200  # so many are looked up on the screen's thread, the rest in another
_PAUSE = 0.1  # seconds without another key before the rest is looked up


class ReviewView(LogScreen[Choice | None]):
    """The log of one project or of all; answers the choice whose target is wanted again.

    Attributes:
        project: Whose choices they are; undoing a renaming changes it.
    """

    DEFAULT_CSS = """
    ReviewView {
        #review-head { height: 1; padding: 0 1; }
        #review-columns { height: 1; padding: 0 1; color: $secondary; }
        #review-foot { height: 6; margin-top: 1; padding: 0 1; }
    }
    """

    class Listed(Message):
        """The numbers of all choices asked for are there."""

        def __init__(self, asked: tuple[str, str | None, str], numbers: list[int]) -> None:
            super().__init__()
            self.asked, self.numbers = asked, numbers

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

    def __init__(self, log_path: Path, project: str, palette: Palette | None = None) -> None:
        """Open on a project's newest choice.

        Args:
            log_path: The log's file.
            project: Whose choices to show first.
            palette: The palette in use: choices made with one of its name are checked against it.
        """
        super().__init__(log_path)
        self.project = project
        self._palettes = () if palette is None else (palette,)
        self.everyone = False
        self.order = "newest"
        self.filter = ""
        self._more = False  # whether there are choices that are not in the list yet
        self._unread = True  # whether the log could not be read, or not yet
        self._findings: dict[int, list[Finding]] = {}

    @property
    def choices(self) -> ReviewList:
        """The list."""
        return self.query_one(ReviewList)

    def compose(self) -> ComposeResult:
        """Head, choices, the one under the cursor in full, message, keys or question."""
        yield Lines(id="review-head")
        yield Lines(id="review-columns")
        yield ReviewList(lambda numbers: self.with_log(lambda log: log.numbered(numbers)) or [])
        yield Static(id="review-foot", markup=False)
        yield from self.foot()

    def on_mount(self) -> None:
        """Show the newest, and start what takes longer."""
        self.choices.focus()
        self.watch(self.choices, "cursor", self._show_choice, init=False)
        self._get_ready()
        self.call_after_refresh(self.look_up_anew)

    def on_resize(self) -> None:
        """Set the head to the new width."""
        self.call_after_refresh(self._show_head)

    def needs(self, work: str, deed: str) -> bool:
        """What is typed needs no list; only the way to what disagrees needs the check."""
        if work in ("list", "guide"):
            return deed != "type"
        return work == "check" and deed == "next_finding"

    # Looking up.

    @property
    def whose(self) -> str | None:
        """The project asked for; None for all."""
        return None if self.everyone else self.project

    def _asked(self) -> tuple[str, str | None, str]:
        return self.filter, self.whose, self.order

    def look_up_anew(self) -> None:
        """Look up what is asked for now, and what disagrees in it."""
        self.look_up()
        self.check()

    def look_up(self, *, top: bool = True) -> None:
        """Look up what is asked for now; begin at the top, or stay with the same choice."""
        text, whose, order = self._asked()

        def look(log: Log) -> list[int]:
            return log.numbers(text, whose, order=order, limit=_AT_ONCE)

        numbers = self.with_log(look)
        if numbers is None:  # a damaged log is mended by now
            numbers = self.with_log(look)
        self._unread, numbers = numbers is None, numbers or []
        self._more = len(numbers) == _AT_ONCE
        if self._more:
            self._look_up_rest()
        if top or not self._more:
            self.choices.show(numbers, top=top)
        else:  # stay in the list as it was until all are there
            self.choices.fetch_again()
        self._show()

    @work(thread=True, exclusive=True, group="list")
    def _look_up_rest(self) -> None:
        asked = text, whose, order = self._asked()
        sleep(_PAUSE)
        if get_current_worker().is_cancelled:
            return
        self.in_thread(
            lambda log: self.post_message(self.Listed(asked, log.numbers(text, whose, order=order)))
        )

    @on(Listed)
    def _listed(self, message: Listed) -> None:
        if message.asked == self._asked():
            self._more = False
            self.choices.show(message.numbers, top=False)
            self._show()

    @work(thread=True, exclusive=True, group="check")
    def check(self) -> None:
        """Find out what disagrees."""
        whose = self.whose
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

        self.in_thread(check)

    @on(Checked)
    def _checked(self, message: Checked) -> None:
        if message.project != self.whose:
            return
        self._findings = {}
        for finding in message.findings:
            for choice in finding.choices:
                self._findings.setdefault(choice.id, []).append(finding)
        self.choices.marked = self._findings.keys()
        self._show()

    @work(thread=True, group="ready")
    def _get_ready(self) -> None:
        import tuimatch.colour.colorimetry  # noqa: F401

        self.post_message(self.Ready())

    @on(Ready)
    def _ready(self) -> None:
        self.choices.with_targets = True
        self.choices.fetch_again()

    def in_thread(self, work: Callable[[Log], object]) -> None:
        """Do something with a log of the thread's own, and say why when it cannot be done."""
        try:
            with Log(self.path) as log:
                work(log)
        except TuimatchError as error:
            self.post_message(self.Said(str(error)))

    @on(Said)
    def _said(self, message: Said) -> None:
        self.say(message.text)

    # Showing.

    def _show(self) -> None:
        self.choices.refresh()
        self._show_head()
        self._show_choice()

    def _show_head(self) -> None:
        whose = "all projects" if self.everyone else self.project
        holding = f"“{self.filter}” in " if self.filter else ""
        said = f"{holding}{whose} · {_IN_WORDS[self.order]}"
        count = len(self.choices)
        right = f"{'more than ' * self._more}{count:,} choice{'s' * (count != 1)}"
        if to_mend := self.choices.to_mend:
            right += f", {to_mend:,} to mend"
        if ticked := len(self.choices.ticked):
            right += f", {ticked:,} ticked"
        if self._unread:
            right = ""
        head = self.query_one("#review-head", Lines)
        room = head.size.width - cell_len(right) - 2
        head.show(fitted(printable(said), room).text + "  " + right)
        self.query_one("#review-columns", Lines).show(heading(self.choices.size.width))

    def _show_choice(self) -> None:
        foot = self.query_one("#review-foot", Static)
        foot.update(Content("\n".join(map(printable, self._facts()))), layout=False)

    def _facts(self) -> list[str]:
        choice = self.choices.choice
        if choice is None:
            holding = f" with {self.filter!r}" if self.filter else ""
            return [] if len(self.choices) or self._unread else [f"no choices{holding}"]
        facts = [f"{choice.recipe}  {choice.srgb}  for {choice.wanted}"]
        if choice.note:
            facts.append(choice.note)
        for finding in self._findings.get(choice.id, []):
            facts += [f"! {finding.problem}", f"  → {finding.mend}"]
        return facts
