"""The review without a terminal: what is found, where the cursor is, what is ticked and asked.

The cursor is a choice, by its number, never a place in the list: it stays with its entry through
filter, order, edit, undo and redo. Where its entry leaves the list the cursor stands on the one
that took its place, and goes back to it when it comes again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.errors import TuimatchError
from tuimatch.files import out_file
from tuimatch.log import ORDERS, Choice, Log, again
from tuimatch.tui.asked import REPLACE, Asked
from tuimatch.tui.log_access import LogAccess
from tuimatch.tui.screens import guide_file

if TYPE_CHECKING:
    from tuimatch.palette.model import Palette
    from tuimatch.planning.consistency import Finding

AT_ONCE = 200  # so many are looked up at once, the rest while the first are looked at

Question = tuple[str, str | None, str]

_WITH_TICKED = "g sets their page, n plans them, e saves passes, 0 unticks"


def _counted(count: int) -> str:
    return f"{count} recipe{'s' * (count != 1)}"


class ReviewState:
    """The choices of a project or of all, as they are found now.

    Attributes:
        project: Whose choices they are; undoing a renaming changes it.
        everyone: Whether those of all projects are meant.
        order: How they are ordered, one of `ORDERS`.
        filter: The words that all of them hold.
        numbers: The numbers of the choices found, in order.
        more: Whether there are more that are not found yet.
        unread: Whether the log could not be read, or not yet.
        here: The number of the choice under the cursor; None in an empty list.
        ticked: The numbers of those to be planned together, whether they are found now or not.
        findings: What disagrees, by the number of each choice concerned.
        asked: The question at the foot, or None.
        said: The message at the foot.
    """

    def __init__(
        self,
        log_path: Path,
        project: str,
        *,
        copy: Callable[[str], None] = lambda _: None,
        write_guide: Callable[[str, Path], None] = lambda project, path: None,
    ) -> None:
        """Begin with nothing found yet.

        Args:
            log_path: The log's file.
            project: Whose choices to show first.
            copy: Called with each text that is to be copied.
            write_guide: Called with a project and the file that its guide is to be written to.
        """
        self.access = LogAccess(log_path)
        self.project = project
        self.everyone = False
        self.order = "newest"
        self.filter = ""
        self.numbers: list[int] = []
        self.more, self.unread = False, True
        self.here: int | None = None
        self.ticked: set[int] = set()
        self.findings: dict[int, list[Finding]] = {}
        self.asked: Asked | None = None
        self.said = ""
        self._anchor: int | None = None  # what the cursor goes back to when it is there again
        self._place = 0  # of the cursor in the list
        self._left: int | None = None  # the entry from which something was looked for
        self._filtering = False  # whether all that a new filter leaves is not known yet
        self._copy, self._write_guide = copy, write_guide
        self._palettes: dict[str, Palette | None] = {}  # by the digest of their text
        self._version = 0  # of the log's file, as others change it
        self._guided = ""  # the project whose guide is asked for
        self._over = ""  # the file that an answer would write over

    def say(self, text: str) -> None:
        """Say something at the foot until something else is said."""
        self.said = text

    def _ask(self, asked: Asked) -> None:
        self.asked = asked
        self.say(asked.question)

    # What is found.

    @property
    def whose(self) -> str | None:
        """The project asked for; None for all."""
        return None if self.everyone else self.project

    @property
    def question(self) -> Question:
        """What is looked for: the words, the project, the order."""
        return self.filter, self.whose, self.order

    @property
    def choice(self) -> Choice | None:
        """The choice under the cursor as the log has it now; None when it is gone."""
        found = self.fetch([] if self.here is None else [self.here])
        return found[0] if found else None

    def fetch(self, numbers: list[int]) -> list[Choice]:
        """The choices of some numbers, without those that are gone."""
        return self.access.do(lambda log: log.numbered(numbers)) or []

    def recipe_words(self, choice: Choice) -> str:
        """A choice's recipe in the words of the palette it was made from."""
        digest = choice.palette_digest
        if digest not in self._palettes:
            self._palettes[digest] = self.access.do(lambda log: log.palette(choice))
        return choice.recipe_words(self._palettes[digest])

    def look_up(self) -> None:
        """Look up what is asked for now; the cursor stays with its entry."""
        text, whose, order = self.question

        def look(log: Log) -> list[int]:
            return log.numbers(text, whose, order=order, limit=AT_ONCE)

        found = self.access.do(look)
        if found is None:  # a damaged log is repaired by now
            found = self.access.do(look)
        if found is None:
            self.say(self.access.problem)
        self.unread, found = found is None, found or []
        self.more = len(found) == AT_ONCE
        known = self._filtering or {self._anchor, self.here} & set(found)
        if not self.more or known or not self.numbers:
            self._show(found)  # else the list stays as it is until all are there

    def is_behind(self) -> bool:
        """Whether another window has changed the log since this was asked last."""
        before = self._version
        self._version = self.access.do(lambda log: log.database.version()) or before
        return before not in (0, self._version)

    def found(self, question: Question, numbers: list[int]) -> None:
        """All that was looked for is found, unless something else is looked for by now."""
        if question == self.question:
            self.more = False
            self._show(numbers)

    def _show(self, numbers: list[int]) -> None:
        self.numbers = numbers
        stay = next((n for n in (self._anchor, self.here) if n in numbers), None)
        if stay is not None:
            self._place = numbers.index(stay)
        elif self._filtering:
            self._place = 0
        self._place = max(0, min(self._place, len(numbers) - 1))
        if self.more and self._filtering and stay is None:
            self._anchor = self._anchor or self.here  # it may be among the rest
        self.here = numbers[self._place] if numbers else None
        if self._filtering and not self.more:
            self._filtering = False
            self._anchor = self.here or self._anchor

    def move_to(self, place: int) -> None:
        """Put the cursor on the entry at a place of the list."""
        if 0 <= place < len(self.numbers):
            self._place, self.here = place, self.numbers[place]
            self._anchor = self.here

    @property
    def place(self) -> int:
        """The place of the cursor in the list, from 0."""
        return self._place

    def find(self) -> None:
        """Type words to find."""
        question = "words to find, or “page 4”, “no page”; Enter keeps the filter, Esc takes it off"
        if self.here is not None:
            self._left = self.here
        self._ask(Asked("filter", question, self.filter, replace=False))

    def filter_by(self, text: str) -> None:
        """Show only what holds the words; the cursor stays, or goes to the first that does."""
        if text != self.filter:
            if not text and not self.numbers:
                self._anchor = self._left  # nothing was found: back to where it was
            self.filter, self._filtering = text, True
            self.look_up()

    def sort(self) -> None:
        """Change the order."""
        orders = list(ORDERS)
        self.order = orders[(orders.index(self.order) + 1) % len(orders)]
        self.look_up()

    def sort_by(self, order: str) -> None:
        """Sort in the order of a name, which a click on the heading asks for."""
        self.order = order
        self.look_up()

    def show_everyone(self) -> None:
        """Show the choices of all projects, or of one."""
        self.everyone = not self.everyone
        self.findings = {}
        self.look_up()

    def back(self) -> bool:
        """Take the filter off; True where there was none, so that the screen can close."""
        if not self.filter:
            return True
        self.filter_by("")
        return False

    # What disagrees.

    def checked(self, whose: str | None, findings: Iterable[Finding]) -> None:
        """What disagrees is known."""
        if whose == self.whose:
            self.findings = {}
            for finding in findings:
                for choice in finding.choices:
                    self.findings.setdefault(choice.id, []).append(finding)

    @property
    def conflicts(self) -> int:
        """How many conflicts the choices found have a part in."""
        found = (one for n in self.numbers for one in self.findings.get(n, ()))
        return len({id(finding) for finding in found})

    def next_finding(self) -> None:
        """On to the next choice that disagrees with another, from the end to the top."""
        count = len(self.numbers)
        for step in range(1, count + 1):
            place = (self._place + step) % count
            if self.numbers[place] in self.findings:
                self.move_to(place)
                return
        self.say("no conflicts")

    # What is ticked.

    def tick(self) -> None:
        """Tick the choice under the cursor, or untick it."""
        if self.choice is not None and self.here is not None:
            self.ticked ^= {self.here}
            self.say(_WITH_TICKED if self.ticked else "")

    def clear(self) -> None:
        """Untick all."""
        self.ticked = set()
        self.say("")

    def meant(self) -> tuple[str, list[int]] | None:
        """The project and the numbers of what is ticked; None after saying what is wrong."""
        ticked = self.access.do(lambda log: log.numbered(sorted(self.ticked)))
        if ticked is None:
            self.say(self.access.problem)
            return None
        projects = list(dict.fromkeys(choice.project for choice in ticked))
        if len(projects) == 1:
            return projects[0], [choice.id for choice in ticked]
        self.say(
            f"you ticked recipes of {', '.join(projects)}: plan one project at a time"
            if projects
            else "nothing is ticked yet: Space ticks the recipe under the cursor"
        )
        return None

    def to_rematch(self) -> tuple[str, Callable[[Log], list[Choice]]] | None:
        """The project and what finds its choices to be matched again: those ticked, or all shown.

        None after saying what is wrong.
        """
        if self.ticked:
            meant = self.meant()
            return meant and (meant[0], lambda log: log.numbered(meant[1]))
        choice = self.choice
        if choice is None:
            self.say("there is nothing here to match again")
            return None
        text, project = self.filter, choice.project

        def shown(log: Log) -> list[Choice]:
            return log.find(text, project, order="oldest", limit=-1)

        return project, shown

    # The choice under the cursor.

    def copy(self) -> None:
        """Copy the recipe."""
        choice = self.choice
        if choice is not None:
            self._copy(choice.recipe_to_lay)

    def edit_page(self) -> None:
        """Type the page of what is ticked, or of the choice under the cursor."""
        if not self.ticked:
            self.edit("page")
        elif meant := self.meant():
            project, numbers = meant
            ticked = self.fetch(numbers)
            now = {choice.page for choice in ticked}
            old = now.pop() if len(now) == 1 else ""
            question = f"the page of {_counted(len(ticked))} of {project} that are ticked"
            identities = tuple(choice.identity for choice in ticked)
            self._ask(Asked("pages", question, old, about=project, others=identities))

    def edit(self, what: str) -> None:
        """Type another label, page or note."""
        choice = self.choice
        if choice is not None:
            old = getattr(choice, what)
            self._ask(Asked(what, f"the {what} of {choice.name}", old, about=choice.identity))

    def take(self) -> None:
        """Ask for the label to take the recipe again under."""
        choice = self.choice
        if choice is not None:
            question = f"{self.recipe_words(choice)}, taken again in {self.project}: its new label"
            self._ask(Asked("take", question, choice.label, about=choice.identity))

    def remove(self) -> None:
        """Take the choice under the cursor out of the log."""
        choice = self.choice
        if choice is None:
            if self.here is not None:
                self.look_up()
                self.say("that recipe was undone or removed elsewhere")
            return

        def remove(log: Log) -> list[str]:
            with log.database.transaction():
                gone = log.remove(log.known(choice.identity).id)
            return [f"removed {c.name}; u undoes it" for c in gone]

        self._change(remove)

    def undo(self) -> None:
        """Undo the last change, even from an earlier session."""
        self._change(lambda log: [log.undo(self.whose) or "nothing to undo"], here=False)

    def redo(self) -> None:
        """Redo what was undone last."""
        self._change(lambda log: [log.redo(self.whose) or "nothing to redo"], here=False)

    def _change(self, work: Callable[[Log], list[str]], *, here: bool = True) -> bool:
        """Change the log, say what was done and find anew; whether it could be done.

        Args:
            work: What changes the log, and says how.
            here: Whether it is the entry under the cursor that is changed.
        """

        def done(log: Log) -> list[str]:
            with log.database.reading():
                number = log.projects.find_id(self.project)
            said = work(log)
            self.ticked = {c.id for c in log.numbered(sorted(self.ticked))}
            if number is not None:  # undoing may have renamed it
                self.project = log.projects.name_of(number)
            return said

        if here:
            self._anchor = self.here
        said = self.access.do(done)
        problem = self.access.problem
        self.look_up()
        self.say(problem if said is None else "\n".join(said))
        return said is not None

    # The guide.

    def guide(self) -> None:
        """Ask where to write the guide."""
        choice = self.choice
        self._guided = choice.project if self.everyone and choice else self.project
        self._over = ""
        name = guide_file.default_name(self._guided)
        self._ask(Asked("guide", guide_file.question(self._guided), name))

    # Answers.

    def answer(self, text: str) -> None:
        """Answer what is asked; what will not do is said, and stays asked."""
        asked = self.asked
        if asked is not None and self._answered(asked, text) and self.asked is asked:
            self.asked = None

    def _answered(self, asked: Asked, text: str) -> bool:
        match asked.what:
            case "filter":
                self._left = self._left if self.here is None else self.here
                self.say("")
                return True
            case "guide":
                return self._answered_guide(text)
            case "pages":
                return self._change(lambda log: self._put_on_page(log, asked, text))
            case "take":
                return self._change(lambda log: self._take(log, asked.about, text))
            case "replace":
                label = text if text.strip() else asked.label
                others = asked.others if asked.replaced_by(text) else ()
                return self._change(lambda log: self._take(log, asked.about, label, others))

        def edit(log: Log) -> list[str]:
            with log.database.transaction():
                before = log.known(asked.about)
                changed = log.edit(before.id, **{asked.what: text})
            if asked.what != "label":
                return [f"the {asked.what} of {changed.name} is changed"]
            now = f"is called {changed.label} now" if changed.label else "has no label now"
            return [f"{before.name} {now}"]

        return self._change(edit)

    def _put_on_page(self, log: Log, asked: Asked, page: str) -> list[str]:
        """Give several choices their page in one step."""
        count = _counted(len(asked.others))
        where = (
            f"put {count} on page {page.strip()}" if page.strip() else f"took the page off {count}"
        )
        with log.together(where, asked.about):
            for identity in asked.others:
                log.edit(identity, page=page)
        return [f"{where}; u undoes it"]

    def _take(
        self, log: Log, identity: str, label: str, replacing: tuple[str, ...] = ()
    ) -> list[str]:
        """Take a recipe again, or ask whether what stands for its area is replaced."""
        choice = log.known(identity)
        palette = log.palette(choice)
        if palette is None:
            return [f"the palette {choice.palette} it was made with can no longer be read"]
        new = again(choice, project=self.project, label=label)
        others = [] if replacing else log.same_area(new)
        if others:
            identities = tuple(other.identity for other in others)
            self.asked = Asked("replace", REPLACE, about=identity, others=identities, label=label)
            page = f" on page {others[0].page}" if others[0].page else ""
            return [f"{others[0].name}{page} is {others[0].recipe} already. {REPLACE}"]
        kept = log.keep(palette, new, replacing=replacing)
        self._copy(kept.recipe_to_lay)
        laid = log.laid_after(kept, replacing)
        return [f"taken again as {kept.name}{f', {laid}' * bool(laid)}; u undoes it"]

    def _answered_guide(self, answer: str) -> bool:
        try:
            path = guide_file.path_of(answer)
        except TuimatchError as error:
            self.say(str(error))
            return False
        if out_file.is_taken(path) and answer != self._over:
            self._over = answer
            self.say(f"{path} is there already: press Enter again to replace it")
            return False
        self.say(f"writing {path} …")
        self._write_guide(self._guided, path)
        return True

    def leave(self) -> None:
        """Leave what is asked without an answer; a filter is taken off."""
        asked, self.asked = self.asked, None
        self.say("")
        if asked is not None and asked.what == "filter":
            self.filter_by("")

    # Words.

    def facts(self) -> list[str]:
        """The choice under the cursor in full, and what disagrees about it."""
        choice = self.choice
        if choice is None:
            holding = f" with {self.filter!r}" if self.filter else ""
            return [] if self.numbers or self.unread else [f"no recipes{holding}"]
        facts = [f"{self.recipe_words(choice)}  {choice.srgb}  for {choice.wanted}"]
        if choice.note:
            facts.append(choice.note)
        for finding in self.findings.get(choice.id, []):
            facts += self._conflict(choice, finding)
        return facts

    def _conflict(self, choice: Choice, finding: Finding) -> list[str]:
        """What disagrees with a choice, and what to do about it here."""
        if finding.kind != "recipes":
            return [f"! {finding.problem}", f"  → {finding.fix}"]
        others = (c for c in finding.choices if c.recipe != choice.recipe)
        recipes = "; or ".join(dict.fromkeys(map(self.recipe_words, others)))
        return [
            f"! {choice.label} is elsewhere {recipes}",
            "  → x removes this one, l gives it a label of its own",
        ]
