"""Choices for the tests of the log, made without mixing any ink."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from tuimatch.log import Choice, Log, Tick, new_choice, schema
from tuimatch.log.choice import COLUMNS
from tuimatch.log.search import indexed_row
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Triple

PALETTE = palette_file.load("screen-quarters")
NEWSPRINT = palette_file.load("newsprint-quarters")

LAMP = (100.0, 0.0, 0.0)
COAT = (75.0, 100.0, 50.0)
SEA = (25.0, 75.0, 100.0)


def choice(
    label: str = "lamp glass",
    tints: tuple[float, ...] = LAMP,
    *,
    project: str = "ferrow",
    page: str = "",
    note: str = "",
    target: str = "#f3e3a1",
    lab: Triple = (90.0, -2.0, 80.0),
    delta_e: float = 3.25,
) -> Choice:
    return new_choice(
        PALETTE,
        tints,
        project=project,
        target_text=target,
        target_lab=(88.0, -1.5, 34.0),
        lab=lab,
        srgb=(255, 232, 0),
        delta_e=delta_e,
        label=label,
        page=page,
        note=note,
    )


def keep(log: Log, *labels: str, project: str = "ferrow") -> list[Choice]:
    return [log.keep(PALETTE, choice(label, project=project)) for label in labels]


def tick(log: Log, ticks: Iterable[Tick], on: bool = True) -> None:
    """Tick inks of choices of one project, or take that back."""
    ticks = list(ticks)
    log.tick(ticks, on, "ticked", log.choice(ticks[0].choice).project)


def labels(choices: Iterable[Choice]) -> list[str]:
    return [kept.label for kept in choices]


def three_choices(path: Path) -> None:
    """A log with two choices of project ferrow and one elsewhere."""
    with Log(path) as log:
        log.keep(PALETTE, choice("lamp glass", LAMP, page="1", note="brightest"))
        log.keep(PALETTE, choice("Oda's coat", COAT, page="2", lab=(36.0, 60.0, 20.0)))
        keep(log, "elsewhere", project="other")


def fill(log: Log, count: int) -> None:
    """Many choices with differing texts, all in one transaction."""
    things = ("lamp", "glass", "coat", "quay", "gull", "ledger", "flag", "harbour", "fog", "rope")
    first = choice()
    with log.together("filled", "ferrow"):
        log.add_palette(PALETTE.digest, PALETTE.name, PALETTE.text)
        project_id = log.projects.id_of("ferrow")
        for number in range(count):
            tints = (25.0 * (number % 5), 25.0 * (number // 5 % 5), 25.0 * (number // 25 % 5))
            named = dict(zip(("yellow", "magenta", "cyan"), tints, strict=True))
            log.insert(
                replace(
                    first,
                    identity=f"{number:032x}",
                    label=f"{things[number % 10]} {things[number // 10 % 10]}",
                    page=str(number % 48),
                    note=f"panel {number}" if number % 3 else "",
                    target_text=f"#{number * 7919 % 2**24:06x}",
                    recipe=PALETTE.recipe_text(tints),
                    tints=named,
                    delta_e=number * 0.618 % 12,
                ),
                project_id,
            )


def version_1(path: Path, *kept: Choice) -> None:
    """A log as the first schema kept it."""
    _of_version(path, 1, kept)


def version_2(path: Path, *kept: Choice) -> None:
    """A log as the second schema kept it."""
    _of_version(path, 2, kept)


def version_3(path: Path, *kept: Choice) -> None:
    """A log as the third schema kept it."""
    _of_version(path, 3, kept)


def _of_version(path: Path, version: int, kept: Iterable[Choice]) -> None:
    with closing(sqlite3.connect(path)) as db:
        schema.build(db, version)
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("INSERT INTO palette VALUES (?, ?, ?)", (PALETTE.digest, "Screen", PALETTE.text))
        for c in kept:
            db.execute(
                "INSERT OR IGNORE INTO project (name, created_at) VALUES (?, ?)",
                (c.project, "2026-01-01T00:00:00+00:00"),
            )
            (project,) = db.execute("SELECT id FROM project WHERE name = ?", (c.project,))
            row = {"identity": c.identity, "project_id": project[0]}
            given = c.as_row()
            row |= {x.name: given[x.name] for x in COLUMNS if x.since <= version}
            if version > 1:
                row |= {"changed_at": c.chosen_at, "folded": indexed_row(project[0], row)}
            marks = ", ".join("?" * len(row))
            db.execute(f"INSERT INTO choice ({', '.join(row)}) VALUES ({marks})", [*row.values()])
        db.commit()


def whole(path: Path) -> bool:
    """Whether SQLite finds nothing wrong with a log, its references and its search index."""
    with closing(sqlite3.connect(path)) as db:
        db.execute("INSERT INTO search (search, rank) VALUES ('integrity-check', 1)")
        (said,) = db.execute("PRAGMA integrity_check").fetchone()
        return said == "ok" and not db.execute("PRAGMA foreign_key_check").fetchall()
