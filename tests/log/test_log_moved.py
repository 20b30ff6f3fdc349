"""What is kept is at the log's path, whatever becomes of the file; and who may read it."""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path

import pytest
from kept import COAT, PALETTE, choice, keep, labels, tick, version_2, whole
from support import ROOT

from tuimatch.errors import LogError
from tuimatch.log import Log, Tick


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "folder" / "log.sqlite"


def test_a_choice_kept_after_the_file_was_deleted_is_there_with_those_before(path):
    with Log(path) as log:
        (first,) = keep(log, "first")
        log.edit(first.identity, page="9")
        tick(log, [Tick(first.id, "yellow", 100)])
        path.unlink()
        keep(log, "second")
        assert "moved or deleted" in log.notice
        assert "1 recipe of this session written into it again" in log.notice
    with Log(path) as log:
        assert [(c.label, c.page) for c in log.choices()] == [("first", "9"), ("second", "")]
        assert log.palette(log.choices()[0]) == PALETTE
        assert len(log.ticks.of()) == 1
    assert whole(path)


def test_numbers_of_a_file_that_is_gone_are_not_used_on_another(path, tmp_path):
    with Log(tmp_path / "other.sqlite") as other:
        keep(other, "theirs", "theirs too")
    with Log(path) as log:
        mine, _ = keep(log, "mine", "mine too")
        (tmp_path / "other.sqlite").replace(path)
        with pytest.raises(LogError, match=r"another file has come in its place.*do it again"):
            log.remove(mine.id)
        assert sorted(labels(log.choices())) == ["mine", "mine too", "theirs", "theirs too"]
        assert log.edit(mine.identity, label="still mine").label == "still mine"
        assert "theirs" in labels(log.choices())


def test_what_was_removed_and_undone_stays_so_in_a_new_file(path):
    with Log(path) as log:
        keep(log, "stays", "removed", "undone")
        log.undo()
        log.remove(2)
        path.unlink()
        keep(log, "after")
        assert labels(log.choices()) == ["stays", "after"]


def test_another_window_that_mends_the_log_loses_nothing_of_this_one(path):
    with Log(path) as log, Log(path) as window:
        keep(log, "a", "b", "c")
        with closing(sqlite3.connect(path)) as db, db:
            db.execute("UPDATE choice SET lab = '' WHERE label = 'b'")
        with pytest.raises(LogError, match="was damaged"):
            window.choices()
        keep(log, "d")
        assert sorted(labels(window.choices())) == ["a", "b", "c", "d"]
    assert whole(path)


def test_a_label_goes_to_the_choice_that_was_meant(path):
    with Log(path) as here, Log(path) as there:
        (asked,) = keep(here, "")
        keep(there, "of the other window")
        assert here.edit(asked.identity, label="lamp").label == "lamp"
        there.remove(asked.id)
        with pytest.raises(LogError, match="undone or removed meanwhile"):
            here.edit(asked.identity, label="glass")
        assert labels(here.choices()) == ["of the other window"]


def test_a_project_that_was_renamed_elsewhere_stays_the_same_project(path):
    with Log(path) as here, Log(path) as there:
        keep(here, "first")
        there.projects.rename("ferrow", "Harbour")
        assert here.keep(PALETTE, choice("second")).project == "Harbour"
        assert labels(here.choices("ferrow")) == ["first", "second"]
        assert [p.name for p in here.projects.all()] == ["Harbour"]
        there.projects.create("ferrow")  # meant as another one
        assert here.keep(PALETTE, choice("third")).project == "ferrow"


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.skipif(os.name != "posix", reason="modes as POSIX has them")
def test_only_its_owner_may_read_a_new_log(path):
    before = os.umask(0o022)
    try:
        with Log(path) as log:
            keep(log, "lamp")
            assert mode(path.parent) == 0o700
            assert {mode(found) for found in path.parent.iterdir()} == {0o600}
    finally:
        os.umask(before)


