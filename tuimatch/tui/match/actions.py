"""What the keys of the match screen do to the question, the look, and the log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from textual import on, work
from textual.message import Message

from tuimatch.errors import LogError, TargetError
from tuimatch.text import printable
from tuimatch.tui import clipboard
from tuimatch.tui.match.view import MatchView
from tuimatch.tui.widgets.prompt import Prompt
from tuimatch.tui.widgets.ranked_list import RankedList

if TYPE_CHECKING:
    from textual import events

    from tuimatch.log import Choice
    from tuimatch.match.answer import Match
    from tuimatch.match.limits import Narrowing
    from tuimatch.match.ranking import Candidate

NO_TARGET = "no target yet: paste a colour, or press t to type one"
RULINGS = (45, 55, 65, 75, 85, 100, 120, 133, 150, 175)
_SHIFTS = (0.25, 0.5, 0.125)


class MatchActions(MatchView):
    """The keys that stay on the match screen; `match_screen` adds those that open another."""

    class Copied(Message):
        """What is known about a copy."""

        def __init__(self, where: str) -> None:
            super().__init__()
            self.where = where

    _asking = ""  # "target", "label", "page", "picture" or nothing

    # The target.

    def action_edit_target(self, start: str = "") -> None:
        """Type another target."""
        current = self.match.question.target.text if self.match else ""
        question = "target: a colour, or a recipe such as yellow 50, cyan 25; Esc leaves"
        self.prompt_for("target", question, start or current, replace=not start)

    def on_paste(self, event: events.Paste) -> None:
        """A colour pasted anywhere becomes the target."""
        event.stop()
        self._paste(event.text)

    @on(Prompt.Pasted)
    def _pasted_into_prompt(self, message: Prompt.Pasted) -> None:
        is_text = self._asking in ("picture", "page") or (
            self._asking == "label" and not self._is_colour(message.text)
        )
        if is_text:
            self.prompt.replace(printable(message.text.strip()), *self.prompt.selection)
        else:
            self._paste(message.text)

    def _paste(self, text: str) -> None:
        if self.set_target(text) and self._asking:
            self._close_prompt()  # a label would go to what was taken before

    def _is_colour(self, text: str) -> bool:
        from tuimatch.colour import css_text

        try:
            css_text.read(text)
        except TargetError:
            return False
        return True

    def set_target(self, text: str) -> bool:
        """Make the colour of a text the target, or that of a recipe; whether it was one."""
        from tuimatch.colour import target
        from tuimatch.match.asked import asked

        row = None
        try:
            if self.recipes is None:
                wanted = target.parse(text)
            else:
                wanted, row = asked(self.recipes, text)
        except TargetError as error:
            self.say(str(error))
            return False
        self.say("")
        self.want(wanted)
        if row is not None:
            self.look_at(row)
        return True

    # The look.

    def action_dots(self) -> None:
        """From afar or close up."""
        self.closeness = replace(self.closeness, dots=not self.closeness.dots)
        self.show_candidate()

    def action_zoom(self, by: int) -> None:
        """Larger or smaller dots."""
        self.closeness = replace(self.closeness.zoomed(by), dots=True)
        self.show_candidate()

    def action_ruling(self, by: int) -> None:
        """A finer or coarser ruling: from where the dots fuse."""
        place = min(max(RULINGS.index(self.ruling) + by, 0), len(RULINGS) - 1)
        self.ruling = RULINGS[place]
        self.closeness = replace(self.closeness, dots=True)
        self.show_candidate()

    def action_misregister(self) -> None:
        """The first screened ink out of register, the next … and back into register."""
        if self.match is None or self.candidate is None:
            self.say(NO_TARGET)
            return
        tints = self.match.recipes.tints_of(self.candidate.row)
        cycle = [None, *(ink for ink, tint in enumerate(tints) if 0 < tint < 100)]
        current = self.closeness.shifted
        place = cycle.index(current) if current in cycle else 0
        shifted = cycle[(place + 1) % len(cycle)]
        self.closeness = replace(self.closeness, shifted=shifted, dots=True)
        self.show_candidate()

    def action_shift_more(self) -> None:
        """Another amount out of register."""
        following = _SHIFTS[(_SHIFTS.index(self.closeness.shift) + 1) % len(_SHIFTS)]
        self.closeness = replace(self.closeness, shift=following, dots=True)
        self.show_candidate()

    def action_next_wording(self) -> None:
        """Another wording of what is copied."""
        from tuimatch.recipe.copied_recipe import after

        if self.wording is not None:
            self.wording = after(self.wording, self.palette)
            self.say(f"from now on copied as {self.wording.value}; y copies")
            self.show_candidate()

    # The question.

    def action_hold(self) -> None:
        """Hold nothing, lightness, hue, chroma … and round again."""
        if self.match is None:
            self.say(NO_TARGET)
            return
        from tuimatch.match.ranking import Hold

        cycle = list(Hold)
        hold = cycle[(cycle.index(self.match.question.hold) + 1) % len(cycle)]
        self.ask(replace(self.match.question, hold=hold))
        self.say(f"ordered by ΔE with {hold.value} held" if hold.value != "nothing" else "")

    def action_limit_inks(self) -> None:
        """At most so many inks."""
        from tuimatch.match.limits import next_ink_count

        self._narrow(lambda narrowing: next_ink_count(narrowing, self.palette))

    def action_limit_without(self) -> None:
        """Leave an ink out."""
        from tuimatch.match.limits import next_without

        self._narrow(lambda narrowing: next_without(narrowing, self.palette))

    def action_limit_fix(self) -> None:
        """The next ink is down already, at the tint of the recipe looked at."""
        from tuimatch.match.limits import fix_next

        if self.match is not None and self.candidate is not None:
            row = self.candidate.row
            tints = self.match.recipes.tints_of(row)
            self._narrow(lambda narrowing: fix_next(narrowing, tints))
            self.look_at(row)  # the next ink is then fixed as in the same recipe

    def action_limit_coverage(self) -> None:
        """Another coverage limit."""
        from tuimatch.match.limits import next_coverage

        self._narrow(lambda narrowing: next_coverage(narrowing, self.palette))

    def action_limit_used(self) -> None:
        """Only recipes that the project uses, or all."""
        if self.match is not None:
            question = self.match.question
            self.ask(replace(question, used_only=not question.used_only))

    def action_clear_limits(self) -> None:
        """Clear every limit and the hold; the palette's own coverage limit stays."""
        if self.match is not None:
            from tuimatch.match.answer import Question
            from tuimatch.match.limits import start

            self.ask(Question(self.match.question.target, narrowing=start(self.palette)))

    def _narrow(self, step: Callable[[Narrowing], Narrowing]) -> None:
        if self.match is not None:
            question = self.match.question
            self.ask(replace(question, narrowing=step(question.narrowing)))

    def action_walk(self, direction: str) -> None:
        """Step to the neighbouring recipe in a direction of CIELAB."""
        if self.match is None or self.candidate is None:
            return
        from tuimatch.match.neighbours import Direction, neighbour

        way = Direction[direction]
        row = neighbour(self.match.recipes, self.candidate.row, way, self.match.allowed)
        if row is None:
            self.say(f"no neighbour is {way.value}")
        else:
            self.say("")
            self.look_at(row)

    # Taking.

    def action_page(self) -> None:
        """Ask which page the choices to come are of."""
        self.prompt_for("page", "page of the choices to come, empty for none", self.page)

    @on(RankedList.Chosen)
    def _clicked_again(self) -> None:
        self.action_take()

    def action_take(self, rank: int = 0) -> None:
        """Take the candidate that is looked at, or the one of a rank."""
        if rank and self.match is not None and rank <= len(self.match.ranking):
            self.look_at(int(self.match.ranking.rows[rank - 1]))
        if self.match is None or self.candidate is None:
            self.say(NO_TARGET if self.match is None else "nothing left to take; 0 clears limits")
            return
        self.action_copy()
        kept = self.keep_candidate(self.match, self.candidate)
        self.prompt_for("label", "a label, such as lamp glass: Enter keeps it, Esc leaves it blank")
        if not kept:
            self.say(f"NOT kept, tried again until it is: {self.keeper.problem}", alarm=True)

    def keep_candidate(self, match: Match, candidate: Candidate) -> bool:
        """Keep a candidate in the log; whether it is on disk now."""
        kept = self.keeper.keep(match.recipes.palette, self._choice(match, candidate))
        self.show_choices()
        return kept

    def action_copy(self) -> None:
        """Copy the recipe in the wording shown."""
        if self.match is None or self.candidate is None or self.wording is None:
            return
        from tuimatch.recipe.copied_recipe import word

        text = word(self.match.recipes, self.candidate.row, self.wording)
        self.follower.ours(text)
        clipboard.send_to_terminal(self.app, text)
        self._copy(text)

    @work(thread=True, exclusive=True, group="copy")
    def _copy(self, text: str) -> None:
        self.post_message(self.Copied(clipboard.send_to_desktop(text)))

    @on(Copied)
    def _copied(self, message: Copied) -> None:
        if not self.keeper.waiting:
            kept = "kept in the log, " if self._asking == "label" else ""
            self.say(f"{kept}recipe {message.where}")

    def _choice(self, match: Match, candidate: Candidate) -> Choice:
        from tuimatch.log import new_choice

        recipes, row, target = match.recipes, candidate.row, match.question.target
        lightness, a, b = recipes.lab[row].tolist()
        return new_choice(
            recipes.palette,
            recipes.tints_of(row),
            project=self.keeper.project,
            target_text=target.text,
            target_lab=target.lab,
            lab=(lightness, a, b),
            srgb=recipes.rgb_of(row),
            delta_e=candidate.delta_e,
            page=self.page,
        )

    # Questions at the foot.

    def prompt_for(
        self, what: str, question: str, answer: str = "", *, replace: bool = True
    ) -> None:
        """Ask for a line of text; `answered` gets it."""
        self._asking = what
        self.add_class("-asking")
        self.prompt.ask(question, answer, replace=replace)

    @on(Prompt.Submitted)
    def _submitted(self, message: Prompt.Submitted) -> None:
        if self.answered(self._asking, message.value):
            self._close_prompt()

    def answered(self, what: str, answer: str) -> bool:
        """Take the answer to a question; whether it will do."""
        if what == "target":
            return self.set_target(answer)
        if what == "page":
            return self._turn_to(answer)
        return not answer.strip() or self._label(answer)

    def _turn_to(self, page: str) -> bool:
        from tuimatch.log import checked_name

        try:
            self.page = checked_name(page, "the page")
        except LogError as error:
            self.say(str(error))
            return False
        self.show_head()
        return True

    def _label(self, label: str) -> bool:
        try:
            self.keeper.label_last(label)
        except LogError as error:
            self.say(str(error))
            return False
        self.show_choices()
        return True

    @on(Prompt.Left)
    def _close_prompt(self) -> None:
        self._asking = ""
        self.remove_class("-asking")
        self.prompt.close()
        self.candidates.focus()
