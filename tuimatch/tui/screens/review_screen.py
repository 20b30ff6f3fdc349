"""The review: everything that was chosen, to be found, used again, mended and written out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual import on, work
from textual.binding import BindingType

from tuimatch.errors import TuimatchError
from tuimatch.log import ORDERS, Log, again
from tuimatch.tui import clipboard
from tuimatch.tui.screens import guide_file
from tuimatch.tui.screens.review_keys import REVIEW_KEYS
from tuimatch.tui.screens.review_view import ReviewView
from tuimatch.tui.widgets.block_list import BlockList
from tuimatch.tui.widgets.prompt import Prompt

_TICKED = "N plans the ticked ones, e saves passes, c unticks all"


class ReviewScreen(ReviewView):
    """The review with all its keys."""

    BINDINGS: ClassVar[list[BindingType]] = REVIEW_KEYS

    _about = 0  # the choice whose label, page or note is asked for
    _guided = ""  # the project whose guide is asked for
    _over = ""  # the file that an answer would write over

    # Keys: the list.

    def action_filter(self) -> None:
        """Type words to find."""
        question = "words to find; Enter keeps the filter, Esc takes it off"
        self.ask("filter", question, self.filter, replace=False)

    @on(Prompt.Changed)
    def _typed(self, message: Prompt.Changed) -> None:
        if self._asking == "filter" and message.value != self.filter:
            self._set_filter(message.value)

    def _set_filter(self, text: str) -> None:
        self.filter = text
        self.look_up()

    def action_sort(self) -> None:
        """Another order."""
        orders = list(ORDERS)
        self.order = orders[(orders.index(self.order) + 1) % len(orders)]
        self.look_up()

    def action_everyone(self) -> None:
        """The choices of all projects, or of one."""
        self.everyone = self.choices.with_project = not self.everyone
        self._findings = {}
        self.choices.marked = ()
        self.look_up_anew()

    def action_next_finding(self) -> None:
        """On to the next choice that disagrees with another."""
        if not self.choices.to_next_marked():
            self.say("nothing here disagrees")

    def action_back(self) -> None:
        """Take the filter off, or close."""
        if self.filter:
            self._set_filter("")
        else:
            self.dismiss(None)

    # Keys: what is ticked.

    def action_tick(self) -> None:
        """Tick the choice under the cursor, or untick it."""
        if self.choices.choice is not None:
            self._tick(self.choices.ticked ^ {self.choices.choice.id})
            self.say(_TICKED if self.choices.ticked else "")

    def action_clear(self) -> None:
        """Untick all."""
        self._tick(set())
        self.say("")

    def _tick(self, numbers: set[int]) -> None:
        self.choices.ticked = numbers
        self._show()

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

    def _meant(self) -> tuple[str, list[int]] | None:
        """The project and the numbers of what is ticked; None after saying what is wrong."""
        ticked = self.with_log(lambda log: log.numbered(sorted(self.choices.ticked)))
        if ticked is None:
            return None
        projects = list(dict.fromkeys(choice.project for choice in ticked))
        if len(projects) == 1:
            return projects[0], [choice.id for choice in ticked]
        self.say(
            f"ticked are choices of {', '.join(projects)}: plan one project at a time"
            if projects
            else "nothing is ticked yet: Space ticks the choice under the cursor"
        )
        return None

    def _planned(self, _: bool | None) -> None:
        """Back from planning, where recipes may have been changed."""
        self.look_up(top=False)
        self.check()

    # Keys: the choice under the cursor.

    @on(BlockList.Chosen)
    def _chosen(self) -> None:
        self.action_reuse()

    def action_reuse(self) -> None:
        """Close with the choice under the cursor."""
        if self.choices.choice is not None:
            self.dismiss(self.choices.choice)

    def action_take(self) -> None:
        """Ask for the label to take the recipe again under."""
        choice = self.choices.choice
        if choice is not None:
            self._about = choice.id
            self.ask("take", f"{choice.recipe}, taken again in {self.project}: its label", "")

    def _take(self, log: Log, label: str) -> list[str]:
        (choice,) = log.numbered([self._about])
        palette = log.palette(choice)
        if palette is None:
            return [f"the palette {choice.palette} it was made with can no longer be read"]
        kept = log.keep(palette, again(choice, project=self.project, label=label))
        self.copy(kept.recipe)
        return [f"taken again as {kept.name}; u undoes it"]

    def action_copy(self) -> None:
        """Copy the recipe."""
        if self.choices.choice is not None:
            self.copy(self.choices.choice.recipe)

    def copy(self, text: str) -> None:
        """Copy a text, and say what is known of it."""
        clipboard.send_to_terminal(self.app, text)
        self._copy(text)

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
        self._do(lambda log: [log.undo(self.whose) or "nothing to undo"])

    def action_redo(self) -> None:
        """Do again what was undone last."""
        self._do(lambda log: [log.redo(self.whose) or "nothing to do again"])

    def _do(self, work: Callable[[Log], list[str]]) -> bool:
        """Change the log, say what was done and show it; whether it could be done."""

        def done(log: Log) -> list[str]:
            with log.database.reading():
                number = log.projects.find_id(self.project)
            said = work(log)
            self.choices.ticked = {c.id for c in log.numbered(sorted(self.choices.ticked))}
            if number is not None:  # undoing may have renamed it
                self.project = log.projects.name_of(number)
            return said

        said = self.with_log(done)
        if said is not None:
            self.say("\n".join(said))
        self.look_up(top=False)
        self.check()
        return said is not None

    def action_guide(self) -> None:
        """Ask where to write the guide."""
        choice = self.choices.choice
        self._guided = choice.project if self.everyone and choice else self.project
        self._over = ""
        name = guide_file.default_name(self._guided)
        self.ask("guide", guide_file.question(self._guided), name)

    @work(thread=True, exclusive=True, group="guide")
    def _write_guide(self, project: str, path: Path) -> None:
        self.in_thread(
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
        if what == "take":
            return self._do(lambda log: self._take(log, answer))
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
