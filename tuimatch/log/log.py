"""The log: choices kept, found, edited, removed and brought back."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import Self

from tuimatch.errors import LogError, PaletteError
from tuimatch.log import area
from tuimatch.log.choice import MAX_NOTE, Choice, checked_name, checked_text, moment_now
from tuimatch.log.remembered import Remembered
from tuimatch.log.rows import Rows, choices_where
from tuimatch.log.search import Query
from tuimatch.log.session import Session
from tuimatch.log.ticks import Tick, in_words
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.text import printable


class Log(Rows):
    """An open log. Use it in the thread that opened it.

    Attributes:
        remembered: What is remembered over a restart.
    """

    def __init__(self, path: Path, *, patience: float = 5.0) -> None:
        """Open a log, making it and its folder when they are not there.

        An older one is migrated, a copy kept beside it; a damaged one is set aside and what can be
        read is recovered. `notice` says so.

        Args:
            path: The SQLite file.
            patience: Seconds to wait for another program that is writing.

        Raises:
            LogError: It cannot be opened, is not a log, or is of a newer version.
        """
        super().__init__(path, patience)
        self.remembered = Remembered(self.database, self.projects)
        session = Session(self)
        self.database.remember = session.remember
        self.database.write_again = session.write_again

    @property
    def notice(self) -> str:
        """One line to show about what happened to the file on the way, or empty."""
        return printable(self.database.notice)

    def close(self) -> None:
        """Close the file."""
        self.database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # Reading.

    def choice(self, number: int) -> Choice:
        """One choice by its number.

        Raises:
            LogError: There is no such choice, or the log cannot be read.
        """
        with self.database.reading() as db:
            found = choices_where(db, "choice.id = ? AND removed_at IS NULL", number)
            if not found:
                raise LogError(f"{self.path}: no recipe {number}; `tuimatch log` lists them")
            return found[0]

    def known(self, identity: str) -> Choice:
        """One choice by its identity, which stays the same whatever happens to numbers.

        Raises:
            LogError: It is no longer there, or the log cannot be read.
        """
        with self.database.reading() as db:
            found = choices_where(db, "identity = ? AND removed_at IS NULL", identity)
            if not found:
                raise LogError(f"{self.path}: that recipe was undone or removed meanwhile")
            return found[0]

    def same_area(self, choice: Choice, label: str | None = None) -> list[Choice]:
        """The other choices of the area that a choice is for, newest first.

        Args:
            choice: It need not be kept yet.
            label: What it is going to be called; its own label unless given.

        Raises:
            LogError: The log cannot be read.
        """
        meant = choice if label is None else replace(choice, label=label)
        with self.database.reading() as db:
            number = self.projects.find_id(choice.project)
            others = choices_where(
                db, "project_id = ? AND removed_at IS NULL ORDER BY choice.id DESC", number
            )
        return [c for c in others if c.identity != choice.identity and area.is_same(c, meant)]

    def choices(self, project: str | None = None, *, last: int | None = None) -> list[Choice]:
        """The choices of a project, or of all, oldest first.

        Args:
            project: Its name in any letter case; None for all.
            last: Only so many of the newest.

        Raises:
            LogError: The log cannot be read.
        """
        newest = "removed_at IS NULL ORDER BY choice.id DESC LIMIT ?"
        limit = -1 if last is None else last
        with self.database.reading() as db:
            if project is None:
                return choices_where(db, newest, limit)[::-1]
            number = self.projects.find_id(project)
            return choices_where(db, f"project_id = ? AND {newest}", number, limit)[::-1]

    def find(
        self,
        text: str = "",
        project: str | None = None,
        *,
        order: str = "newest",
        limit: int = 200,
        offset: int = 0,
    ) -> list[Choice]:
        """The choices that hold every word of a text.

        Args:
            text: Words or parts of words in label, page, note, recipe, target or sRGB, in any
                letter case, with or without accents; between quotes several that stand together;
                ``page 4`` for what stands on that page, ``no page`` for what stands on none.
            project: Its name; None for all.
            order: One of `ORDERS`.
            limit: How many at most; -1 for all.
            offset: How many to pass over first.

        Raises:
            LogError: The log cannot be read.
        """
        return self.numbered(self.numbers(text, project, order=order, limit=limit, offset=offset))

    def numbers(
        self, text: str, project: str | None, *, order: str, limit: int = -1, offset: int = 0
    ) -> list[int]:
        """The numbers of the choices that `find` would give.

        Raises:
            LogError: The log cannot be read.
        """
        with self.database.reading() as db:
            query = self._query(db, text, project)
            return [] if query is None else query.ids(db, order, limit, offset)

    def numbered(self, numbers: list[int]) -> list[Choice]:
        """The choices with these numbers, in this order; those no longer there are left out.

        Raises:
            LogError: The log cannot be read.
        """
        with self.database.reading() as db:
            by_number = {
                choice.id: choice
                for start in range(0, len(numbers), 500)
                for choice in choices_where(
                    db,
                    f"choice.id IN ({', '.join(map(str, numbers[start : start + 500]))})"
                    " AND removed_at IS NULL",
                )
            }
            return [by_number[number] for number in numbers if number in by_number]

    def count(self, text: str = "", project: str | None = None) -> int:
        """How many choices `find` would give without a limit.

        Raises:
            LogError: The log cannot be read.
        """
        with self.database.reading() as db:
            query = self._query(db, text, project)
            return 0 if query is None else query.count(db)

    def palette(self, choice: Choice) -> Palette | None:
        """The palette a choice was made with, as it was; None when it can no longer be read."""
        return self.palette_kept(choice.palette, choice.palette_digest)

    def palette_kept(self, name: str, digest: str) -> Palette | None:
        """The palette of a digest under a name; None when it can no longer be read."""
        with suppress(PaletteError):
            return palette_file.parse(self.palette_text(digest), file=name, stem=name)
        return None

    def palette_text(self, digest: str) -> str:
        """The full text of a palette file that choices were made with; empty when it is lost."""
        return self.palette_row(digest)[1]

    # Writing. Every step can be undone.

    @contextmanager
    def together(self, what: str, project: str) -> Iterator[None]:
        """Make all changes inside one transaction and one undo.

        Args:
            what: What is done, in the past, as undoing it will say.
            project: Whose choices they are.

        Raises:
            LogError: It could not be written; the log is as it was.
        """
        with (
            self.database.transaction(),
            self.history.step(what, self.projects.id_of(project)),
        ):
            yield

    def keep(self, palette: Palette, choice: Choice, *, replacing: Collection[str] = ()) -> Choice:
        """Put a choice on disk and give it back with its number; its project is the one in use.

        Keeping it again changes nothing, so that it can be tried again after a failure.

        Args:
            palette: What its recipe is of.
            choice: What to keep.
            replacing: Identities of the choices in whose place it comes, as `same_area` finds them.
                They are removed in the same step, so that one undo brings them back, and the new
                one stands on their pages too. One that is gone already does not matter. Of its
                inks those are laid whose tint was laid on each of these pages: see `laid_after`.

        Raises:
            LogError: It could not be written; the log is as it was.
        """
        choice = _checked(choice)
        with self.database.transaction(anywhere=True) as db:
            number = self.projects.id_of(choice.project)
            self.projects.use_id(number)
            known = choices_where(db, "identity = ?", choice.identity)
            if not known:
                self.add_palette(palette.digest, palette.name, palette.text)
                old = [
                    found
                    for identity in replacing
                    for found in choices_where(db, "identity = ? AND removed_at IS NULL", identity)
                ]
                if old:
                    what = f"replaced {', '.join(c.recipe for c in old)} by {choice.recipe}"
                    choice = _checked(replace(choice, page=area.all_pages([choice, *old])))
                else:
                    what = f"took {choice.recipe}"
                with self.history.step(f"{what}{_for(choice)}", number):
                    self.remove(*(c.id for c in old))
                    self.insert(choice, number, ticks=self._carried(old, choice))
        # Read only now: in a file that came in the place of this one its number is another.
        with self.database.reading() as db:
            return choices_where(db, "identity = ?", choice.identity)[0]

    def replace(self, palette: Palette, choice: Choice) -> Choice:
        """Put another recipe in the place of a choice's, known by its identity.

        An ink that is laid, and whose tint stays the same, stays laid; no other does.

        Raises:
            LogError: There is no such choice, or it could not be written.
        """
        choice = _checked(choice)
        with self.database.transaction(anywhere=True) as db:
            found = choices_where(db, "identity = ? AND removed_at IS NULL", choice.identity)
            if not found:
                raise LogError(
                    f"{self.path}: the recipe for {choice.name!r} is no longer in the log"
                )
            if choice == replace(found[0], changed_at=""):
                return found[0]
            self.add_palette(palette.digest, palette.name, palette.text)
            what = f"replaced {found[0].recipe} by {choice.recipe}{_for(choice)}"
            with self.history.step(what, self.projects.id_of(found[0].project)):
                self.set_ticks(found[0].id, self._carried(found, choice))
                self.update(found[0].id, choice)
        return self.known(choice.identity)

    def label(self, identity: str, label: str, *, replacing: Collection[str] = ()) -> Choice:
        """Give a choice its label, in the place of others if it replaces any.

        It is one step with the taking of the choice, if nothing was changed of it since.

        Args:
            identity: Whose label it is.
            label: The label.
            replacing: Identities of the choices in whose place it comes; see `keep`.

        Raises:
            LogError: The choice is no longer there, or it could not be written.
        """
        with self.database.transaction() as db:
            choice = self.known(identity)
            old = [
                found
                for one in replacing
                for found in choices_where(db, "identity = ? AND removed_at IS NULL", one)
            ]
            named = _checked(replace(choice, label=label))
            if not old and (named.label == choice.label or self._taking_of(choice) is None):
                return self.edit(choice.id, label=label)
            what = f"took {choice.recipe}"
            if old:
                what = f"replaced {', '.join(c.recipe for c in old)} by {choice.recipe}"
            with self.together(f"{what}{_for(named)}", choice.project):
                self.remove(*(c.id for c in old))
                self.history.ticks(choice.id, self._carried(old, choice), on=True)
                page = area.all_pages([choice, *old]) if old else None
                named = self.edit(choice.id, label=label, page=page)
                # One undo takes it away again and brings the old ones back.
                self.history.take_over(choice.id)
                return named

    def take_back(self, identity: str) -> None:
        """Leave a choice that was just taken: its taking is undone, and can be redone.

        Raises:
            LogError: It is no longer there, or it could not be written.
        """
        with self.database.transaction():
            choice = self.known(identity)
            taking = self._taking_of(choice)
            if taking is not None and self.history.is_alone(taking):
                self.history.undo_step(taking)
            else:
                self.remove(choice.id)

    def _taking_of(self, choice: Choice) -> int | None:
        """The step that took a choice; None where it was changed since."""
        return self.history.taking_of(choice.id, self.projects.id_of(choice.project))

    def edit(
        self,
        which: int | str,
        *,
        label: str | None = None,
        page: str | None = None,
        note: str | None = None,
    ) -> Choice:
        """Give a choice another label, page or note; None leaves it.

        Args:
            which: Its number or its identity. The identity stays its own whatever is done in other
                windows while a question is open.
            label: What to call it.
            page: Where it stands.
            note: Whatever else there is to say.

        Raises:
            LogError: There is no such choice, a text will not do, or nothing could be written.
        """
        with self.database.transaction(anywhere=isinstance(which, str)):
            old = self.choice(which) if isinstance(which, int) else self.known(which)
            new = _checked(
                replace(
                    old,
                    label=old.label if label is None else label,
                    page=old.page if page is None else page,
                    note=old.note if note is None else note,
                )
            )
            if new == replace(old, changed_at=""):
                return old
            changed = [
                f"{name} {getattr(old, name) or '–'} to {getattr(new, name) or '–'}"
                for name in ("label", "page", "note")
                if getattr(old, name) != getattr(new, name)
            ]
            what = f"changed {', '.join(changed)} of {old.recipe}"
            with self.history.step(what, self.projects.id_of(old.project)):
                self.update(old.id, new)
        return self.known(old.identity)

    def remove(self, *numbers: int) -> list[Choice]:
        """Take choices out of the log; undoing brings back those of one project.

        Raises:
            LogError: There is no such choice, or nothing could be written.
        """
        with self.database.transaction():
            gone = [self.choice(number) for number in dict.fromkeys(numbers)]
            by_project: dict[str, list[Choice]] = {}
            for choice in gone:
                by_project.setdefault(choice.project, []).append(choice)
            now = moment_now()
            for project, own in by_project.items():
                more = f" and {len(own) - 1} more" if len(own) > 1 else ""
                what = f"removed {own[0].recipe}{_for(own[0])}{more}"
                with self.history.step(what, self.projects.id_of(project)):
                    for choice in own:
                        columns = {"removed_at": now, "changed_at": now}
                        self.history.update("choice", choice.id, columns)
            return gone

    def tick(self, ticks: Iterable[Tick], on: bool, what: str, project: str) -> None:
        """Set ticks or take them away, so that it can be undone; what is so already is no step.

        Args:
            ticks: Of choices of the project.
            on: Whether to set them.
            what: What is done, in the past, as undoing it will say.
            project: Whose choices they are.

        Raises:
            LogError: There is no such choice, or nothing could be written.
        """
        by_choice: dict[int, list[tuple[str, float]]] = {}
        for tick in ticks:
            by_choice.setdefault(tick.choice, []).append((tick.ink, tick.tint))
        with self.together(what, project):
            for number, own in by_choice.items():
                self.choice(number)
                self.history.ticks(number, own, on)

    def lay(
        self,
        identity: str,
        inks: Iterable[tuple[str, float]],
        on: bool,
        *,
        with_taking: bool = False,
    ) -> None:
        """Tick inks of a choice off as laid, or take that back; one that is gone does not matter.

        Args:
            identity: Whose inks they are.
            inks: Ink and tint of each.
            on: Whether they are laid.
            with_taking: Whether this is one step with the taking of the choice, which was kept for
                it.

        Raises:
            LogError: Nothing could be written; the log is as it was.
        """
        inks = list(inks)
        with self.database.transaction(anywhere=True) as db:
            for choice in choices_where(db, "identity = ? AND removed_at IS NULL", identity):
                what = f"{'ticked' if on else 'unticked'} {in_words(inks)}{_for(choice)}"
                taken = with_taking and self._taking_of(choice) is not None
                with self.together(what, choice.project):
                    self.history.ticks(choice.id, inks, on)
                    if taken:
                        self.history.take_over(choice.id)

    def laid_after(self, kept: Choice, replaced: Iterable[str]) -> str:
        """What has become of the inks laid for choices that another one replaced, in words.

        Args:
            kept: The choice that came in their place.
            replaced: Their identities.

        Returns:
            Such as ``yellow 100 % stays laid, magenta 50 % is not laid any more``; empty where
            nothing was laid.

        Raises:
            LogError: The log cannot be read.
        """
        with self.database.reading() as db:
            old = [c for one in replaced for c in choices_where(db, "identity = ?", one)]
            before = {
                (ink, choice.tints[ink]): None
                for choice in old
                for ink in self.ticks.laid([choice]).get(choice.id, ())
            }
            laid = self.ticks.laid([kept]).get(kept.id, ())
        stays = [(ink, tint) for ink, tint in before if ink in laid and kept.tints[ink] == tint]
        gone = [one for one in before if one not in stays]
        said = [
            f"{in_words(tints)} {'is' if len(tints) == 1 else 'are'} {what}"
            for tints, what in ((stays, "still laid"), (gone, "not laid any more"))
            if tints
        ]
        return ", ".join(said)

    def _carried(self, old: Sequence[Choice], new: Choice) -> list[tuple[str, float]]:
        """What is laid of a recipe that comes in the place of others: ink and tint of each.

        Those inks whose tint was laid on each page of the others; inks of the same name in two
        palettes are two inks.
        """
        laid = self.ticks.laid(old)
        on = [
            {
                (ink, one.tints[ink])
                for one in old
                if page in area.folded_pages(one.page) and one.palette == new.palette
                for ink in laid.get(one.id, ())
            }
            for page in set[str]().union(*(area.folded_pages(one.page) for one in old))
        ]
        return [
            (ink, tint)
            for ink, tint in new.tints.items()
            if on and all((ink, tint) in p for p in on)
        ]

    def undo(self, project: str | None = None) -> str | None:
        """Undo what was done last in a project, or in any.

        Returns:
            A line that says what was undone; None when there is nothing to undo.

        Raises:
            LogError: It could not be written; the log is as it was.
        """
        with self.database.transaction():
            number = self._number(project)
            what = None if number == 0 else self.history.undo(number)
            return what and f"undone: {what}"

    def redo(self, project: str | None = None) -> str | None:
        """Redo the change that was undone last; see `undo`."""
        with self.database.transaction():
            number = self._number(project)
            what = None if number == 0 else self.history.redo(number)
            return what and f"redone: {what}"

    def _query(self, db: sqlite3.Connection, text: str, project: str | None) -> Query | None:
        number = self._number(project)
        return None if number == 0 else Query.of(db, text, number)

    def _number(self, project: str | None) -> int | None:
        """The number of a project, None for all, 0 for one that is not there."""
        return None if project is None else self.projects.find_id(project) or 0


def _checked(choice: Choice) -> Choice:
    """A choice with its texts checked, changed now."""
    return replace(
        choice,
        changed_at="",
        label=checked_name(choice.label, "the label"),
        page=checked_name(choice.page, "the page"),
        note=checked_text(choice.note, "the note", MAX_NOTE),
    )


def _for(choice: Choice) -> str:
    return f" for {choice.label}" if choice.label else ""
