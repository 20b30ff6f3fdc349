"""Rows that SQLite calls sound and that are not: set aside like any damage, the rest goes on."""

from __future__ import annotations

import json
import sqlite3
import struct
import tracemalloc
from contextlib import closing
from pathlib import Path

import pytest
from command import Cli
from kept import PALETTE, choice, keep, labels, tick, version_1, whole

from tuimatch.errors import LogError
from tuimatch.log import Log, Tick, salvage, transfer

NO_UTF_8 = "CAST(x'61ff' AS TEXT)"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.sqlite"


def change(path: Path, sql: str, *values: object) -> None:
    with closing(sqlite3.connect(path)) as db:
        assert db.execute(sql, values).rowcount == 1
        db.commit()


def three(path: Path) -> None:
    with Log(path) as log:
        coat, _, sea = keep(log, "coat", "lamp", "sea")
        tick(log, [Tick(coat.id, "yellow", 25.0), Tick(sea.id, "cyan", 50.0)])
        log.edit(sea.id, page="3")


def repaired(log: Log, asked) -> None:
    """What is asked meets the damage; asked again, it is done."""
    with pytest.raises(LogError, match=r"was damaged; it is kept as .*do it again") as caught:
        asked()
    assert "\n" not in str(caught.value)
    assert "damaged" in log.notice
    asked()


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("target_lab", "88,0 -1,5 34,0"),
        ("target_lab", "[1, 2]"),
        ("target_lab", "[1, 2, 3, 4]"),
        ("target_lab", '"123"'),
        ("meant_lab", "[1, 2, 3, 4]"),
        ("intent", "perceptual"),
        ("target_lab", '[1, 2, "3"]'),
        ("lab", "null"),
        ("lab", "[1, 2, NaN]"),
        ("lab", "[1, 2, 1e999]"),
        ("lab", f"[1, 2, {'9' * 400}]"),
        ("lab", "[" * 100_000),
        ("lab", b"[1, 2, 3]"),
        ("tints", "[]"),
        ("tints", '{"yellow": "much"}'),
        ("tints", '{"\\ud800": 1}'),
        ("srgb", "red"),
        ("delta_e", "much"),
        ("delta_e", float("inf")),
        ("chosen_at", "yesterday"),
        ("changed_at", "2026-01-01T00:00:00"),
        ("label", b"lamp"),
        ("recipe", b"\xff"),
    ],
)
def test_a_choice_that_holds_what_none_can_is_set_aside(path, column, value):
    three(path)
    change(path, f"UPDATE choice SET {column} = ? WHERE label = 'lamp'", value)
    with Log(path) as log:
        repaired(log, log.choices)
        assert labels(log.choices()) == ["coat", "sea"]
        assert labels(log.find("sea")) == ["sea"]
        assert log.ticks.of() == {Tick(1, "yellow", 25.0), Tick(3, "cyan", 50.0)}
        assert (log.undo() or "").startswith("undone: changed page")
        keep(log, "new")
    assert whole(path)
    (aside,) = path.parent.glob("log-damaged-*.sqlite")
    with closing(sqlite3.connect(aside)) as db:
        assert db.execute(f"SELECT {column} FROM choice WHERE id = 2").fetchone() == (value,)


@pytest.mark.parametrize("column", ["label", "note", "recipe", "tints"])
def test_a_text_that_is_no_utf_8_is_set_aside(path, column):
    three(path)
    change(path, f"UPDATE choice SET {column} = {NO_UTF_8} WHERE label = 'lamp'")
    with Log(path) as log:
        repaired(log, log.choices)
        assert labels(log.choices()) == ["coat", "sea"]
        assert log.undo() is not None
        assert len(log.ticks.of()) == 2


@pytest.mark.parametrize("value", ["x'ff'", NO_UTF_8])
def test_a_project_whose_name_is_no_text_leaves_its_choices(path, value):
    three(path)
    change(path, f"UPDATE project SET name = {value}")
    with Log(path) as log:
        repaired(log, log.projects.all)
        assert labels(log.choices("recovered 1")) == ["coat", "lamp", "sea"]


