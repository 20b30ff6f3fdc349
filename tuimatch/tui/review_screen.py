"""The review: everything that was chosen, to be found, used again, mended and written out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import sleep
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from rich.cells import cell_len
from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static
from textual.worker import get_current_worker

from tuimatch.errors import TuimatchError
from tuimatch.log import ORDERS, Choice, Log
from tuimatch.text import printable
from tuimatch.tui import clipboard, guide_file
from tuimatch.tui.block_list import BlockList, fitted
from tuimatch.tui.lines import Lines
from tuimatch.tui.log_screen import LogScreen
from tuimatch.tui.prompt import Prompt
from tuimatch.tui.review_keys import REVIEW_KEYS
from tuimatch.tui.review_list import ReviewList

if TYPE_CHECKING:
    from tuimatch.consistency import Finding

_IN_WORDS = {
    "newest": "newest first",
    "oldest": "oldest first",
    "label": "by label",
    "page": "by page",
    "delta_e": "by ΔE",
}
_AT_ONCE = 200  # so many are looked up on the screen's thread, the rest in another
_PAUSE = 0.1  # seconds without another key before the rest is looked up


class Reused(NamedTuple):
    """What is to be used again.

    Attributes:
        choice: The choice.
        take: Whether to take it again under another label, rather than to make its target the
            target again.
    """

    choice: Choice
    take: bool


class ReviewScreen(LogScreen[Reused | None]):
    """The log of one project or of all.

    Attributes:
        project: Whose choices they are; undoing a renaming changes it.
    """

    DEFAULT_CSS = """
    ReviewScreen {
        #review-head { margin-bottom: 1; }
        #review-foot { height: 6; margin-top: 1; padding: 0 1; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = REVIEW_KEYS

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

    def __init__(self, log_path: Path, project: str, palette: str | None = None) -> None:
        """Open on a project's newest choice.

        Args:
            log_path: The log's file.
            project: Whose choices to show first.
            palette: The palette in use, by the shipped name or path it was chosen by: choices made
                with one of that name are checked against it.
        """
        super().__init__(log_path)
        self.project = project
        self._palettes = () if palette is None else (palette,)
        self._everyone = False
        self._order = "newest"
        self._filter = ""
        self._more = False  # whether there are choices that are not in the list yet
        self._findings: dict[int, list[Finding]] = {}
        self._about = 0  # the choice whose label, page or note is asked for
        self._guided = project  # the project whose guide is asked for
        self._over = ""  # the file that an answer would write over

    @property
    def choices(self) -> ReviewList:
        """The list."""
        return self.query_one(ReviewList)

    def compose(self) -> ComposeResult:
        """Head, choices, the one under the cursor in full, message, keys or question."""
        yield Lines(id="review-head")
        yield ReviewList(lambda numbers: self.with_log(lambda log: log.numbered(numbers)) or [])
        yield Static(id="review-foot", markup=False)
        yield from self.foot()

    def on_mount(self) -> None:
        """Show the newest, and start what takes longer."""
        self.choices.focus()
        self.watch(self.choices, "cursor", self._show_choice, init=False)
        self._get_ready()
        self.call_after_refresh(self._look_up_anew)

    def on_resize(self) -> None:
        """Set the head to the new width."""
        self.call_after_refresh(self._show_head)

    # Looking up.

    @property
    def _whose(self) -> str | None:
        return None if self._everyone else self.project

    def _asked(self) -> tuple[str, str | None, str]:
        return self._filter, self._whose, self._order

    def _look_up_anew(self) -> None:
        self._look_up()
        self._check()

    def _look_up(self, *, top: bool = True) -> None:
        text, whose, order = self._asked()
        numbers = self.with_log(lambda log: log.numbers(text, whose, order=order, limit=_AT_ONCE))
        self._more = len(numbers or []) == _AT_ONCE
        if self._more:
            self._look_up_rest()
        if top or not self._more:
            self.choices.show(numbers or [], top=top)
        else:  # stay in the list as it was until all are there
            self.choices.fetch_again()
        self._show()

    @work(thread=True, exclusive=True, group="list")
    def _look_up_rest(self) -> None:
        asked = text, whose, order = self._asked()
        sleep(_PAUSE)
        if get_current_worker().is_cancelled:
            return
        self._in_thread(
            lambda log: self.post_message(self.Listed(asked, log.numbers(text, whose, order=order)))
        )

    @on(Listed)
    def _listed(self, message: Listed) -> None:
        if message.asked == self._asked():
            self._more = False
            self.choices.show(message.numbers, top=False)
            self._show()

    @work(thread=True, exclusive=True, group="check")
    def _check(self) -> None:
        whose = self._whose
        sleep(_PAUSE)
        if get_current_worker().is_cancelled:
            return

        def check(log: Log) -> None:
            from tuimatch import consistency

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
        if message.project != self._whose:
            return
        self._findings = {}
        for finding in message.findings:
            for choice in finding.choices:
                self._findings.setdefault(choice.id, []).append(finding)
        self.choices.marked = self._findings.keys()
        self._show()

    @work(thread=True, group="ready")
    def _get_ready(self) -> None:
        import tuimatch.colorimetry  # noqa: F401

        self.post_message(self.Ready())

    @on(Ready)
    def _ready(self) -> None:
        self.choices.with_targets = True
        self.choices.fetch_again()

    def _in_thread(self, work: Callable[[Log], object]) -> None:
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
        whose = "all projects" if self._everyone else self.project
        said = f"{whose} · {_IN_WORDS[self._order]}"
        if self._filter:
            said += f" · with {self._filter}"
        count = len(self.choices)
        right = f"{'more than ' * self._more}{count:,} choice{'s' * (count != 1)}"
        if self._findings:
            right += f", {len(self._findings):,} to mend"
        head = self.query_one("#review-head", Lines)
        room = head.size.width - cell_len(right) - 2
        head.show(fitted(printable(said), room).text + "  " + right)

    def _show_choice(self) -> None:
        foot = self.query_one("#review-foot", Static)
        foot.update(Content("\n".join(map(printable, self._facts()))), layout=False)

    def _facts(self) -> list[str]:
        choice = self.choices.choice
        if choice is None:
            holding = f" with {self._filter!r}" if self._filter else ""
            return [] if len(self.choices) else [f"no choices{holding}"]
        facts = [f"{choice.recipe}  {choice.srgb}  for {choice.target_text}"]
        if choice.note:
            facts.append(choice.note)
        for finding in self._findings.get(choice.id, []):
            facts += [f"! {finding.problem}", f"  → {finding.mend}"]
        return facts

    # Keys: the list.

    def action_filter(self) -> None:
        """Type words to find."""
        question = "every word must be in it; Enter leaves the filter on, Esc takes it off"
        self.ask("filter", question, self._filter, replace=False)

    @on(Prompt.Changed)
    def _typed(self, message: Prompt.Changed) -> None:
        if self._asking == "filter" and message.value != self._filter:
            self._set_filter(message.value)

    def _set_filter(self, text: str) -> None:
        self._filter = text
        self._look_up()

    def action_sort(self) -> None:
        """Another order."""
        orders = list(ORDERS)
        self._order = orders[(orders.index(self._order) + 1) % len(orders)]
        self._look_up()

    def action_everyone(self) -> None:
        """The choices of all projects, or of one."""
        self._everyone = self.choices.with_project = not self._everyone
        self._findings = {}
        self.choices.marked = ()
        self._look_up_anew()

    def action_next_finding(self) -> None:
        """On to the next choice that disagrees with another."""
        if not self.choices.to_next_marked():
            self.say("nothing here disagrees")

    def action_back(self) -> None:
        """Take the filter off, or close."""
        if self._filter:
            self._set_filter("")
        else:
            self.dismiss(None)

    # Keys: the choice under the cursor.

    @on(BlockList.Chosen)
    def action_reuse(self, take: bool = False) -> None:
        """Close with the choice under the cursor."""
        if self.choices.choice is not None:
            self.dismiss(Reused(self.choices.choice, take))

    def action_copy(self) -> None:
        """Copy the recipe."""
        if self.choices.choice is not None:
            recipe = self.choices.choice.recipe
            clipboard.send_to_terminal(self.app, recipe)
            self._copy(recipe)

    @work(thread=True, exclusive=True, group="copy")
    def _copy(self, text: str) -> None:
        self.post_message(self.Said(f"recipe {clipboard.send_to_desktop(text)}"))

    def action_edit(self, what: str) -> None:
        """Type another label, page or note."""
        choice = self.choices.choice
        if choice is not None:
            self._about = choice.id
            self.ask(what, f"the {what} of {choice.name}", getattr(choice, what))

    def action_remove(self) -> None:
        """Take the choice out of the log."""
        choice = self.choices.choice
        if choice is not None:
            self._do(lambda log: [f"removed {c.name}; u undoes it" for c in log.remove(choice.id)])

    def action_undo(self) -> None:
        """Undo what was done last."""
        self._do(lambda log: [log.undo(self._whose) or "nothing to undo"])

    def action_redo(self) -> None:
        """Do again what was undone last."""
        self._do(lambda log: [log.redo(self._whose) or "nothing to do again"])

    def _do(self, work: Callable[[Log], list[str]]) -> bool:
        """Change the log, say what was done and show it; whether it could be done."""

        def done(log: Log) -> list[str]:
            with log.database.reading():
                number = log.projects.find_id(self.project)
            said = work(log)
            if number is not None:  # undoing may have renamed it
                self.project = log.projects.name_of(number)
            return said

        said = self.with_log(done)
        if said is not None:
            self.say("\n".join(said))
        self._look_up(top=False)
        self._check()
        return said is not None

    def action_guide(self) -> None:
        """Ask where to write the guide."""
        choice = self.choices.choice
        self._guided = choice.project if self._everyone and choice else self.project
        self._over = ""
        name = guide_file.default_name(self._guided)
        self.ask("guide", guide_file.question(self._guided), name)

    @work(thread=True, exclusive=True, group="guide")
    def _write_guide(self, project: str, path: Path) -> None:
        self._in_thread(
            lambda log: self.post_message(self.Said(guide_file.write(log, project, path)))
        )

    # Answers.

    def answered(self, what: str, answer: str) -> bool:
        """Take an answer; whether it will do."""
        if what == "filter":
            self.say("")
            return True
        if what == "guide":
            return self._answered_guide(answer)
        return self._do(
            lambda log: [
                f"the {what} of {log.edit(self._about, **{what: answer}).recipe} is changed"
            ]
        )

    def left(self, what: str) -> None:
        """A filter that is left is taken off."""
        if what == "filter":
            self._set_filter("")

    def _answered_guide(self, answer: str) -> bool:
        try:
            path = guide_file.path_of(answer)
        except TuimatchError as error:
            self.say(str(error))
            return False
        if path.exists() and answer != self._over:
            self._over = answer
            self.say(f"{path} is there already: Enter again writes over it")
            return False
        self.say(f"writing {path} …")
        self._write_guide(self._guided, path)
        return True
