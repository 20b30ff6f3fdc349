"""A log for the tests of the review, and what is on its list."""

from __future__ import annotations

from pathlib import Path

from kept import COAT, PALETTE, SEA, choice, labels

from tuimatch.log import Log
from tuimatch.tui.screens.review_screen import ReviewScreen

FAR = (40.0, 60.0, 30.0)


def four_choices(path: Path) -> Path:
    """Three of ferrow, two of them with one label and two recipes; one elsewhere."""
    with Log(path) as log:
        log.keep(PALETTE, choice("Oda's coat", COAT, page="9", lab=(40.0, 50.0, 20.0), delta_e=2))
        log.keep(PALETTE, choice("lamp", page="10", note="brightest [b]thing", delta_e=3.25))
        log.keep(PALETTE, choice("oda's coat", SEA, page="cover", lab=FAR, delta_e=1))
        log.keep(PALETTE, choice("hull", project="second", lab=(10.0, 0.0, 0.0)))
        log.projects.use("ferrow")
    return path


def in_log(path: Path, project: str | None = "ferrow") -> list[str]:
    with Log(path) as log:
        return labels(log.choices(project))


def here(screen: ReviewScreen) -> str:
    assert screen.choices.choice is not None
    return screen.choices.choice.label


def all_of(screen: ReviewScreen, what: str = "label") -> list[str]:
    """Labels, or pages, of the whole list, in order."""
    found = []
    for place in range(len(screen.choices)):
        screen.choices.cursor = place
        assert screen.choices.choice is not None
        found.append(getattr(screen.choices.choice, what))
    screen.choices.cursor = 0
    return found
