"""Moving a project between logs whole: choices, the palettes they were made with, and ticks.

A choice is known by its identity, in whatever project it is by now; of two versions of a choice the
one changed last counts. So bringing a project in again changes nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from tuimatch.log.bundle import Bundle, Entry
from tuimatch.log.rows import Rows

_TOLD_EVERY = 500


@dataclass(frozen=True)
class Merged:
    """What an import did: how many choices were new, newer than those here, or neither.

    Attributes:
        archived: Whether it made the project, which is archived.
    """

    project: str
    added: int
    changed: int
    same: int
    archived: bool = False


def gather(log: Rows, project: str) -> Bundle:
    """Everything the log has of a project, what was removed included.

    Raises:
        LogError: There is no such project, or the log cannot be read.
    """
    with log.database.transaction() as db:
        number, name = log.projects.existing(project)
        numbers = db.execute("SELECT id FROM choice WHERE project_id = ? ORDER BY id", (number,))
        entries = tuple(log.entries([row for (row,) in numbers]))
        (archived_at,) = db.execute(
            "SELECT archived_at FROM project WHERE id = ?", (number,)
        ).fetchone()
        digests = {entry.choice.palette_digest for entry in entries}
        palettes = {
            digest: (title, text)
            for digest, title, text in db.execute("SELECT digest, name, text FROM palette")
            if digest in digests
        }
    return Bundle(name, archived_at, palettes, entries)


def merge(
    log: Rows,
    bundle: Bundle,
    project: str | None = None,
    *,
    doing: str = "imported {} and updated {}",
    progress: Callable[[int, int], None] = lambda done, total: None,
) -> Merged:
    """Bring a project into the log, all of it or nothing; it can be undone.

    Args:
        log: Where to.
        bundle: What.
        project: The project to bring it into; the one of the same name unless given.
        doing: What is done, in the past, with room for the new and the changed.
        progress: Told from time to time how many choices are in, and of how many.

    Raises:
        LogError: It could not be written; the log is as it was.
    """
    name, archived_at = (project, None) if project else (bundle.project, bundle.archived_at)
    with log.database.transaction(anywhere=True) as db, log.in_bulk():
        here = {
            identity: (number, project_id, changed_at)
            for number, identity, project_id, changed_at in db.execute(
                "SELECT id, identity, project_id, changed_at FROM choice"
            )
        }
        new = [entry for entry in bundle.entries if entry.choice.identity not in here]
        changes: dict[int, list[tuple[int | None, Entry]]] = defaultdict(list)
        archived = False
        if new:
            archived = archived_at is not None and log.projects.find_id(name) is None
            changes[log.projects.id_of(name, archived_at)] += [(None, entry) for entry in new]
        for entry in bundle.entries:
            # What is here already may be in another project by now.
            row, number, changed_at = here.get(entry.choice.identity, (None, 0, ""))
            if row is not None and _moment(entry.choice.changed_at) > _moment(changed_at):
                changes[number].append((row, entry))
        if changes:
            for digest, (title, text) in bundle.palettes.items():
                log.add_palette(digest, title, text)
        total, done = sum(map(len, changes.values())), 0
        for number, own in changes.items():
            added = sum(row is None for row, _ in own)
            what = f"{doing.format(added, len(own) - added)} recipes"
            with log.history.step(what, number):
                for row, entry in own:
                    if row is None:
                        log.insert(entry.choice, number, entry.removed_at, entry.ticks)
                    else:
                        # The choice last, so that it is changed when it says it was.
                        log.set_ticks(row, entry.ticks)
                        log.update(row, entry.choice, entry.removed_at)
                    done += 1
                    if done % _TOLD_EVERY == 0:
                        progress(done, total)
    changed = total - len(new)
    same = len(bundle.entries) - len(new) - changed
    return Merged(name, len(new), changed, same, archived)


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)
