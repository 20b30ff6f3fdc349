"""What can go wrong with the log's file: damage, a full disk, a lock, no permission."""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path

import pytest
from kept import PALETTE, choice, fill, keep, labels, tick, version_1, whole
from support import PATIENCE, ROOT

from tuimatch.errors import LogError
from tuimatch.log import Log, Tick, damage, schema

PAGE = 4096


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.sqlite"


def aside(path: Path) -> Path:
    (found,) = path.parent.glob("log-damaged-*.sqlite")
    return found


def pages_of(path: Path, table: str) -> list[int]:
    with closing(sqlite3.connect(path)) as db:
        rows = db.execute(
            "SELECT pageno FROM dbstat WHERE name = ? AND pagetype = 'leaf'", (table,)
        )
        return [number for (number,) in rows]


def overwrite(path: Path, page: int, data: bytes = b"\xa5" * PAGE) -> None:
    with path.open("r+b") as file:
        file.seek((page - 1) * PAGE)
        file.write(data)


def filled(path: Path, count: int = 400) -> dict[str, str]:
    """A log with everything in it; label by identity."""
    with Log(path) as log:
        fill(log, count)
        keep(log, "last")
        tick(log, [Tick(1, "yellow", 25)])
        log.remove(log.choices(last=2)[0].id)
        return {c.identity: c.label for c in log.choices()}


def test_a_damaged_page_costs_only_its_own_choices(path):
    before = filled(path)
    damaged = random.Random(1).choice(pages_of(path, "choice"))
    overwrite(path, damaged)
    damaged_bytes = path.read_bytes()
    with Log(path) as log:
        with pytest.raises(LogError, match=r"was damaged; it is kept as .*do it again"):
            log.choices()
        assert str(aside(path)) in log.notice
        assert str(path) in log.notice
        after = {c.identity: c.label for c in log.choices()}
        assert after.items() <= before.items()
        assert len(before) - len(after) < 20
        assert f"{len(after) + 1:,} recipes were recovered" in log.notice  # one was removed
        assert {c.identity for c in log.find("lamp", limit=-1)} == {
            identity for identity, label in after.items() if "lamp" in label
        }
        keep(log, "new")
    assert whole(path)
    assert aside(path).read_bytes() == damaged_bytes