@pytest.mark.skipif(os.name != "posix", reason="modes as POSIX has them")
@pytest.mark.parametrize("given", [0o600, 0o640, 0o664])
def test_a_mended_or_migrated_log_keeps_its_mode(tmp_path, given):
    old, damaged = tmp_path / "old.sqlite", tmp_path / "damaged.sqlite"
    version_2(old, choice("lamp"))
    with Log(damaged) as log:
        keep(log, "a", "b")
    with closing(sqlite3.connect(damaged)) as db, db:
        db.execute("UPDATE choice SET lab = '' WHERE label = 'b'")
    for path in (old, damaged):
        path.chmod(given)
        with Log(path) as log:
            try:
                log.choices()
            except LogError:
                log.choices()
            keep(log, "new")
            assert {mode(found) for found in tmp_path.glob(f"{path.stem}*")} == {given}


LISTED = """
import os, sys
from pathlib import Path
from tuimatch.errors import LogError
from tuimatch.log import Log
from kept import PALETTE, choice
if os.geteuid() == 0:
    os.seteuid(65534)  # whoever is root may write everywhere
with Log(Path(sys.argv[1])) as log:
    print(*(c.label for c in log.choices()), *(c.label for c in log.find("lamp")))
    try:
        log.keep(PALETTE, choice())
    except LogError as error:
        print(error)
"""


@pytest.mark.skipif(os.name != "posix", reason="modes as POSIX has them")
@pytest.mark.parametrize("left_open", [False, True])
def test_a_read_only_log_can_be_listed(left_open):
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "log.sqlite"
        with Log(path) as log:
            keep(log, "lamp", "coat")
            if left_open:  # what is new stands beside it only
                copies = {p: (Path(name) / p.name).read_bytes() for p in Path(name).iterdir()}
        if left_open:
            for copy, data in copies.items():
                if not copy.name.endswith("-shm"):
                    copy.write_bytes(data)
        before = {p.name: p.read_bytes() for p in Path(name).iterdir()}
        for found in Path(name).iterdir():
            found.chmod(0o444)
        Path(name).chmod(0o555)
        try:
            done = subprocess.run(
                [sys.executable, "-c", LISTED, str(path)],
                env={**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{ROOT / 'tests'}"},
                capture_output=True,
                text=True,
                timeout=60,
            )
        finally:
            Path(name).chmod(0o755)
        assert done.stderr == ""
        listed, refused = done.stdout.splitlines()
        assert listed == "lamp coat lamp"
        assert "it is read-only" in refused
        assert {p.name: p.read_bytes() for p in Path(name).iterdir()} == before


def test_a_thousand_words_are_looked_for(path):
    with Log(path) as log:
        keep(log, "lamp", "coat")
        many = " ".join(f"word{n}" for n in range(1_100))
        assert log.find(many) == []
        assert log.find("la " * 1_100) != []
        assert labels(log.find("lamp " * 1_100 + "la " * 1_100, order="label")) == ["lamp"]
        assert log.count("lamp " * 1_100) == 1
        short = " ".join(f"{chr(97 + n % 26)}{chr(97 + n // 26)}" for n in range(26**2)) * 3
        for order in ("newest", "label"):
            assert log.find(short, order=order) == log.find(f"lamp {short}", order=order) == []


@pytest.mark.parametrize("number", [-5, 0, -(2**63), 2**63 - 1])
def test_a_choice_of_an_odd_number_is_mended_once(path, number):
    with Log(path) as log:
        keep(log, "lamp", "coat")
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("UPDATE choice SET id = ? WHERE label = 'lamp'", (number,))
        db.execute("UPDATE choice SET lab = '' WHERE label = 'coat'")
    for _ in range(3):
        with Log(path) as log:
            for _ in range(2):
                try:
                    log.choices()
                    log.find("lamp")
                except LogError as error:
                    assert "was damaged" in str(error)
            assert "lamp" in labels(log.choices())
    assert len(list(path.parent.glob("log-damaged-*.sqlite"))) == 1
    assert not list(path.parent.glob("*recovered*"))


def test_what_is_laid_is_written_from_the_tints(path):
    with Log(path) as log:
        keep(log, "lamp")
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("UPDATE choice SET recipe = ?", ("yellow\nrm -r harbour\n",))
    with Log(path) as log:
        assert log.choices()[0].recipe_to_lay == "yellow 100 %"
        assert choice("", COAT).recipe_to_lay == choice("", COAT).recipe
