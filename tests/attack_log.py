"""Attacks on the log, to be run for hours: PYTHONPATH=.:tests python tests/attack_log.py flips 5000

Each attack makes a log, harms it and looks what came of it. `ATTACKS` lists them; the tests run a
few rounds of each with a fixed seed. Anything but a one-line refusal stops it at once.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

from kept import PALETTE, choice, fill, keep, tick, whole

from tuimatch.errors import LogError
from tuimatch.log import Choice, Log, Tick

PAGE = 4096
State = dict[str, Choice]


def filled(path: Path, count: int = 60) -> State:
    """A log with everything in it; its choices by identity."""
    with Log(path) as log:
        fill(log, count)
        first, *_ = log.choices()
        log.edit(first.id, page="99", note="by the quay")
        log.remove(log.choices(last=2)[0].id)
        tick(log, [Tick(first.id, "yellow", 25)])
        keep(log, "other", project="second")
        return state(log)


def state(log: Log) -> State:
    return {c.identity: replace(c, changed_at="", id=0, doubtful=False) for c in log.choices()}


@contextmanager
def crashed(path: Path, added: int) -> Iterator[State]:
    """A log whose last changes stand beside it only, as after a power cut."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        filled(folder / "log.sqlite")
        with Log(folder / "log.sqlite") as log:
            log.database.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            for number in range(added):
                log.keep(PALETTE, choice(f"only beside {number}", page=str(number)))
            for suffix in ("", "-wal"):
                shutil.copyfile(f"{folder / 'log.sqlite'}{suffix}", f"{path}{suffix}")
            yield state(log)


def used(path: Path) -> tuple[State, list[Choice], list[str]]:
    """Use a log in every way; what is in it, what is doubtful, and what was said on the way."""
    said: list[str] = []
    try:
        log = Log(path)
    except LogError as error:
        return {}, [], [f"not opened: {error}"]
    with log:
        said.append(log.notice)
        ways: tuple[Callable[[], object], ...] = (
            log.choices,
            lambda: log.find("lamp", limit=-1),
            lambda: log.find("la", order="page", limit=-1),
            lambda: log.projects.all(archived=True),
            lambda: log.ticks.of(),
            lambda: [log.palette(c) for c in log.choices()],
            lambda: log.undo("second"),
            lambda: log.redo("second"),
            lambda: log.keep(PALETTE, choice("new", project="third")),
            lambda: log.undo("third"),
        )
        for way in ways:
            for _ in range(3):
                try:
                    way()
                    break
                except LogError as error:
                    assert "\n" not in str(error)
                    said.append(str(error))
        try:
            after = log.choices()
        except LogError as error:
            return {}, [], [*said, str(error)]
        said.append(log.notice)
        found = {c.identity: replace(c, changed_at="", id=0, doubtful=False) for c in after}
        return found, [c for c in after if c.doubtful], [text for text in said if text]


def judged(before: State, path: Path, counts: Counter[str]) -> None:
    """Use a harmed log and count what came of it."""
    after, doubtful, said = used(path)
    counts["rounds"] += 1
    counts["said so"] += bool(said)
    counts["not opened"] += any(text.startswith("not opened") for text in said)
    counts["choices"] += len(before)
    lost = len(before.keys() - after.keys())
    # Where the identity itself was hit, the choice is there and doubtful.
    told = bool(said) or lost <= sum(c.identity not in before for c in doubtful)
    counts["lost and said so" if told else "lost silently"] += lost
    named = {c.identity for c in doubtful}
    altered = {i for i in before.keys() & after.keys() if before[i] != after[i]}
    invented = after.keys() - before.keys()
    counts["altered and said so"] += len(altered & named)
    # A project's name stands in one row for all of its choices.
    counts["in a project of another name"] += sum(
        replace(after[i], project=before[i].project) == before[i] for i in altered - named
    )
    counts["altered silently"] += sum(
        replace(after[i], project=before[i].project) != before[i] for i in altered - named
    )
    counts["back though gone"] += len(invented - named)
    try:
        counts["not whole afterwards"] += bool(after) and not whole(path)
    except sqlite3.DatabaseError:
        counts["not whole afterwards"] += 1


def _bytes_of(path: Path, where: str) -> list[tuple[int, int]]:
    """The stretches of a file that a flip may hit."""
    size = path.stat().st_size
    if where == "header":
        return [(0, 100)]
    with closing(sqlite3.connect(path)) as db:
        pages = [n for (n,) in db.execute("SELECT pageno FROM dbstat WHERE name = 'sqlite_schema'")]
    if where == "schema":
        return [((n - 1) * PAGE, n * PAGE) for n in pages]
    return [(start, start + PAGE) for start in range(0, size, PAGE)]


def flips(where: str) -> Callable[[random.Random, int], Counter[str]]:
    """One bit of the file flipped: in the header, in the schema pages, or in each page in turn."""

    def attack(chance: random.Random, rounds: int) -> Counter[str]:
        counts: Counter[str] = Counter()
        with tempfile.TemporaryDirectory() as name:
            sound = Path(name) / "sound.sqlite"
            before = filled(sound)
            stretches = _bytes_of(sound, where)
            for number in range(rounds):
                folder = Path(name) / str(number)
                folder.mkdir()
                path = folder / "log.sqlite"
                data = bytearray(sound.read_bytes())
                at = chance.randrange(*stretches[number % len(stretches)])
                data[at] ^= 1 << chance.randrange(8)
                path.write_bytes(data)
                try:
                    judged(before, path, counts)
                except Exception:
                    print(f"byte {at} was {sound.read_bytes()[at]:#x}, is {data[at]:#x}")
                    raise
                shutil.rmtree(folder)
        return counts

    return attack