@pytest.mark.parametrize("seed", range(12))
def test_any_one_page_may_be_lost(path, seed):
    before = filled(path, 150)
    chance = random.Random(seed)
    page = chance.randrange(2, path.stat().st_size // PAGE + 1)
    overwrite(path, page, chance.choice([bytes(PAGE), chance.randbytes(PAGE)]))
    with Log(path) as log:
        for _ in range(2):  # the first may find the damage
            try:
                after = {c.identity: c.label for c in log.choices() if c.label != "new"}
                keep(log, "new")
                log.find("lamp")
                log.undo()
                break
            except LogError as error:
                assert "was damaged" in str(error)
        assert after.items() <= before.items()
        assert len(before) - len(after) < 40


def test_a_cut_off_log_is_recovered_as_far_as_it_goes(path):
    before = filled(path)
    with path.open("r+b") as file:
        file.truncate(path.stat().st_size // 2 // PAGE * PAGE)
    with Log(path) as log:
        try:
            after = log.choices()
        except LogError:
            after = log.choices()
        assert 0 < len(after) < len(before)
        assert all(before[c.identity] == c.label for c in after)
        assert log.notice
    assert aside(path).exists()
    assert whole(path)


def test_removed_choices_ticks_and_undo_survive_the_repair(path):
    filled(path, 20)
    overwrite(path, pages_of(path, "search_data")[0])
    with Log(path) as log:
        with pytest.raises(LogError, match="was damaged"):
            log.find("lamp", order="label")
        assert log.ticks.of() == {Tick(1, "yellow", 25)}
        assert labels(log.choices(last=1)) == ["last"]
        count = len(log.choices())
        assert "removed" in (log.undo() or "")
        assert len(log.choices()) == count + 1
        assert log.palette(log.choices()[0]) == PALETTE


def test_a_lost_palette_or_project_page_leaves_the_choices(path):
    before = filled(path, 20)
    for table in ("palette", "project"):
        for page in pages_of(path, table):
            overwrite(path, page)
    with Log(path) as log:
        with pytest.raises(LogError, match="was damaged"):
            log.choices()
        after = log.choices()
        assert {c.identity: c.label for c in after} == before
        assert {c.project for c in after} == {"recovered 1"}
        assert log.palette(after[0]) is None
        log.keep(PALETTE, choice("again"))
        assert log.palette(after[0]) == PALETTE


def test_a_wrecked_head_is_recovered_when_opening(path):
    before = filled(path, 20)
    overwrite(path, 1)
    wrecked = path.read_bytes()
    with Log(path) as log:
        assert str(aside(path)) in log.notice
        assert {c.identity: c.label for c in log.choices("ferrow")} == before
        keep(log, "new")
    assert aside(path).read_bytes() == wrecked
    with Log(path) as log:
        assert log.notice == ""


def test_a_damaged_log_of_the_first_schema_is_recovered_and_migrated(path):
    version_1(path, *(choice(f"number {n}") for n in range(200)))
    overwrite(path, pages_of(path, "choice")[5])
    with Log(path) as log:
        assert 170 < len(log.choices()) < 200
        assert "was damaged" in log.notice or "schema" in log.notice
    assert aside(path).exists()


def test_a_letter_given_for_the_log_stays_where_it_is(tmp_path):
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear Oda, " * 1000)
    with pytest.raises(LogError, match="not a database"):
        Log(letter)
    assert letter.read_text().startswith("Dear Oda")
    assert list(tmp_path.iterdir()) == [letter]


def test_two_programs_that_meet_the_damage_mend_it_once(path):
    before = filled(path, 300)
    with Log(path) as first, Log(path) as second:
        with closing(sqlite3.connect(path)) as db:
            db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        for page in pages_of(path, "choice")[3:5]:
            overwrite(path, page)
        with pytest.raises(LogError, match="was damaged"):
            first.choices()
        # The other sees that there is another file, and goes on with that.
        assert second.choices() == first.choices()
        assert "another file has come in its place" in second.notice
        keep(first, "by the first")
        keep(second, "by the second")
        assert labels(first.choices(last=2)) == ["by the first", "by the second"]
        assert first.choices() == second.choices()
        assert len(first.choices()) > len(before) - 40
    assert aside(path).exists()
    assert whole(path)


# A full disk, a lock, no permission: one line, with the way out.


def test_a_full_disk_leaves_the_log_as_it_was_and_keeping_can_be_tried_again(path):
    with Log(path) as log:
        keep(log, "before")
        (pages,) = log.database.db.execute("PRAGMA page_count").fetchone()
        log.database.db.execute(f"PRAGMA max_page_count = {pages}")
        unsaved = choice("after", note="x" * 500)
        refused = 0
        for _ in range(50):  # some still fit into the last page
            try:
                log.keep(PALETTE, unsaved)
                unsaved = choice("after", note="x" * 500)
            except LogError as error:
                assert "the disk is full: make room and try again" in str(error)
                refused += 1
        assert refused
        assert unsaved.identity not in {c.identity for c in log.choices()}
        log.database.db.execute("PRAGMA max_page_count = 100000")
        assert log.keep(PALETTE, unsaved).identity == unsaved.identity
    assert whole(path)


def test_a_locked_log_says_so_and_keeping_can_be_tried_again(path):
    with Log(path, patience=0.05) as log, closing(sqlite3.connect(path)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LogError, match="another program is writing to it: try again"):
            log.keep(PALETTE, choice("lamp glass"))
        assert log.choices() == []
        other.rollback()
        keep(log, "lamp glass")
        assert labels(log.choices()) == ["lamp glass"]


def test_a_locked_log_can_be_opened_and_read(path):
    with Log(path) as log:
        keep(log, "lamp glass")
    with closing(sqlite3.connect(path)) as other:
        other.execute("BEGIN IMMEDIATE")
        with Log(path, patience=0.05) as log:
            assert labels(log.choices()) == ["lamp glass"]


READ_ONLY = """
import os, sys
from pathlib import Path
from tuimatch.errors import LogError
from kept import PALETTE, choice
from tuimatch.log import Log
if os.geteuid() == 0:
    os.seteuid(65534)  # whoever is root may write everywhere
for path in map(Path, sys.argv[1:]):
    try:
        with Log(path) as log:
            log.keep(PALETTE, choice())
        print("kept")
    except LogError as error:
        print(error)
"""


def test_a_read_only_log_or_folder_is_refused_with_the_way_out():
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with Log(folder / "log.sqlite") as log:
            keep(log, "lamp glass")
        before = (folder / "log.sqlite").read_bytes()
        (folder / "log.sqlite").chmod(0o444)
        folder.chmod(0o555)
        try:
            done = subprocess.run(
                [
                    *(sys.executable, "-c", READ_ONLY),
                    *(str(folder / "log.sqlite"), str(folder / "new.sqlite")),
                    str(folder / "new" / "log.sqlite"),
                ],
                env={**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{ROOT / 'tests'}"},
                capture_output=True,
                text=True,
                timeout=PATIENCE,
            )
        finally:
            folder.chmod(0o755)
        assert done.stderr == ""
        lines = done.stdout.splitlines()
        assert len(lines) == 3
        assert all("give another log with --log" in line for line in lines), lines
        assert (folder / "log.sqlite").read_bytes() == before
        assert [p.name for p in folder.iterdir()] == ["log.sqlite"]


def test_a_folder_that_is_a_file_is_refused_in_one_line(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(LogError, match="give another log with --log"):
        Log(tmp_path / "file" / "log.sqlite")
    with pytest.raises(LogError, match="give another log with --log"):
        Log(tmp_path)


@pytest.mark.parametrize("version", [1, 2, 3])
def test_of_two_states_of_a_choice_the_newest_is_recovered(version):
    """Pages no longer used hold rows as they once were, also as an older schema had them."""
    kept = choice("now")
    row = {"id": None, "identity": kept.identity, "project_id": 1, **kept.as_row()}
    row |= {"changed_at": kept.chosen_at, "removed_at": None, "folded": "", "checksum": None}
    columns = schema.columns_by_version("choice")
    first = {"chosen_at": "2026-01-01T00:00:00+00:00", "changed_at": "2026-01-01T00:00:00+00:00"}
    once, now = {**row, **first, "label": "once"}, {**row, **first}
    now["changed_at" if version > 1 else "chosen_at"] = "2026-02-01T00:00:00+00:00"
    names = {len(found): found for found in columns.values()}
    for order in ((once, now), (now, once)):
        read = [(7, tuple(state[name] for name in columns[version])) for state in order]
        tables = {"project": {}, "palette": {}, "choice": names}
        found = [salvaged["label"] for _, salvaged in damage._salvaged(read, tables)]
        assert found == ["now", "once"]