@pytest.mark.parametrize(
    "value",
    [
        *("page", "[]", '{"page = 1, label": ""}', '{"page": []}', '{"page": "\\ud800"}'),
        *(f'{{"page": {10**30}}}', '{"ticks": 5}', '{"ticks": [1]}', b"{}"),
    ],
)
def test_a_step_that_can_no_longer_be_read_is_set_aside(path, value):
    three(path)
    change(path, "UPDATE change SET before = ? WHERE before LIKE '%\"page\"%'", value)
    with Log(path) as log:
        repaired(log, log.undo)
        # Asked again, the step before it was undone: the ticks.
        assert labels(log.choices()) == ["coat", "lamp", "sea"]
        assert log.ticks.of() == set()


def test_a_step_is_set_aside_whole(path):
    with Log(path) as log:
        coat, sea = keep(log, "coat", "sea")
        with log.together("noted both", "ferrow"):
            log.edit(coat.id, note="wet")
            log.edit(sea.id, note="dry")
    change(path, "UPDATE change SET before = 'x' WHERE row = ? AND before IS NOT NULL", sea.id)
    with Log(path) as log:
        repaired(log, log.undo)
        assert [(c.label, c.note) for c in log.choices()] == [("coat", "wet")]


def test_a_tick_whose_ink_is_no_text_costs_no_other(path):
    three(path)
    change(path, f"UPDATE tick SET ink = {NO_UTF_8} WHERE choice_id = 1")
    with Log(path) as log:
        repaired(log, lambda: log.ticks.of())
        assert log.ticks.of() == {Tick(3, "cyan", 50.0)}


def test_a_tick_that_is_no_tint_is_set_aside(path):
    three(path)
    change(path, "UPDATE tick SET tint = 'much' WHERE choice_id = 1")
    for ask in (lambda log: log.ticks.of(), lambda log: transfer.gather(log, "ferrow")):
        with closing(sqlite3.connect(path)) as db:
            before = db.serialize()
        with Log(path) as log:
            repaired(log, lambda log=log, ask=ask: ask(log))
            assert log.ticks.of() == {Tick(3, "cyan", 50.0)}
            assert len(log.choices()) == 3
        path.write_bytes(before)


@pytest.mark.parametrize("value", ["x'ff'", NO_UTF_8])
def test_a_row_of_the_first_schema_is_set_aside_too(path, value):
    version_1(path, choice("coat"), choice("lamp"))
    change(path, f"UPDATE choice SET label = {value} WHERE label = 'lamp'")
    with Log(path) as log:
        assert labels(log.choices()) == ["coat"]
    assert list(path.parent.glob("log-damaged-*.sqlite"))


def test_a_palette_that_is_no_longer_the_one_of_its_digest_is_not_taken_over(path):
    three(path)
    other = PALETTE.text.replace(PALETTE.name, "Another name")
    assert other != PALETTE.text
    change(path, "UPDATE palette SET text = ?", other)
    change(path, "UPDATE choice SET lab = '' WHERE label = 'lamp'")
    with Log(path) as log:
        repaired(log, log.choices)
        assert log.palette_text(PALETTE.digest) == ""
        keep(log, "new")
        assert log.palette(log.choices()[0]) == PALETTE


def test_the_command_says_so_in_one_line_and_goes_on(tmp_path):
    cli = Cli(tmp_path)
    three(cli.log)
    change(cli.log, "UPDATE choice SET lab = '1,2,3' WHERE label = 'lamp'")
    assert "2 recipes were recovered into a new log" in cli.refuses("log")
    assert [c["label"] for c in cli.lines("log", "--json")] == ["coat", "sea"]
    assert json.loads(cli("projects", "--json"))["choices"] == 2


def test_an_overflow_page_that_points_to_itself_costs_nothing():
    size, length = 4096, 200_000_000
    leaf = bytearray(size)
    leaf[0] = 0x0D  # a leaf of a table, with one cell
    struct.pack_into(">HHH", leaf, 3, 1, 0, 0)
    struct.pack_into(">H", leaf, 8, 16)
    groups = [length >> shift & 0x7F for shift in (21, 14, 7, 0)]
    leaf[16:21] = bytes([*(group | 0x80 for group in groups[:3]), groups[3], 1])
    least = (size - 12) * 32 // 255 - 23
    local = least + (length - least) % (size - 4)
    struct.pack_into(">I", leaf, 21 + (local if local <= size - 35 else least), 3)
    overflow = struct.pack(">I", 3) + bytes(size - 4)
    data = bytes(size) + bytes(leaf) + overflow
    tracemalloc.start()
    try:
        assert list(salvage.rows(data, size)) == []
        assert tracemalloc.get_traced_memory()[1] < 1_000_000
    finally:
        tracemalloc.stop()
