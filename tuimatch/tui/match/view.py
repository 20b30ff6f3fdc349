"""What the match screen shows: a target, its candidates, the seam between them, the last choices.

This half holds the question and brings every widget to the answer; `match_screen` adds the keys.
"""

from __future__ import annotations

import gc
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from rich.cells import cell_len
from textual import getters, on, work
from textual.app import ComposeResult
from textual.containers import Container, Vertical
from textual.message import Message
from textual.widgets import Footer

from tuimatch.errors import PaletteError
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.text import printable
from tuimatch.tui.match.clipboard_follower import Follower
from tuimatch.tui.match.pending_choices import Keeper
from tuimatch.tui.screens import explained
from tuimatch.tui.screens.explained import ExplainedScreen
from tuimatch.tui.widgets.build_up_strip import BuildUpStrip
from tuimatch.tui.widgets.choices_strip import ChoicesStrip
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.prompt import Prompt
from tuimatch.tui.widgets.ranked_list import RankedList
from tuimatch.tui.widgets.seam import Closeness, Seam

if TYPE_CHECKING:
    # colour-science and numpy come in a thread after the first paint.
    from tuimatch.colour.target import Target
    from tuimatch.match.answer import Known, Match, Question
    from tuimatch.match.ranking import Candidate
    from tuimatch.recipe.copied_recipe import Wording
    from tuimatch.recipe.dots import Press
    from tuimatch.recipe.recipes import Recipes

_IN_STRIP = 12
_RETRY_SECONDS = 2.0