def _beside(harm: Callable[[random.Random, Path], None]) -> Callable[..., Counter[str]]:
    def attack(chance: random.Random, rounds: int) -> Counter[str]:
        counts: Counter[str] = Counter()
        for _ in range(rounds):
            with tempfile.TemporaryDirectory() as name:
                path = Path(name) / "log.sqlite"
                with crashed(path, chance.randrange(1, 12)) as before:
                    harm(chance, path)
                    judged(before, path, counts)
        return counts

    return attack


def _garble_changes(chance: random.Random, path: Path) -> None:
    changes = path.with_name(path.name + "-wal")
    data = bytearray(changes.read_bytes())
    for _ in range(chance.choice((1, 1, 1, 20))):
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    changes.write_bytes(data)


def _garble_first_page(chance: random.Random, path: Path) -> None:
    with path.open("r+b") as file:
        file.write(chance.choice((bytes(PAGE), chance.randbytes(PAGE), chance.randbytes(100))))


def foreign(chance: random.Random, rounds: int) -> Counter[str]:
    """A log is exchanged for another one under the changes beside it."""
    counts: Counter[str] = Counter()
    for _ in range(rounds):
        with tempfile.TemporaryDirectory() as name:
            path, other = Path(name) / "log.sqlite", Path(name) / "other.sqlite"
            before = filled(other, chance.randrange(10, 80))
            with crashed(path, chance.randrange(1, 12)):
                shutil.copyfile(other, path)
                judged(before, path, counts)
                counts["set aside"] += len(list(path.parent.glob("*-foreign-*")))
    return counts


def exchanged(chance: random.Random, rounds: int) -> Counter[str]:
    """The file goes away under an open log; what is kept before and after must be at the path."""
    counts: Counter[str] = Counter()
    for _ in range(rounds):
        with tempfile.TemporaryDirectory() as name:
            path = Path(name) / "here" / "log.sqlite"
            filled(path, 10)
            with Log(path) as log:
                kept = keep(log, "before", "before too")
                log.edit(kept[0].id, page="7")
                how = chance.choice(("deleted", "folder moved", "moved", "replaced", "repaired"))
                counts[how] += 1
                match how:
                    case "deleted":
                        path.unlink()
                    case "folder moved":
                        path.parent.rename(Path(name) / "there")
                    case "moved":
                        path.rename(path.with_name("elsewhere.sqlite"))
                    case "replaced":
                        filled(Path(name) / "other.sqlite", 20)
                        (Path(name) / "other.sqlite").replace(path)
                    case "repaired":
                        with closing(sqlite3.connect(path)) as db, db:
                            db.execute("UPDATE choice SET lab = '' WHERE id = 3")
                        with Log(path) as window:
                            used(window.path)
                kept += keep(log, "after")
            with Log(path) as log:
                found = {c.identity: c for c in log.choices()}
                counts["acknowledged"] += len(kept)
                counts["lost"] += sum(c.identity not in found for c in kept)
                counts["edits lost"] += found[kept[0].identity].page != "7"
            counts["not whole afterwards"] += not whole(path)
            counts["rounds"] += 1
    return counts


def full(chance: random.Random, rounds: int) -> Counter[str]:
    """No room for another page, at any moment."""
    counts: Counter[str] = Counter()
    for _ in range(rounds):
        with tempfile.TemporaryDirectory() as name:
            path = Path(name) / "log.sqlite"
            with Log(path) as log:
                keep(log, "first")
                (pages,) = log.database.db.execute("PRAGMA page_count").fetchone()
                log.database.db.execute(f"PRAGMA max_page_count = {pages + chance.randrange(4)}")
                kept: list[str] = []
                for number in range(30):
                    try:
                        new = choice(str(number), note="x" * chance.randrange(500))
                        kept.append(log.keep(PALETTE, new).identity)
                    except LogError as error:
                        assert "the disk is full" in str(error)
                        counts["refused"] += 1
                counts["acknowledged"] += len(kept)
                counts["lost"] += len(set(kept) - state(log).keys())
                counts["there though refused"] += len(state(log)) - 1 - len(kept)
            counts["not whole afterwards"] += not whole(path)
            counts["rounds"] += 1
    return counts


ATTACKS: dict[str, Callable[[random.Random, int], Counter[str]]] = {
    "flips": flips("every page"),
    "schema": flips("schema"),
    "header": flips("header"),
    "wal": _beside(_garble_changes),
    "first-page": _beside(_garble_first_page),
    "foreign": foreign,
    "exchanged": exchanged,
    "full": full,
}


def main() -> None:
    name, rounds = sys.argv[1], int(sys.argv[2])
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else random.randrange(10**6)
    counts = ATTACKS[name](random.Random(seed), rounds)
    print(f"{name}, seed {seed}: " + ", ".join(f"{k} {n:,}" for k, n in counts.items() if n))


if __name__ == "__main__":
    main()
