"""The match screen: what stays open beside the drawing, and the doors to every other screen."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from tuimatch.files.in_file import typed_path
from tuimatch.palette import file as palette_file
from tuimatch.text import hexed, printable
from tuimatch.tui.match import clipboard_follower
from tuimatch.tui.match.actions import NO_TARGET, MatchActions
from tuimatch.tui.match.keys import MATCH_KEYS

if TYPE_CHECKING:
    from tuimatch.log import Choice
    from tuimatch.match.answer import Match
    from tuimatch.match.ranking import Candidate
    from tuimatch.palette.model import Palette
    from tuimatch.recipe.laying import Laying

_POLL_SECONDS = 0.25


class MatchScreen(MatchActions):
    """The match with all its keys."""

    BINDINGS: ClassVar[list[BindingType]] = MATCH_KEYS

    class Seen(Message):
        """What was on the clipboard at one look."""

        def __init__(self, text: str | None) -> None:
            super().__init__()
            self.text = text

    class Followed(Message):
        """Whether the clipboard can be followed, and what will follow it."""

        def __init__(self, problem: str, follower: clipboard_follower.Follower) -> None:
            super().__init__()
            self.problem, self.follower = problem, follower

    _following = False

    def on_mount(self) -> None:
        """Look at the clipboard from time to time; nothing is read while following is off."""
        self.set_interval(_POLL_SECONDS, self._poll)

    def action_reach(self) -> None:
        """Everything the ink set reaches; what is picked there is shown or taken here."""
        if self.match is None or self.candidate is None:
            self.say(NO_TARGET)
            return
        from tuimatch.tui.screens.reach_screen import Picked, ReachScreen

        def picked(picked: Picked | None) -> None:
            if picked is not None:
                self.look_at(picked.row)
                if picked.take:
                    self.action_take()

        screen = ReachScreen(self.match.ranking, self.match.allowed, self.candidate.row)
        self.app.push_screen(screen, picked)

    def action_apart(self) -> None:
        """The candidate beside every choice of the project, as dichromats see them."""
        if self.match is None or self.candidate is None:
            return
        from tuimatch.tui.screens.apart_screen import ApartScreen

        recipes, row = self.match.recipes, self.candidate.row
        name = self.palette.recipe_text(recipes.tints_of(row))
        own = tuple(recipes.lab[row].tolist())
        choices = [choice for choice in self.keeper.choices if choice.lab != own]
        self.app.push_screen(ApartScreen(name, recipes.xyz[row], recipes.rgb_of(row), choices))

    def action_palette(self) -> None:
        """Change the palette."""
        from tuimatch.tui.screens.palette_screen import PaletteScreen

        def picked(palette: Palette | None) -> None:
            if palette is not None:
                self.set_palette(palette)

        self.app.push_screen(PaletteScreen(self.palette), picked)

    def action_review(self) -> None:
        """Review what was chosen; an entry's colour, or its recipe, comes back here."""
        from tuimatch.tui.screens.review_screen import ReviewScreen

        screen = ReviewScreen(self.keeper.path, self.keeper.project, self.palette)

        def back(choice: Choice | None) -> None:
            self.keeper.switch(screen.project)
            self.show_choices()
            self.show_head()
            if choice is not None:
                self._reuse(choice)

        self.app.push_screen(screen, back)

    def _reuse(self, choice: Choice) -> None:
        """Make the colour of an entry the target, and its recipe the one looked at."""
        from tuimatch.colour.target import from_lab

        self.want(from_lab(choice.target_lab, choice.target_text))
        if self.match is None:
            return
        from tuimatch.match.answer import row_of

        row = row_of(self.match.recipes, choice)
        if row is None:
            self.say(f"that recipe is of {printable(choice.palette)}; p changes the palette")
            return
        self.say("")
        self.look_at(row)

    def action_project(self) -> None:
        """Change the project."""
        from tuimatch.tui.screens.project_screen import ProjectScreen

        def picked(name: str | None) -> None:
            if name is not None:
                self.keeper.switch(name)
                self.show_choices()
                self.show_head()
                palette = self.palette_of_project()
                if palette.text != self.palette.text:
                    self.set_palette(palette)

        self.app.push_screen(ProjectScreen(self.keeper.path, self.keeper.project), picked)

    def action_picture(self) -> None:
        """Pick a target from a picture file."""
        self.prompt_for("picture", "picture: a file to pick a colour from, Esc leaves")

    def answered(self, what: str, answer: str) -> bool:
        """Take the answer to a question; whether it will do."""
        if what != "picture":
            return super().answered(what, answer)
        if not answer.strip():
            return True
        from tuimatch.tui.screens.pick_screen import PickScreen

        def picked(text: str | None) -> None:
            if text is not None:
                self.set_target(text)

        self.app.push_screen(PickScreen(typed_path(answer)), picked)
        return True

    def action_make(self) -> None:
        """Make a palette of one's own, and use it."""
        from tuimatch.tui.screens.make_screen import MakeScreen

        def made(path: Path | None) -> None:
            if path is not None:
                self.set_palette(palette_file.load(str(path)))

        self.app.push_screen(MakeScreen(), made)

    def action_lay(self) -> None:
        """Lay the recipe ink by ink. Looking keeps nothing; the first tick keeps the recipe."""
        if self.match is None or self.candidate is None:
            self.say(NO_TARGET)
            return
        from tuimatch.recipe import laying
        from tuimatch.tui.screens.laying_screen import LayingScreen

        recipes, row = self.match.recipes, self.candidate.row
        whole = laying.start(recipes, row)
        choice = self._being_laid(self.match, self.candidate)
        begun = whole if choice is None else whole.at(self.keeper.laid(choice, whole.steps))
        name = choice.name if choice is not None else self.palette.recipe_text(whole.tints)
        keep = partial(self._keep_laying, self.match, self.candidate)
        screen = LayingScreen(name, recipes.rgb_of(0), begun, keep)
        self.app.push_screen(screen, lambda _: self.show_choices())

    def _keep_laying(self, match: Match, candidate: Candidate, now: Laying) -> str:
        """Put on disk how far the recipe is laid; why it could not be, or nothing."""
        choice = self._being_laid(match, candidate)
        if choice is None:
            if not now.laid:
                return ""
            self.keep_candidate(match, candidate)
            self.say("kept in the log, since it is being laid")
            choice = self._being_laid(match, candidate)
        return self.keeper.problem if choice is None else self.keeper.lay(choice, now)

    def _being_laid(self, match: Match, candidate: Candidate) -> Choice | None:
        """The newest kept choice of a recipe for the same target."""
        palette, target = match.recipes.palette, match.question.target.lab
        tints = match.recipes.tints_of(candidate.row)
        for choice in reversed(self.keeper.choices):
            same = choice.palette_digest == palette.digest and choice.target_lab == target
            if same and choice.id and tuple(choice.tints.values()) == tints:
                return choice
        return None

    def action_passes(self) -> None:
        """Plan the painting with the fewest changes of brush."""
        from tuimatch.tui.screens.passes_screen import PassesScreen

        self.app.push_screen(PassesScreen(self.keeper.path, self.keeper.project), self._planned)

    def action_economy(self) -> None:
        """Let areas bear a neighbour of their best recipe, to save passes."""
        from tuimatch.tui.screens.economy_screen import EconomyScreen

        self.app.push_screen(EconomyScreen(self.keeper.path, self.keeper.project), self._planned)

    def _planned(self, _: bool | None) -> None:
        """Back from planning, where recipes may have been changed."""
        self.keeper.switch(self.keeper.project)
        self.show_choices()

    def action_wheel(self) -> None:
        """The most vivid recipe of each hue; the one picked is looked at here."""
        if self.recipes is None:
            return
        from tuimatch.match.asked import of_recipe
        from tuimatch.tui.screens.wheel_screen import WheelScreen

        def picked(row: int | None) -> None:
            if row is None or self.recipes is None:
                return
            if self.match is None:
                hexadecimal = hexed(self.recipes.rgb_of(row))
                self.want(of_recipe(self.recipes, row, hexadecimal))
                self.say("")
            self.look_at(row)

        allowed = self.match.allowed if self.match else None
        self.app.push_screen(WheelScreen(self.recipes, allowed), picked)

    # The clipboard.

    def action_follow(self) -> None:
        """Follow the clipboard, or stop."""
        if self._following:
            self._following = False
            self.say("no longer following the clipboard")
        else:
            self._start_following()

    @work(thread=True, exclusive=True, group="follow")
    def _start_following(self) -> None:
        problem = clipboard_follower.unavailable()
        follower = clipboard_follower.Follower()
        follower.seen(
            clipboard_follower.read_desktop_clipboard()
        )  # what is there before is not news
        self.post_message(self.Followed(problem, follower))

    @on(Followed)
    def _followed(self, message: Followed) -> None:
        self._following, self.follower = not message.problem, message.follower
        said = "following the clipboard: a colour copied becomes the target, o stops"
        self.say(message.problem or said)

    def _poll(self) -> None:
        # What is copied while another screen is open becomes the target on coming back.
        if self._following and not self._asking and self.is_current:
            self._look()

    @work(thread=True, exclusive=True, group="follow")
    def _look(self) -> None:
        self.post_message(self.Seen(clipboard_follower.read_desktop_clipboard()))

    @on(Seen)
    def _seen(self, message: Seen) -> None:
        if not self._following or not self.is_current:
            return
        colour = self.follower.seen(message.text)
        if colour is not None:
            self.set_target(colour)
