"""Keeps choices for the interface: what cannot be written stays and is tried again."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.errors import LogError
from tuimatch.log.remembered import Thing
from tuimatch.palette.model import Palette

if TYPE_CHECKING:
    # SQLite and the log come after the first frame.
    from tuimatch.log import Choice, Log

# Seconds to wait for another program's write: the screen's thread must not stand still.
_PATIENCE = 0.04


@dataclass(frozen=True)
class Used:
    """The palette that a project uses.

    Attributes:
        name: What it is called.
        digest: The text of its file, as the log knows it.
        inks: The names of its inks, in laying order.
    """

    name: str
    digest: str
    inks: tuple[str, ...]


@dataclass(frozen=True)
class _Ticking:
    """Inks of a choice to be ticked off as laid, or to be unticked; see `Log.lay`."""

    identity: str
    inks: tuple[tuple[str, float], ...]
    on: bool
    with_taking: bool


class Keeper:
    """The project's choices, on disk or still waiting for it.

    Attributes:
        project: Its name; empty until the log is open when none was given.
        choices: Those of the project, oldest first; the waiting ones last, with number 0.
        problem: Why something could not be read or written; empty when all is well.
        notice: What was done to the log when it was opened, such as repairing it; usually empty.
    """

    def __init__(self, path: Path, project: str | None) -> None:
        """Keep in a log, for a project or, where none is given, the one used last."""
        self.project = project or ""
        self.choices: list[Choice] = []
        self.problem = ""
        self.notice = ""
        self.path = path
        self._log: Log | None = None
        self._version = 0  # of the log's file, as others change it
        self._waiting: list[tuple[Palette, Choice]] = []
        self._noted: dict[tuple[Thing, str], str] = {}  # what is to be remembered still
        self._ticking: list[_Ticking] = []  # what is to be ticked still

    @property
    def waiting(self) -> int:
        """How many choices and ticks are not on disk yet."""
        return len(self._waiting) + len(self._ticking)

    @property
    def unsaved(self) -> list[Choice]:
        """The choices that are not on disk."""
        return [choice for _, choice in self._waiting]

    def open(self) -> None:
        """Open the log and read the project's choices."""
        for _ in range(2):
            try:
                self._opened()
            except LogError as error:
                self.problem = str(error)
            if not (self.problem and self.notice):
                break  # else it was found damaged and has been repaired

    def close(self) -> None:
        """Try once more to write what waits, and close the log."""
        self.retry()
        if self._log is not None:
            self._log.close()
            self._log = None

    def switch(self, project: str) -> None:
        """Turn to a project, or read the same one anew."""
        self.project = project
        try:
            waiting = [choice for choice in self.unsaved if choice.project == project]
            self.choices = [*self._opened().choices(project), *waiting]
        except LogError as error:
            self.problem = str(error)

    def is_behind(self) -> bool:
        """Whether another program has changed the log since this was asked last."""
        if self._log is None:
            return False
        before = self._version
        with suppress(LogError):
            self._version = self._log.database.version()
        return before != self._version

    def keep(self, palette: Palette, choice: Choice) -> Choice:
        """Keep a choice and give it back, with its number where it is on disk now."""
        self._waiting.append((palette, choice))
        self.choices.append(choice)
        self.retry()
        kept = (c for c in reversed(self.choices) if c.identity == choice.identity)
        return next(kept, choice)

    def same_area(self, identity: str, label: str) -> list[Choice]:
        """What already stands for the area that a choice would be under a label, newest first.

        Without a page it may be meant for the area of this label that has one, the newest. While
        the log cannot be read, only what waits for it is known.

        Raises:
            LogError: The choice is no longer in the log.
        """
        from tuimatch.log.area import folded_label, is_same

        meant = replace(self._found(identity), label=label)
        found = [
            choice
            for choice in reversed(self.unsaved)
            if choice.identity != identity and is_same(choice, meant)
        ]
        with suppress(LogError):
            found += self._opened().same_area(meant)
        if not found and label and not meant.page:
            found = [
                choice
                for choice in reversed(self.choices)
                if choice.identity != identity
                and choice.project == meant.project
                and folded_label(choice.label) == folded_label(label)
            ][:1]
        return found

    def same_recipe(self, choice: Choice) -> list[Choice]:
        """The other areas of the page that a choice is on that have its recipe already."""
        from tuimatch.log.area import folded_pages, is_same

        pages = folded_pages(choice.page)
        return [
            other
            for other in self.choices
            if choice.page
            and other.identity != choice.identity
            and (other.palette, other.tints) == (choice.palette, choice.tints)
            and not pages.isdisjoint(folded_pages(other.page))
            and not is_same(other, choice)
        ]

    def label(self, identity: str, label: str, *, replacing: Sequence[str] = ()) -> str:
        """Give a choice a label, on disk or still waiting, and remove what it replaces.

        Args:
            identity: Whose label it is, whatever was taken, undone or changed meanwhile.
            label: The label.
            replacing: The identities of the choices in whose place it comes.

        Returns:
            What happened to those of their inks that were laid; empty where none were.

        Raises:
            LogError: It is no longer in the log, the label will not do, or could not be written.
        """
        from tuimatch.log import checked_name

        choice = self._found(identity)
        if not choice.id:
            if replacing:
                raise LogError(f"not saved yet, so it replaces nothing yet: {self.problem}")
            choice = replace(choice, label=checked_name(label, "the label"))
            self._waiting = [(p, choice if c.identity == identity else c) for p, c in self._waiting]
            self.choices = [choice if c.identity == identity else c for c in self.choices]
            self.retry()
            return ""
        log = self._opened()
        said = log.laid_after(log.label(identity, label, replacing=replacing), replacing)
        self.switch(self.project)
        return said

    def take_back(self, identity: str) -> None:
        """Take a choice back that was just taken; redo brings it in again.

        Raises:
            LogError: It is no longer in the log, or could not be written.
        """
        if self._found(identity).id:
            self._opened().take_back(identity)
        self._waiting = [(p, c) for p, c in self._waiting if c.identity != identity]
        self.switch(self.project)

    def undo(self) -> str:
        """Undo the project's last change, even from an earlier session; what was undone.

        Raises:
            LogError: It could not be written.
        """
        return self._turned("undo") or "nothing to undo"

    def redo(self) -> str:
        """Do the change again that was undone last; see `undo`."""
        return self._turned("redo") or "nothing to redo"

    def _turned(self, way: str) -> str | None:
        if not self.retry():
            raise LogError(f"not saved yet, retrying: {self.problem}")
        log = self._opened()
        with log.database.reading():
            number = log.projects.find_id(self.project)
        said = log.undo(self.project) if way == "undo" else log.redo(self.project)
        if number is not None:  # undoing may have renamed it
            self.project = log.projects.name_of(number)
        self.switch(self.project)
        return said

    def palette_used(self) -> Used | None:
        """The palette that was changed to last, unless a choice has come since; else its own."""
        newest = self.choices[-1] if self.choices else None
        with suppress(ValueError, RecursionError):
            match json.loads(self.recall(Thing.PALETTE) or "null"):
                case {"name": str(name), "digest": str(digest), "inks": [*inks], "after": after}:
                    if after == _mark(newest) and all(isinstance(ink, str) for ink in inks):
                        return Used(name, digest, tuple(inks))
        if newest is None:
            return None
        return Used(newest.palette, newest.palette_digest, tuple(newest.tints))

    def note_palette(self, palette: Palette) -> None:
        """Remember the palette that the project is changed to, until a choice comes."""
        newest = self.choices[-1] if self.choices else None
        with suppress(LogError):
            log = self._opened()
            with log.database.transaction(anywhere=True):
                log.add_palette(palette.digest, palette.name, palette.text)
        inks = [ink.name for ink in palette.inks]
        value = {"name": palette.stem, "digest": palette.digest, "inks": inks}
        text = json.dumps({**value, "after": _mark(newest)}, ensure_ascii=False)
        self.note(Thing.PALETTE, text)

    def palette_kept(self, used: Used) -> Palette | None:
        """A palette that was used, as the log has kept it; None if it cannot be read."""
        try:
            return self._opened().palette_kept(used.name, used.digest)
        except LogError as error:
            self.problem = str(error)
            return None

    def recall(self, thing: Thing, palette: str = "") -> str:
        """What is remembered for the project, or for a palette; empty where nothing can be read."""
        whose = palette or self.project
        if (thing, whose) in self._noted:
            return self._noted[thing, whose]
        with suppress(LogError):
            return self._opened().remembered.recall(thing, whose)
        return ""

    def note(self, thing: Thing, value: str, palette: str = "") -> None:
        """Remember something for the project, or for a palette; what cannot be written waits."""
        self._noted[thing, palette or self.project] = value
        self._write_notes()

    def _write_notes(self) -> None:
        with suppress(LogError):
            for (thing, whose), value in list(self._noted.items()):
                if whose:  # else the log has not said yet which project is in use
                    self._opened().remembered.note(thing, whose, value)
                del self._noted[thing, whose]

    def _found(self, identity: str) -> Choice:
        waiting = (choice for choice in self.unsaved if choice.identity == identity)
        return next(waiting, None) or self._opened().known(identity)

    def still(self, choice: Choice) -> Choice | None:
        """A choice as it is now; None where it was undone or removed, or has another recipe."""
        same = (c for c in self.choices if c.identity == choice.identity)
        now = next(same, None)
        return now if now is not None and now.tints == choice.tints else None

    def laid(self, choice: Choice) -> set[str]:
        """The inks of a choice that are laid, also those whose ticks wait still."""
        found: set[str] = set()
        try:
            found.update(self._opened().ticks.laid([choice]).get(choice.id, ()))
        except LogError as error:
            self.problem = str(error)
        for ticking in self._ticking:
            if ticking.identity == choice.identity:
                inks = {ink for ink, _ in ticking.inks}
                found = found | inks if ticking.on else found - inks
        return found

    def lay(
        self,
        choice: Choice,
        inks: Iterable[tuple[str, float]],
        on: bool,
        *,
        with_taking: bool = False,
    ) -> str:
        """Tick inks of a choice off as laid; why that is not on disk yet, or nothing.

        See `Log.lay`.
        """
        self._ticking.append(_Ticking(choice.identity, tuple(inks), on, with_taking))
        return "" if self.retry() else f"not saved yet, retrying: {self.problem}"

    def retry(self) -> bool:
        """Write what waits; whether nothing waits any more."""
        self._write_notes()
        if not self.waiting:
            return True
        try:
            log = self._opened()
            while self._waiting:
                palette, choice = self._waiting[0]
                kept = log.keep(palette, choice)
                del self._waiting[0]
                self.choices = [kept if c is choice else c for c in self.choices]
            while self._ticking:
                one = self._ticking[0]
                log.lay(one.identity, one.inks, one.on, with_taking=one.with_taking)
                del self._ticking[0]
        except LogError as error:
            self.problem = str(error)
            return False
        self.problem = ""
        return True

    def _opened(self) -> Log:
        if self._log is None:
            from tuimatch.log import Log

            log = Log(self.path, patience=_PATIENCE)
            try:
                project = self.project or log.projects.current()
                self._version = log.database.version()
                choices = log.choices(project)
            except LogError:
                log.close()
                raise
            finally:
                self.notice = log.notice or self.notice
            self._log, self.project, self.problem = log, project, ""
            # What was taken before it was known which project was used last belongs to it.
            self._waiting = [
                (palette, replace(choice, project=choice.project or project))
                for palette, choice in self._waiting
            ]
            self.choices = [*choices, *(c for c in self.unsaved if c.project == project)]
        return self._log


def _mark(choice: Choice | None) -> list[str]:
    """What tells whether the newest choice, or its recipe's palette, is another one by now."""
    return [] if choice is None else [choice.identity, choice.palette_digest]
