"""What this session has written, so that it can be written again where it has got lost."""

from __future__ import annotations

from tuimatch.log import transfer
from tuimatch.log.bundle import Bundle, Entry
from tuimatch.log.rows import Rows


class Session:
    """The choices that a log has written since it was opened, each as it was left."""

    def __init__(self, log: Rows) -> None:
        self.log = log
        self._written: dict[str, Entry] = {}
        self._palettes: dict[str, tuple[str, str]] = {}
        self._identities: dict[int, str] = {}  # by number, in the file that is open

    def remember(self, numbers: set[int]) -> None:
        """Note choices as they are now; call it inside the transaction that has changed them."""
        rows = self.log.entries(sorted(numbers))
        for entry in rows:
            choice = entry.choice
            self._identities[choice.id] = choice.identity
            self._written[choice.identity] = entry
            if choice.palette_digest not in self._palettes:
                self._palettes[choice.palette_digest] = self.log.palette_row(choice.palette_digest)
        # Of a choice whose taking was undone there is nothing left to write.
        for number in numbers - {entry.choice.id for entry in rows}:
            self._written.pop(self._identities.get(number, ""), None)

    def write_again(self) -> int:
        """Write all of it into the file now open; says how many choices were missing or old.

        Raises:
            LogError: It could not be written.
        """
        self._identities.clear()
        by_project: dict[str, list[Entry]] = {}
        for entry in self._written.values():
            by_project.setdefault(entry.choice.project, []).append(entry)
        count = 0
        for project, entries in by_project.items():
            bundle = Bundle(project, None, dict(self._palettes), tuple(entries))
            merged = transfer.merge(self.log, bundle, doing="saved {} again and updated {}")
            count += merged.added + merged.changed
        return count
