"""The match screen: what stays open beside the drawing, and the doors to every other screen."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from tuimatch import palette_file
from tuimatch.text import hexed, printable
from tuimatch.tui import following
from tuimatch.tui.match_actions import NO_TARGET, MatchActions
from tuimatch.tui.match_keys import MATCH_KEYS

if TYPE_CHECKING:
    from tuimatch.laying import Laying
    from tuimatch.log import Choice
    from tuimatch.recipes import Recipes
    from tuimatch.target import Target

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

        def __init__(self, problem: str, follower: following.Follower) -> None:
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
        from tuimatch.tui.reach_screen import Picked, ReachScreen

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
        from tuimatch.tui.apart_screen import ApartScreen

        recipes, row = self.match.recipes, self.candidate.row
        name = self.palette.recipe_text(recipes.tints_of(row))
        choices = list(self.keeper.choices)
        self.app.push_screen(ApartScreen(name, recipes.xyz[row], recipes.rgb_of(row), choices))

    def action_palette(self) -> None:
        """Change the palette."""
        from tuimatch.tui.palette_screen import PaletteScreen

        def picked(name: str | None) -> None:
            if name is not None:
                self.set_palette(palette_file.load(name))

        self.app.push_screen(PaletteScreen(self.palette.stem), picked)

    def action_review(self) -> None:
        """Review what was chosen; an entry's colour, or its recipe, comes back here."""
        from tuimatch.tui.review_screen import Reused, ReviewScreen

        screen = ReviewScreen(self.keeper.path, self.keeper.project, self.palette.stem)

        def back(reused: Reused | None) -> None:
            self.keeper.switch(screen.project)
            self.show_choices()
            self._show_head()
            if reused is not None:
                self._reuse(reused.choice, reused.take)

        self.app.push_screen(screen, back)

    def _reuse(self, choice: Choice, take: bool) -> None:
        """Make the colour of an entry the target, and its recipe the one looked at."""
        from tuimatch.target import from_lab

        self.want(from_lab(choice.target_lab, choice.target_text))
        if self.match is None:
            return
        if choice.palette != self.palette.stem:
            self.say(f"that recipe is of {printable(choice.palette)}; p changes the palette")
            return
        row = self.match.recipes.row_of(tuple(choice.tints.values()))
        if row is not None:
            self.look_at(row)
            if take:
                self.action_take()

    def action_project(self) -> None:
        """Change the project."""
        from tuimatch.tui.project_screen import ProjectScreen

        def picked(name: str | None) -> None:
            if name is not None:
                self.keeper.switch(name)
                self.show_choices()
                self._show_head()

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
        from tuimatch.tui.pick_screen import PickScreen

        def picked(text: str | None) -> None:
            if text is not None:
                self.set_target(text)

        self.app.push_screen(PickScreen(Path(answer.strip()).expanduser()), picked)
        return True

    def action_make(self) -> None:
        """Make a palette of one's own, and use it."""
        from tuimatch.tui.make_screen import MakeScreen

        def made(path: Path | None) -> None:
            if path is not None:
                self.set_palette(palette_file.load(str(path)))

        self.app.push_screen(MakeScreen(), made)

    def action_lay(self) -> None:
        """Lay the recipe ink by ink. Looking keeps nothing; the first tick keeps the recipe."""
        if self.match is None or self.candidate is None:
            self.say(NO_TARGET)
            return
        from tuimatch import laying
        from tuimatch.tui.laying_screen import LayingScreen

        recipes, row = self.match.recipes, self.candidate.row
        whole, choice = laying.start(recipes, row), self._being_laid()
        begun = whole if choice is None else whole.at(self.keeper.laid(choice, whole.steps))
        name = choice.name if choice is not None else self.palette.recipe_text(whole.tints)
        screen = LayingScreen(name, recipes.rgb_of(0), begun, self._keep_laying)
        self.app.push_screen(screen, lambda _: self.show_choices())

    def _keep_laying(self, now: Laying) -> str:
        """Put on disk how far the recipe is laid; why it could not be, or nothing."""
        if self._being_laid() is None:
            if not now.laid:
                return ""
            self.keep_candidate()
            self.say("kept in the log, since it is being laid")
        choice = self._being_laid()
        return self.keeper.problem if choice is None else self.keeper.lay(choice, now)

    def _being_laid(self) -> Choice | None:
        """The newest kept choice of the recipe that is looked at, for the same target."""
        assert self.match is not None
        assert self.candidate is not None
        tints = self.match.recipes.tints_of(self.candidate.row)
        target = self.match.question.target.lab
        for choice in reversed(self.keeper.choices):
            same = choice.palette_digest == self.palette.digest and choice.target_lab == target
            if same and choice.id and tuple(choice.tints.values()) == tints:
                return choice
        return None

    def action_passes(self) -> None:
        """Plan the painting with the fewest changes of brush."""
        from tuimatch.tui.passes_screen import PassesScreen

        self.app.push_screen(PassesScreen(self.keeper.path, self.keeper.project))

    def action_economy(self) -> None:
        """Let areas bear a neighbour of their best recipe, to save passes."""
        from tuimatch.tui.economy_screen import EconomyScreen

        def back(_: bool | None) -> None:
            self.keeper.switch(self.keeper.project)
            self.show_choices()

        self.app.push_screen(EconomyScreen(self.keeper.path, self.keeper.project), back)

    def action_wheel(self) -> None:
        """The most vivid recipe of each hue; the one picked is looked at here."""
        if self.recipes is None:
            return
        from tuimatch.tui.wheel_screen import WheelScreen

        def picked(row: int | None) -> None:
            if row is None or self.recipes is None:
                return
            if self.match is None:
                self.want(self._own_colour(self.recipes, row))
                self.say("")
            self.look_at(row)

        allowed = self.match.allowed if self.match else None
        self.app.push_screen(WheelScreen(self.recipes, allowed), picked)

    def _own_colour(self, recipes: Recipes, row: int) -> Target:
        """A recipe's own colour as a target, for when there is none yet."""
        from tuimatch.target import from_lab

        lightness, a, b = recipes.lab[row].tolist()
        return from_lab((lightness, a, b), hexed(recipes.rgb_of(row)))

    def action_help(self) -> None:
        """Every key and every number."""
        from tuimatch.tui.help_screen import HelpScreen, keys_of

        self.app.push_screen(HelpScreen(keys_of(self)))

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
        problem = following.unavailable()
        follower = following.Follower()
        follower.seen(following.read_desktop_clipboard())  # what is there before is not news
        self.post_message(self.Followed(problem, follower))

    @on(Followed)
    def _followed(self, message: Followed) -> None:
        self._following, self.follower = not message.problem, message.follower
        said = "following the clipboard: a colour copied becomes the target, o stops"
        self.say(message.problem or said)

    def _poll(self) -> None:
        if self._following and not self._asking:
            self._look()

    @work(thread=True, exclusive=True, group="follow")
    def _look(self) -> None:
        self.post_message(self.Seen(following.read_desktop_clipboard()))

    @on(Seen)
    def _seen(self, message: Seen) -> None:
        colour = self.follower.seen(message.text) if self._following else None
        if colour is not None:
            self.set_target(colour)
