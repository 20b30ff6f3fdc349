"""Matching again on another palette, from the review: old beside new, taken and undone in one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from comic_log import contents, put_comic, steps
from command import Cli
from kept import NEWSPRINT, PALETTE, tick
from screens import play, press, rows, said, settled, text, write
from textual.pilot import Pilot

from tuimatch.log import Log, Tick
from tuimatch.tui.screens.palette_screen import PaletteScreen
from tuimatch.tui.screens.rematch_screen import RematchScreen
from tuimatch.tui.screens.review_screen import ReviewScreen


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    put_comic(tmp_path / "log.sqlite")
    return tmp_path / "log.sqlite"


def project_of(path: Path) -> str:
    with Log(path) as log:
        return max(log.projects.all(), key=lambda one: one.choices).name


async def begin(pilot: Pilot[None], stem: str) -> RematchScreen:
    """From the review to the answer on a palette."""
    await press(pilot, "p")
    chooser = pilot.app.screen
    assert isinstance(chooser, PaletteScreen)
    names = [entry.palette.stem for entry in chooser.palettes._entries if entry.palette]
    chooser.palettes.cursor = names.index(stem)
    await press(pilot, "enter")
    await settled(pilot)
    screen = pilot.app.screen
    assert isinstance(screen, RematchScreen)
    return screen


def test_all_areas_are_taken_in_one_step_and_undone_in_one(path: Path, tmp_path: Path) -> None:
    project = project_of(path)
    before, undoable = contents(path), steps(path)

    async def scene(pilot: Pilot[None], review: ReviewScreen) -> None:
        screen = await begin(pilot, NEWSPRINT.stem)
        head = text(screen, "#rematch-head")
        assert f"{project}, again on {NEWSPRINT.name}" in head and "still differ" in head
        first = screen.areas.rows[0]
        shown = rows(screen)
        assert first.name in shown[0] and "ΔE" in shown[0]
        assert shown[1].strip(" ▀").startswith(first.old)
        assert f"new: {first.new}" in text(screen, "#rematch-foot")
        await press(pilot, "enter")
        assert pilot.app.screen is review
        assert said(review).endswith(f"again on {NEWSPRINT.stem}; u undoes it")

    play(ReviewScreen(path, project, PALETTE), scene, size=(160, 45))
    assert steps(path) == undoable + 1
    after = contents(path)
    own = [choice for choice in after if choice.project == project]
    laid = {tick.choice for tick in ticked(path)}
    assert {c.palette for c in own if c.id not in laid} == {NEWSPRINT.stem}
    assert [(c.identity, c.label, c.page) for c in after] == [
        (c.identity, c.label, c.page) for c in before
    ]

    async def undo(pilot: Pilot[None], review: ReviewScreen) -> None:
        await press(pilot, "u")
        assert said(review).startswith("undone: matched ")

    play(ReviewScreen(path, project, PALETTE), undo)
    assert contents(path) == before

    # One way for both: the command finds the same recipes.
    cli = Cli(tmp_path)
    cli("rematch", "--project", project, "--palette", NEWSPRINT.stem, "--take", "--log", str(path))
    assert [replace(c, chosen_at="") for c in contents(path)] == [
        replace(c, chosen_at="") for c in after
    ]


def ticked(path: Path) -> set[Tick]:
    with Log(path) as log:
        return log.ticks.of()


def test_only_what_the_filter_leaves_or_what_is_ticked(path: Path) -> None:
    project = project_of(path)
    before = {c.identity: c for c in contents(path)}

    async def scene(pilot: Pilot[None], review: ReviewScreen) -> None:
        await press(pilot, "slash")
        await write(pilot, "lamp")
        meant = {c.identity for c in review.state.fetch(review.state.numbers)}
        assert 0 < len(meant) < len(before)
        await begin(pilot, NEWSPRINT.stem)
        await press(pilot, "enter")
        changed = {c.identity for c in contents(path) if c != before[c.identity]}
        assert changed and changed <= meant
        await press(pilot, "u", "escape", "space")
        assert review.state.choice is not None
        one = review.state.choice.identity
        await begin(pilot, NEWSPRINT.stem)
        await press(pilot, "enter")
        assert {c.identity for c in contents(path) if c != before[c.identity]} <= {one}

    play(ReviewScreen(path, project, PALETTE), scene)


def test_leaving_changes_nothing(path: Path) -> None:
    before = contents(path)

    async def scene(pilot: Pilot[None], review: ReviewScreen) -> None:
        await begin(pilot, NEWSPRINT.stem)
        await press(pilot, "escape")
        assert pilot.app.screen is review

    play(ReviewScreen(path, project_of(path), PALETTE), scene)
    assert contents(path) == before


def test_escape_stops_the_search_with_the_best_so_far(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The search looks on in a thread until it is told to stop; then it answers what it has."""
    from threading import Event

    looked, go_on = Event(), RematchScreen._go_on

    def waits(self: RematchScreen, state: object) -> bool:
        looked.set()
        while not self._stopped:
            Event().wait(0.01)
        return go_on(self, state)  # type: ignore[arg-type]

    monkeypatch.setattr(RematchScreen, "_go_on", waits)

    async def scene(pilot: Pilot[None], review: ReviewScreen) -> None:
        await pilot.press("p")
        await settled(pilot)
        chooser = pilot.app.screen
        assert isinstance(chooser, PaletteScreen)
        names = [entry.palette.stem for entry in chooser.palettes._entries if entry.palette]
        chooser.palettes.cursor = names.index(NEWSPRINT.stem)
        await pilot.press("enter")
        while not looked.is_set():
            await pilot.pause(0.01)
        screen = pilot.app.screen
        assert isinstance(screen, RematchScreen)
        screen.action_take()  # there is nothing to take yet; the key would wait
        await pilot.pause()
        assert pilot.app.screen is screen
        await pilot.press("escape")
        await settled(pilot)
        assert pilot.app.screen is screen
        assert len(screen.areas.rows) > 0

    play(ReviewScreen(path, project_of(path), PALETTE), scene)


def test_what_is_laid_already_stays_and_is_said(path: Path) -> None:
    project = project_of(path)
    with Log(path) as log:
        log.remove(*(c.id for c in log.choices(project) if not any(c.tints.values())))
        tick(log, [Tick(c.id, i, t) for c in log.choices(project) for i, t in c.tints.items() if t])

    async def scene(pilot: Pilot[None], review: ReviewScreen) -> None:
        screen = await begin(pilot, NEWSPRINT.stem)
        assert "no area here that may change" in said(screen)
        await press(pilot, "enter")  # takes nothing
        await press(pilot, "escape")
        assert pilot.app.screen is review

    play(ReviewScreen(path, project, PALETTE), scene)