class MatchView(ExplainedScreen[None]):
    """The question, its answer, and the widgets that show them."""

    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012 (Textual declares it so)
        (0, "-slim"),
        (60, "-narrow"),
        (96, "-wide"),
        (140, "-broad"),
    ]
    VERTICAL_BREAKPOINTS = [(0, "-low"), (24, "-tall")]  # noqa: RUF012

    class Mixed(Message):
        """A palette's recipes have their colours, and the colour to start with is read."""

        def __init__(self, recipes: Recipes, press: Press, target: Target | None) -> None:
            super().__init__()
            self.recipes, self.press, self.target = recipes, press, target

    seam = getters.query_one(Seam)
    build_up = getters.query_one(BuildUpStrip)
    candidates = getters.query_one(RankedList)
    choices = getters.query_one(ChoicesStrip)
    prompt = getters.query_one(Prompt)

    def __init__(
        self, palette: Palette, colour: str | None, keeper: Keeper, *, palette_given: bool
    ) -> None:
        super().__init__()
        self._palette_given = palette_given
        self.palette = palette
        self.keeper = keeper
        self.match: Match | None = None
        self.closeness = Closeness()
        self.ruling = 85
        self.wording: Wording | None = None
        self.page = ""  # of the choices to come
        self.recipes: Recipes | None = None  # of `palette`, as soon as they are mixed
        self.follower = Follower()
        self._colour = colour
        self._mixing = palette
        self._wanted: Target | None = None  # given while there are no recipes yet
        self._press: Press | None = None
        self._held: Known | None = None  # until choices or palette change
        self._beyond: Candidate | None = None  # a recipe walked to that the list does not hold

    def compose(self) -> ComposeResult:
        """Head, colours and list, choices, message, keys or question."""
        yield Lines("tuimatch needs a window of\n60 columns and 24 rows; q quits", id="too-small")
        yield Lines(id="warning")
        yield Lines(id="head")
        yield Lines(id="notice")
        yield Lines(id="limits")
        with Container(id="body"):
            with Vertical(id="picture"):
                yield Seam()
                yield BuildUpStrip()
                yield Lines(id="facts")
            yield RankedList()
        yield ChoicesStrip()
        yield Lines("mixing the inks …", id="message")
        yield Prompt()
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        """Show what is known at once."""
        self.watch(self.candidates, "cursor", self._cursor_moved, init=False)
        self.show_head()
        self._show_warning()
        self.candidates.focus()

    def begin(self) -> None:
        """Mix the inks and open the log; called when the first frame is on the screen."""
        self.keeper.open()
        if not self._palette_given:
            self.palette = self.palette_of_project()
        self._mixing = self.palette
        self._mix(self.palette, self._colour)
        self.show_head()
        self.show_choices()
        if self.keeper.notice:
            self.notify(self.keeper.notice, timeout=20, markup=False)
        self.set_interval(_RETRY_SECONDS, self._retry)

    def palette_of_project(self) -> Palette:
        """The palette the project used last, where it is a shipped one or its file is here."""
        for choice in self.keeper.choices[-1:]:
            for name in (choice.palette, f"{choice.palette}.toml"):
                with suppress(PaletteError):
                    return palette_file.load(name)
        return self.palette

    def _retry(self) -> None:
        if self.keeper.waiting and self.keeper.retry():
            self.show_choices()
            self.say("kept in the log")
        elif self.is_current and self.keeper.is_behind():  # another window took something
            self.keeper.switch(self.keeper.project)
            self.show_choices()

    def on_resize(self) -> None:
        """Set the words to the new width, as soon as the widgets have it."""
        self.call_after_refresh(self.show_head)
        self.call_after_refresh(self.show_candidate)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """In a window that is too small to show anything, no key may do anything unseen."""
        del parameters
        too_small = self.has_class("-slim") or self.has_class("-low")
        return not too_small or action in ("quit", "help")

    def on_unmount(self) -> None:
        """Close the log."""
        self.keeper.close()

    @work(thread=True, exclusive=True, group="mix")
    def _mix(self, palette: Palette, colour: str | None) -> None:
        from tuimatch.colour import target
        from tuimatch.recipe import dots, recipes

        wanted = None if colour is None else target.parse(colour)
        mixed = recipes.mix(palette)
        self.post_message(self.Mixed(mixed, dots.Press(mixed), wanted))

    @on(Mixed)
    def _mixed(self, message: Mixed) -> None:
        from tuimatch.match.answer import Question
        from tuimatch.match.limits import start
        from tuimatch.match.ranking import Hold
        from tuimatch.recipe.copied_recipe import Wording, wordings

        if message.recipes.palette is not self._mixing:
            return  # another palette was chosen meanwhile
        # The palette changes together with its recipes: what is seen and what is taken agree.
        self.palette = message.recipes.palette
        self.recipes, self._press, self._held = message.recipes, message.press, None
        # What is loaded now stays; looking through it again and again would hold up keys.
        gc.freeze()
        if self.wording not in wordings(self.palette):
            self.wording = Wording.PERCENTAGES
        wanted, hold = self._wanted or message.target, Hold.NOTHING
        if self.match is not None:
            wanted, hold = self.match.question.target, self.match.question.hold
        if wanted is not None:
            self.say(self.keeper.problem)
            self.ask(Question(wanted, hold, start(self.palette)))
        else:
            self.say(self.keeper.problem or "paste a colour, or press t to type one")
            self.show_head()

    # The question.

    def want(self, target: Target) -> None:
        """Make a colour the target, with everything else as it is."""
        from tuimatch.match.answer import Question
        from tuimatch.match.limits import start

        if self.recipes is None:
            self._wanted = target  # answered as soon as they are mixed
        elif self.match is None:
            self.ask(Question(target, narrowing=start(self.palette)))
        else:
            self.ask(replace(self.match.question, target=target))

    def ask(self, question: Question) -> None:
        """Answer a question and show the answer from its top."""
        from tuimatch.match.answer import known, match
        from tuimatch.tui.match import sentences

        assert self.recipes is not None
        if self._held is None:
            self._held = known(self.recipes, self.keeper.choices)
        self.match = match(self.recipes, question, self._held)
        self._beyond = None
        self.candidates.show(self.match)
        self.show_head()
        self._set("#notice", sentences.notice(self.match))
        self._set("#limits", sentences.limits(self.match))
        self.show_candidate()

    def set_palette(self, palette: Palette) -> None:
        """Change the palette without losing the target; until it is mixed all stays as it is."""
        self._mixing = palette
        self.say("mixing the inks …")
        self._mix(palette, None)

    @property
    def candidate(self) -> Candidate | None:
        """The candidate that is looked at."""
        return self._beyond or self.candidates.candidate

    def look_at(self, row: int) -> None:
        """Look at any recipe of the palette, in the list or beyond it."""
        assert self.match is not None
        self._beyond = None
        if not self.candidates.point_at(row):
            self._beyond = self.match.ranking.beside(row)
        self.show_candidate()

    # Showing.

    def _show_warning(self) -> None:
        text = explained.said_of(self.app)
        self._set("#warning", text)
        self.set_class(bool(text), "-warned")

    def show_head(self) -> None:
        wanted = printable(self._colour or "no target yet")
        if self.match:
            wanted = printable(self.match.question.target.text)
            if self.match.question.target.clipped:
                wanted += ", shown clipped"
        estimated = " (estimated)" if self.palette.estimated else ""
        right = f"{self.palette.name}{estimated}"
        if self.keeper.project:
            right += f" · {printable(self.keeper.project)}"
        if self.page:
            right += f" · page {printable(self.page)}"
        room = self.query_one("#head").size.width - cell_len(wanted) - cell_len(right)
        self._set("#head", wanted + " " * max(1, room) + right)

    def _cursor_moved(self) -> None:
        self._beyond = None
        self.show_candidate()

    def show_candidate(self) -> None:
        """Bring the seam, the build-up and the words to the candidate that is looked at."""
        match, candidate = self.match, self.candidate
        if match is None:
            return
        from tuimatch.tui.match import sentences

        target = match.question.target.srgb
        if candidate is None:
            self.seam.show(target, None)
            self.build_up.show(match.recipes, None)
            self._set("#facts", "")
            return
        if self.closeness.dots and self._press is not None:
            self.seam.show_dots(target, self._press, candidate.row, self.closeness)
        else:
            self.seam.show(target, match.recipes.rgb_of(candidate.row))
        self.build_up.show(match.recipes, candidate.row)
        assert self.wording is not None
        lines = sentences.candidate_lines(
            match,
            candidate,
            self.wording,
            self.closeness,
            self.ruling,
            roomy=not self.has_class("-narrow"),
        )
        self._set("#facts", "\n".join(lines))

    def show_choices(self) -> None:
        """Show the newest choices, and what they change in the answer."""
        self._held = None
        self.choices.show(self.keeper.choices[-_IN_STRIP:])
        if self.keeper.problem:
            self.say(self.keeper.problem, alarm=True)
        if self.match is not None:
            row = self.candidate.row if self.candidate else None
            self.ask(self.match.question)
            if row is not None:
                self.look_at(row)

    def say(self, text: str, *, alarm: bool = False) -> None:
        """Say something at the foot until something else is said."""
        self._set("#message", text)
        self.query_one("#message").set_class(alarm, "-alarm")

    def _set(self, selector: str, text: str) -> None:
        self.query_one(selector, Lines).show(text)
