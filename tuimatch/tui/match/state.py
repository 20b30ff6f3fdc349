"""The match without a terminal: what is asked, seen, said and taken, and what each key changes.

The screen shows a state and calls its methods; nothing here knows of a terminal. numpy and
colour-science come inside the methods: the state is there before the first frame, they are not.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from tuimatch.errors import LogError, TargetError
from tuimatch.log.remembered import Thing
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.text import hexed, printable
from tuimatch.tui.asked import REPLACE, Asked
from tuimatch.tui.match.look import Look
from tuimatch.tui.match.pending_choices import Keeper

if TYPE_CHECKING:
    from tuimatch.colour.intent import Intent
    from tuimatch.colour.target import Target
    from tuimatch.log import Choice
    from tuimatch.match.answer import Known, Match, Question
    from tuimatch.match.hold import Hold
    from tuimatch.match.limits import Narrowing
    from tuimatch.match.ranking import Candidate
    from tuimatch.match.reach import Chart
    from tuimatch.match.typed_colours import Named
    from tuimatch.recipe.dots import Press
    from tuimatch.recipe.recipes import Recipes
    from tuimatch.tui.match.being_laid import BeingLaid

BEYOND_SCREEN = "beyond the screen"
TYPE_ONE = "paste a colour, or press t to type one"
TYPE_ONE_SHORT = ("paste a colour, or type it: t", "paste a colour, or t")
NOTHING_LEFT = "no recipe left; 0 clears limits"
NO_TARGET = f"no colour yet: {TYPE_ONE}"
_NEWEST = 12


class MatchState:
    """A question, its answer, the recipe looked at, and the project it is taken for.

    Attributes:
        palette: The inks in use; they change together with their recipes.
        mixing: The inks that are being mixed, or those in use.
        stored: The palette that came out of the log, since its file is not here; or None.
        recipes: Those of `palette`, as soon as they are mixed.
        match: The answer to the question; None while there is no target.
        candidate: The recipe looked at, in the list or beyond it.
        page: Of the choices to come.
        asked: The question at the foot, or None.
        said: The message at the foot; `alarm` where it must not be overlooked.
    """

    def __init__(
        self,
        palette: Palette,
        keeper: Keeper,
        *,
        colour: str | None = None,
        copy: Callable[[str], None] = lambda _: None,
        open_file: Callable[[str, str], None] = lambda *_: None,
        open_list: Callable[[Sequence[Named]], None] = lambda _: None,
    ) -> None:
        """Begin.

        Args:
            palette: The inks to begin with.
            keeper: Keeps what is taken.
            colour: The text of the colour to begin with; it is read when the inks are mixed.
            copy: Called with each text that is to be copied.
            open_file: Called with what was asked for, picture or flats, and the path as typed.
            open_list: Called with the colours of a list that was pasted.
        """
        self.palette = self.mixing = palette
        self.keeper = keeper
        self.stored: Palette | None = None
        self.recipes: Recipes | None = None
        self.press: Press | None = None
        self.match: Match | None = None
        self.candidate: Candidate | None = None
        self.look = Look()
        self.page = ""
        self.asked: Asked | None = None
        self.said, self.alarm = "mixing the inks …", False
        self._remark = ""  # on what was taken last, until its copy is said
        self._colour, self._copy = colour, copy
        self._open_file, self._open_list = open_file, open_list
        self._wanted: Target | None = None  # given while there are no recipes yet
        self._known: Known | None = None  # until choices or palette change
        self._again: Choice | None = None  # the entry of the review that is taken again
        # What the next recipe taken goes to in place of the log, and recipes that stand beside it.
        self._taker: Callable[[int], None] | None = None
        self._beside: dict[int, tuple[str, ...]] = {}

    def say(self, text: str, *, alarm: bool = False) -> None:
        """Say something at the foot until something else is said."""
        self.said, self.alarm = text, alarm

    @property
    def wanted(self) -> str:
        """The target in words."""
        if self.match is None:
            return self._colour or "no colour yet"
        from tuimatch.colour.intent import Intent

        match = self.match
        clipped = f", {BEYOND_SCREEN}" if match.meant.clipped else ""
        usual = match.intent is Intent.ABSOLUTE and match.question.intent is None
        taken = "" if usual else f", {match.intent.words}"
        return f"{match.question.target.text}{taken}{clipped}"

    # The inks.

    def project_palette(self) -> Palette | None:
        """The palette the project used last: its file where that is here, else the log's own copy.

        A project without choices goes on with the palette in use. None where the project's cannot
        be read, which is said: nobody is offered other inks than the project's unasked.
        """
        used = self.keeper.palette_used()
        if used is None:
            return self.palette
        here = palette_file.lying_here(used.name)
        if here is not None and tuple(ink.name for ink in here.inks) == used.inks:
            return here
        self.stored = self.keeper.palette_kept(used)
        if self.stored is None:
            name = printable(used.name)
            self.say(
                f"the inks of this project, {name}, cannot be read: p chooses other inks",
                alarm=True,
            )
        return self.stored

    def change_palette(self, palette: Palette) -> None:
        """Change the inks without losing the target; until they are mixed all stays as it is."""
        self.mixing = palette
        self.keeper.note_palette(palette)
        self.say("mixing the inks …")

    def mixed(self, recipes: Recipes, press: Press, target: Target | None = None) -> None:
        """Go on with inks that are mixed now, for the colour to begin with if there is no other."""
        from tuimatch.match.hold import Hold

        if recipes.palette is not self.mixing:
            return  # others were chosen meanwhile
        self.palette = recipes.palette
        self.recipes, self.press, self._known = recipes, press, None
        self._recall_wording()
        wanted, hold = self._wanted or target, Hold.NOTHING
        if self.match is not None:
            wanted, hold = self.match.question.target, self.match.question.hold
        said = "" if wanted else TYPE_ONE
        if self.palette is self.stored:
            said = f"{self.palette.stem}.toml is not here: these inks come from the log"
        self.say(self.keeper.problem or printable(said))
        if wanted is not None:
            self.ask(self._first(wanted, hold))

    # What is remembered.

    def recall(self) -> None:
        """Go on where the project was left: on its page."""
        from tuimatch.log import checked_name

        self.page = ""
        with suppress(LogError):  # a damaged value says nothing
            self.page = checked_name(self.keeper.recall(Thing.PAGE), "the page")

    def turn_to(self, project: str) -> None:
        """Go over to another project: to its page, its intent and the limits it begins with."""
        self.read_anew(project)
        self.recall()
        if self.match is not None:
            question = self.match.question
            self.ask(self._first(question.target, question.hold))

    def _first(self, target: Target, hold: Hold | None = None) -> Question:
        """The question that the project begins with for a target."""
        from tuimatch.colour.intent import Intent
        from tuimatch.match.answer import Question
        from tuimatch.match.hold import Hold
        from tuimatch.match.kept_limits import read

        narrowing, used_only = read(self.palette, self.keeper.recall(Thing.LIMITS))
        intent = None
        value, _, stem = self.keeper.recall(Thing.INTENT).partition(" ")
        if stem == self.palette.stem:  # other inks take colours as they do
            with suppress(ValueError):
                intent = Intent(value)
        return Question(target, hold or Hold.NOTHING, narrowing, used_only, intent)

    def _recall_wording(self) -> None:
        from tuimatch.recipe.copied_recipe import Wording, wordings

        wording = Wording.PERCENTAGES
        with suppress(ValueError):
            wording = Wording(self.keeper.recall(Thing.WORDING, self.palette.stem))
        if wording not in wordings(self.palette):
            wording = Wording.PERCENTAGES
        self.look = replace(self.look, wording=wording)

    def keep_limits(self) -> None:
        """Let the project begin with the limits that are on, or without any again."""
        if self.match is None:
            self.say(NO_TARGET)
            return
        from tuimatch.match.kept_limits import to_text

        question = self.match.question
        text = to_text(self.palette, question.narrowing, question.used_only)
        again = text == self.keeper.recall(Thing.LIMITS)
        self.keeper.note(Thing.LIMITS, "" if again else text)
        self.say(
            f"{printable(self.keeper.project)} begins with these limits from now on"
            if text and not again
            else f"{printable(self.keeper.project)} begins without limits from now on"
        )

    # The question.

    def want(self, target: Target) -> None:
        """Make a colour the target, with everything else as it is."""
        self._again = None
        self.leave_for_page()
        if self.recipes is None:
            self._wanted = target  # answered as soon as they are mixed
        elif self.match is None:
            self.ask(self._first(target))
        else:
            self.ask(replace(self.match.question, target=target))

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

    def ask(self, question: Question) -> None:
        """Answer a question and look at the first recipe of the answer."""
        from tuimatch.match.answer import known, match

        assert self.recipes is not None
        if self._known is None:
            self._known = known(self.recipes, self.keeper.choices)
            used = {**self._known.used, **self._beside}
            self._known = replace(self._known, used=used)
        self.match = match(self.recipes, question, self._known)
        self.candidate = self.match.top

    def hold(self) -> None:
        """Put nothing first, then lightness, hue, vividness … and round again."""
        if self.match is None:
            self.say(NO_TARGET)
            return
        from tuimatch.match.hold import Hold

        cycle = list(Hold)
        hold = cycle[(cycle.index(self.match.question.hold) + 1) % len(cycle)]
        self.ask(replace(self.match.question, hold=hold))
        self.say(f"{hold.word} first; other differences count half" if hold.word else "")

    def next_intent(self) -> None:
        """Take the colour as given, or fit its white, or white and black, to the paper."""
        if self.match is None:
            self.say(NO_TARGET)
            return
        intent = self.match.intent.following
        self.ask(self.match.question.taken(intent))
        self.keeper.note(Thing.INTENT, f"{intent.value} {self.palette.stem}")
        self.say(intent.meaning)

    def limit_inks(self) -> None:
        """Change how many inks a recipe may have."""
        from tuimatch.match.limits import next_ink_count

        self._narrow(lambda narrowing: next_ink_count(narrowing, self.palette))

    def limit_without(self) -> None:
        """Leave an ink out."""
        from tuimatch.match.limits import next_without

        self._narrow(lambda narrowing: next_without(narrowing, self.palette))

    def limit_fix(self) -> None:
        """The next ink is laid already, at the tint of the recipe looked at."""
        from tuimatch.match.limits import fix_next

        if self.match is not None and self.candidate is not None:
            row = self.candidate.row
            tints = self.match.recipes.tints_of(row)
            self._narrow(lambda narrowing: fix_next(narrowing, tints))
            self.look_at(row)  # the next ink is then fixed as in the same recipe

    def limit_coverage(self) -> None:
        """Change the coverage limit."""
        from tuimatch.match.limits import next_coverage

        self._narrow(lambda narrowing: next_coverage(narrowing, self.palette))

    def limit_used(self) -> None:
        """Offer only recipes that the project uses, or all."""
        if self.match is not None:
            question = self.match.question
            self.ask(replace(question, used_only=not question.used_only))

    def clear_limits(self) -> None:
        """Clear every limit and put nothing first; the palette's own coverage limit stays."""
        if self.match is not None:
            from tuimatch.match.answer import Question
            from tuimatch.match.limits import start

            question = self.match.question
            limits = start(self.palette)
            self.ask(Question(question.target, narrowing=limits, intent=question.intent))

    def _narrow(self, step: Callable[[Narrowing], Narrowing]) -> None:
        if self.match is not None:
            question = self.match.question
            self.ask(replace(question, narrowing=step(question.narrowing)))

    # The recipe looked at.

    def look_at(self, row: int) -> None:
        """Look at any recipe of the palette, in the list or beyond it."""
        assert self.match is not None
        self.candidate = self.match.ranking.beside(row)

    def walk(self, direction: str) -> None:
        """Step to the neighbouring recipe in a direction of CIELAB."""
        if self.match is None or self.candidate is None:
            return
        from tuimatch.match.neighbours import Direction, neighbour

        way = Direction[direction]
        row = neighbour(self.match.recipes, self.candidate.row, way, self.match.allowed)
        if row is None:
            self.say(f"no {way.value} nearby")
        else:
            self.say("")
            self.look_at(row)

    def next_preview(self) -> None:
        """Look from afar, close up, and from afar again."""
        self.look = self.look.next_preview()

    def zoom(self, by: int) -> None:
        """Make the dots larger or smaller."""
        self.look = self.look.zoomed(by)

    def ruling(self, by: int) -> None:
        """Make the ruling finer or coarser."""
        self.look = self.look.ruled(by)

    def misregister(self) -> None:
        """Put the next ink out of register, or none."""
        if self.match is None or self.candidate is None:
            self.say(NO_TARGET)
        else:
            self.look = self.look.misregistered(self.match.recipes.tints_of(self.candidate.row))

    def shift_more(self) -> None:
        """Change how far an ink is out of register."""
        self.look = self.look.shifted_more()

    def next_wording(self) -> None:
        """Change the wording of what is copied."""
        from tuimatch.recipe.copied_recipe import after

        if self.look.wording is not None:
            wording = after(self.look.wording, self.palette)
            self.look = replace(self.look, wording=wording)
            self.keeper.note(Thing.WORDING, wording.value, self.palette.stem)
            self.say(f"now copied as {wording.value}; y copies")

    # The chart of every recipe.

    @property
    def newest(self) -> Sequence[Choice]:
        """The last choices of the project, oldest first."""
        return self.keeper.choices[-_NEWEST:]

    @property
    def chart_due(self) -> bool:
        """Whether the chart is to be shown unasked: the inks are mixed, and there is no target."""
        mixed = self.recipes is not None and self.mixing is self.palette
        return mixed and self.match is None and self.asked is None

    def chart(self) -> Chart | None:
        """The chart, with the target marked if there is one; None while there are no recipes."""
        from tuimatch.match.limits import allowed, start
        from tuimatch.match.reach import Chart, most_vivid

        recipes, match = self.recipes, self.match
        if recipes is None:
            return None
        if match is None:
            mask = allowed(recipes, start(self.palette))
            first = most_vivid(recipes, mask)
            return Chart(recipes, first, first, allowed=mask)
        ranking = match.ranking
        nearest = ranking.nearest.row if ranking.nearest else 0
        row = self.candidate.row if self.candidate else nearest
        return Chart(recipes, row, nearest, ranking.target.lab, match.allowed)

    def view(self, row: int) -> None:
        """Look at a recipe of the chart or the wheel: where there is no target it becomes that."""
        if self.match is None and self.recipes is not None:
            from tuimatch.match.asked import of_recipe

            self.want(of_recipe(self.recipes, row, hexed(self.recipes.rgb_of(row))))
            self.say("")
        self.look_at(row)

    # Taking.

    def copy(self) -> None:
        """Copy the recipe in the wording shown."""
        if self.match is not None and self.candidate is not None and self.look.wording is not None:
            from tuimatch.recipe.copied_recipe import word

            self._copy(word(self.match.recipes, self.candidate.row, self.look.wording))

    def copied(self, where: str) -> None:
        """Say what is known about a copy."""
        what = self.asked.what if self.asked else ""
        if not self.keeper.waiting and what != "replace":
            said = f"{'kept in the log; ' * (what == 'label')}recipe {where}"
            self.say("; ".join(filter(None, (self._remark, said))))
            self._remark = ""

    def take(self, rank: int = 0) -> None:
        """Copy and keep the recipe looked at, or the one of a rank, and ask for its label."""
        if rank and self.match is not None and rank <= len(self.match.ranking):
            self.look_at(int(self.match.ranking.rows[rank - 1]))
        if self.match is None or self.candidate is None:
            self.say(NO_TARGET if self.match is None else NOTHING_LEFT)
            return
        if self._taker is not None:
            taker, self._taker = self._taker, None
            taker(self.candidate.row)
            return
        self.copy()
        again, self._again = self._again, None
        taken = self.keep(self.match, self.candidate, again)
        self._remark = self._remark_on(taken)
        if self._remark:
            self.say(self._remark)
        self._ask_label(taken, again)
        if not taken.id:
            self._say_problem()

    def _remark_on(self, taken: Choice) -> str:
        """What to say of a choice that was taken beside that it was."""
        said = []
        if not taken.page and len(self.keeper.choices) == 1:
            said.append("no page set: g sets it")
        if others := self.keeper.same_recipe(taken):
            more = f" and {len(others) - 1} more" if len(others) > 1 else ""
            said.append(f"same recipe as {others[-1].label or others[-1].target_text}{more}")
        return printable("; ".join(said))

    def keep(self, match: Match, candidate: Candidate, again: Choice | None = None) -> Choice:
        """Keep a recipe in the log, for the area of an earlier choice if it is one taken again."""
        from tuimatch.log import new_choice

        recipes, row, target = match.recipes, candidate.row, match.question.target
        lightness, a, b = recipes.lab[row].tolist()
        taken = self.keeper.keep(
            recipes.palette,
            new_choice(
                recipes.palette,
                recipes.tints_of(row),
                project=self.keeper.project,
                target_text=target.text,
                target_lab=target.lab,
                meant_lab=match.meant.lab,
                intent=match.intent.value,
                lab=(lightness, a, b),
                srgb=recipes.rgb_of(row),
                delta_e=candidate.delta_e,
                label=again.label if again else "",
                page=again.page if again else self.page,
            ),
        )
        self.choices_changed()
        return taken

    def choose_for(
        self,
        name: str,
        target: Target,
        row: int,
        intent: Intent,
        beside: dict[int, tuple[str, ...]],
        taker: Callable[[int], None],
    ) -> None:
        """Let the next recipe that is taken go back to a page, in place of the log.

        Args:
            name: What it is for.
            target: The colour.
            row: The recipe that it has now.
            intent: How the page takes its colours.
            beside: Names of its neighbours by the rows of their recipes, marked in the list.
            taker: Called with the row of the recipe that is taken.
        """
        self.want(target)
        if self.match is None:
            self.say("still mixing the inks; F goes back to the page")
            return
        self._beside, self._known = beside, None
        self.ask(self.match.question.taken(intent))
        self.look_at(row)
        self._taker = taker
        self.say(
            printable(f"{name}: Enter takes a recipe back to the page, Esc leaves it as it was")
        )

    @property
    def is_for_page(self) -> bool:
        """Whether the next recipe that is taken goes back to a page."""
        return self._taker is not None

    def leave_for_page(self) -> None:
        """A page is looked at: nothing is chosen for it here any more."""
        self._taker = None
        if self._beside:
            self._beside, self._known = {}, None

    def ask_page(self, file: str = "") -> None:
        """Ask for a coloured page to match; the last one stands there already."""
        self.asked = Asked(
            "flats", "coloured page: a picture of flats, or a list of colours; Esc leaves", file
        )

    def _ask_label(self, taken: Choice, again: Choice | None) -> None:
        """Ask for a label, or whether what stands for the same area already is replaced."""
        label = again.label if again else ""
        others = self.keeper.same_area(taken.identity, label)
        if others:
            self._ask_replace(taken.identity, others, label)
        elif not label:
            question = "a label, such as lamp glass: Enter keeps it, Esc leaves it blank"
            self.asked = Asked("label", question, about=taken.identity)

    def _ask_replace(self, identity: str, others: Sequence[Choice], label: str) -> None:
        newest = others[0]
        name = f"“{newest.label}”" if newest.label else "this colour"
        page = f" on page {newest.page}" if newest.page else ""
        self.say(printable(f"{name}{page} is {newest.recipe} already"))
        identities = tuple(other.identity for other in others)
        self.asked = Asked("replace", REPLACE, about=identity, others=identities, label=label)

    def choices_changed(self) -> None:
        """Bring the answer up to date with what the project holds now."""
        self._known = None
        self._say_problem()
        if self.match is not None:
            row = self.candidate.row if self.candidate else None
            self.ask(self.match.question)
            if row is not None:
                self.look_at(row)

    def _say_problem(self) -> None:
        """What is wrong with the log; that a choice is not saved comes first."""
        problem = self.keeper.problem
        if problem:
            waits = "not saved yet, retrying: " if self.keeper.waiting else ""
            self.say(f"{waits}{problem}", alarm=True)

    def undo(self) -> None:
        """Undo the project's last change, even from an earlier session."""
        self._turn(self.keeper.undo)

    def redo(self) -> None:
        """Redo what was undone last."""
        self._turn(self.keeper.redo)

    def _turn(self, way: Callable[[], str]) -> None:
        try:
            said = way()
        except LogError as error:
            self.say(str(error), alarm=True)
            return
        self.choices_changed()
        self.say(said)

    def look_again(self) -> None:
        """Write what waits, and see what another window has changed; called from time to time."""
        if self.keeper.waiting:
            if self.keeper.retry():
                self.choices_changed()
                self.say("kept in the log")
        elif self.keeper.is_behind():
            self.read_anew()

    def read_anew(self, project: str | None = None) -> None:
        """Read the choices of the project again, or those of another one."""
        self.keeper.switch(self.keeper.project if project is None else project)
        self.choices_changed()

    def reuse(self, choice: Choice) -> None:
        """Make an entry's colour the target again and look at its recipe, for the same area."""
        from tuimatch.match.asked import of_choice

        self.want(of_choice(choice))
        if self.match is None:
            return
        from tuimatch.match.answer import row_of

        self._again = choice
        row = row_of(self.match.recipes, choice)
        if row is None:
            self.say(f"that recipe is for {printable(choice.palette)}; p changes the palette")
            return
        self.look_at(row)
        place = [f"“{choice.label}”"] * bool(choice.label) + [f"page {choice.page}"] * bool(
            choice.page
        )
        self.say(f"for {', '.join(place)}: Enter takes a recipe for it again" if place else "")

    # Laying.

    def being_laid(self, match: Match, candidate: Candidate) -> Choice | None:
        """The newest choice of a recipe for the same target: on this page, else without one.

        Where no page is set it may be on any.
        """
        from tuimatch.log.area import folded_pages

        palette, target = match.recipes.palette, match.meant.lab
        tints = match.recipes.tints_of(candidate.row)
        same = [
            choice
            for choice in reversed(self.keeper.choices)
            if choice.palette_digest == palette.digest
            and choice.meant_lab == target
            and tuple(choice.tints.values()) == tints
        ]
        here = folded_pages(self.page)
        for choice in same:
            if not here.isdisjoint(folded_pages(choice.page)):
                return choice
        return next((choice for choice in same if not (self.page and choice.page)), None)

    def lay(self) -> BeingLaid | None:
        """Lay the recipe looked at; looking keeps nothing, the first tick keeps the recipe."""
        match, candidate = self.match, self.candidate
        if match is None or candidate is None:
            self.say(NO_TARGET if match is None else NOTHING_LEFT)
            return None
        from tuimatch.tui.match.being_laid import BeingLaid

        find = partial(self.being_laid, match, candidate)
        keep = partial(self.keep, match, candidate)
        return BeingLaid(self.keeper, match.recipes, candidate.row, find, keep)

    # Questions at the foot.

    def edit_target(self, start: str = "") -> None:
        """Type another target."""
        current = self.match.question.target.text if self.match else ""
        question = "colour, or a recipe such as yellow 50, cyan 25; Esc leaves"
        self.asked = Asked("target", question, start or current, replace=not start)

    def edit_page(self) -> None:
        """Ask which page the next choices are of."""
        self.asked = Asked("page", "page of what you take next (empty: none)", self.page)

    def ask_picture(self) -> None:
        """Ask for a picture file to pick a colour from."""
        self.asked = Asked("picture", "picture: a file to pick a colour from, Esc leaves")

    def pasted(self, text: str) -> str:
        """Take a text that was pasted: what of it belongs in the answer, or nothing.

        A colour becomes the target and a list of colours a page, unless the answer is a file or a
        page.
        """
        from tuimatch.match import typed_colours

        what = self.asked.what if self.asked else ""
        named: list[Named] = []
        refusal = ""
        if typed_colours.is_list(text):
            try:
                named = typed_colours.read(text)
            except TargetError as error:
                refusal = f"the list: {error.problem}"
        if what in ("picture", "page", "flats") or (
            what in ("label", "replace") and not named and not self._is_colour(text)
        ):
            return printable(text.strip())
        if len(named) > 1:
            self.asked = None
            self.say("")
            self._open_list(named)
        elif self.set_target(named[0].target.text if named else text):
            self.asked = None  # a label would go to what was taken before
        elif refusal:
            self.say(refusal)
        return ""

    def _is_colour(self, text: str) -> bool:
        from tuimatch.colour import css_text

        try:
            css_text.read(text)
        except TargetError:
            return False
        return True

    def answer(self, text: str) -> None:
        """Answer what is asked; what will not do is said, and stays asked."""
        asked = self.asked
        if asked is None:
            return
        try:
            done = self._answered(asked, text)
        except LogError as error:
            self.say(str(error))
            return
        if done and self.asked is asked:
            self.asked = None

    def _answered(self, asked: Asked, text: str) -> bool:
        match asked.what:
            case "target":
                return self.set_target(text)
            case "page":
                from tuimatch.log import checked_name

                self.page = checked_name(text, "the page")
                self.keeper.note(Thing.PAGE, self.page)
            case "picture" | "flats" if text.strip():
                self._open_file(asked.what, text)
            case "replace" if asked.replaced_by(text):
                label = text.strip() or asked.label
                laid = self.keeper.label(asked.about, label, replacing=asked.others)
                self.choices_changed()
                said = ", ".join(filter(None, ("replaced", laid)))
                self.say(f"{said}; u brings the old one back")
            case "label" | "replace" if text.strip():
                self._label(asked.about, text.strip())
        return True

    def _label(self, identity: str, label: str) -> None:
        others = self.keeper.same_area(identity, label)
        if others:
            self._ask_replace(identity, others, label)
        else:
            self.keeper.label(identity, label)
            self.choices_changed()

    def leave(self) -> None:
        """Leave what is asked without an answer; what would be replaced stays, alone."""
        asked, self.asked = self.asked, None
        if asked is not None and asked.what == "replace":
            try:
                self.keeper.take_back(asked.about)
            except LogError as error:
                self.say(str(error))
                return
            self.choices_changed()
            self.say("the old one stays; U brings the new one back")
