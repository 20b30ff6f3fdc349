"""Economy through Textual's Pilot, on a real log."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Coroutine
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import screens
from comic_log import contents, lose_palette, put_comic, steps
from kept import tick
from screens import OPEN, settled
from textual.pilot import Pilot

from tuimatch.log import Log, Tick
from tuimatch.planning import economy_of_log
from tuimatch.tui.screens import economy_screen
from tuimatch.tui.screens.economy_screen import STEP, EconomyScreen
from tuimatch.tui.screens.help_screen import HelpScreen
from tuimatch.tui.widgets.economy_list import LEVELS, MOST, USUAL, AreaList
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.seam import Seam

Scene = Callable[[Pilot[None], EconomyScreen], Coroutine[Any, Any, None]]


@pytest.fixture(autouse=True)
def _all_the_time_it_takes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(economy_screen, "_SECONDS", 60.0)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    put_comic(tmp_path / "log.sqlite")
    return tmp_path / "log.sqlite"


def play(
    path: Path,
    scene: Scene,
    project: str = "ferrow",
    page: str | None = "1",
    size: tuple[int, int] = (100, 30),
) -> Any:
    return screens.play(EconomyScreen(path, project, page), scene, size)


async def press(pilot: Pilot[None], *keys: str) -> None:
    await pilot.press(*keys)
    await settled(pilot)


def said(screen: EconomyScreen, part: str) -> str:
    return screen.query_one(f"#economy-{part}", Lines).text


async def point_at(pilot: Pilot[None], screen: EconomyScreen, label: str) -> None:
    await press(pilot, "home")
    while screen.areas.change is not None and screen.areas.change.area.label != label:
        await pilot.press("down")


def expected(path: Path, page: str | None = "1", **how: Any) -> Any:
    with Log(path) as log:
        return economy_of_log.plan(economy_of_log.gather(log, "ferrow", page), {}, **how)


def cells(screen: EconomyScreen, y: int) -> list[tuple[str, str | None]]:
    return [
        (sign, s.style.bgcolor.name if s.style and s.style.bgcolor else None)
        for s in screen.areas.render_line(y)
        for sign in s.text
    ]


def text(screen: EconomyScreen, y: int) -> str:
    return "".join(sign for sign, _ in cells(screen, y))


def hexed(rgb: tuple[int, int, int]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*rgb)


@pytest.mark.parametrize("size", [(36, 12), (60, 24), (100, 30)])
def test_every_area_is_a_seam_of_before_and_after(path: Path, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, *["full_stop"] * 8)
        found = expected(path, allowance=3.0)
        assert any(change.changed for change in found.changes)
        # Those that change come first.
        shown = sorted(found.changes, key=lambda change: not change.changed)
        assert shown != list(found.changes)
        for change in shown:
            assert screen.areas.change == change
            line = (screen.areas.cursor - screen.areas._first) * AreaList.HIGH
            table = screen._tables[change.area.palette.digest]
            before, after = (
                hexed(table.rgb_of(table.row_of(tints) or 0))
                for tints in (change.area.tints, change.tints)
            )
            for y in (line, line + 1):
                grounds = [ground for _, ground in cells(screen, y)]
                assert grounds[2:12] == [before] * 5 + [after] * 5
            recipe = change.area.palette.recipe_text
            facts = " ".join(said(screen, "facts").split())  # wrapped where they stand beside
            assert facts.startswith(change.area.label)
            assert "…" not in facts
            was = f"{change.delta_e_before:.2f} "
            now = f"{change.delta_e_after:.2f} "
            if size[0] >= 60:
                was, now = f"before ΔE {was}", f"after ΔE {now}"
                assert facts.startswith(f"{change.area.label} · tolerance ΔE +3.00")
                was += f"{recipe(change.area.tints)} "
                now += recipe(change.tints)
            assert f" {was}" in facts
            assert now in facts
            assert change.area.label in text(screen, line)
            if size[0] >= 60:
                assert f"ΔE {change.delta_e_before:.2f}" in text(screen, line)
                assert (f"→ {change.delta_e_after:.2f}" in text(screen, line)) == change.changed
            await pilot.press("down")

    play(path, scene, size=size)


def test_the_head_says_what_is_saved_and_how_sure_that_is(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        assert said(screen, "head") == (
            "tolerance ΔE +1.00, a little · 9 areas · ferrow, page 1\n"
            "nothing to save at this step: 11 passes, as near as before\n"
            "“some”, ΔE +2.00 an area, saves 2 passes: press + until it is set"
        )
        await press(pilot, *["full_stop"] * 8)
        assert said(screen, "head") == (
            "tolerance ΔE +3.00 · 9 areas · ferrow, page 1\n"
            "11 → 8 passes, on average ΔE 0.85 further\n"
            "proved: no other choice saves more"
        )

    play(path, scene)


@pytest.mark.parametrize("size", [(36, 12), (100, 30), (160, 45)])
def test_where_nothing_is_saved_it_says_which_step_saves(path: Path, size: tuple[int, int]) -> None:
    saves = {level: expected(path, allowance=level).saved for level in LEVELS}
    first = next(level for level, saved in saves.items() if level > USUAL and saved)
    assert saves[USUAL] == 0

    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        head = said(screen, "head")
        assert "nothing to save" in head and "→" not in head
        name, passes = LEVELS[first], saves[first]
        assert f"“{name}”" in head and f"saves {passes} pass" in head
        await press(pilot, *["plus" for level in LEVELS if USUAL < level <= first])
        assert f"→ {11 - passes} passes" in said(screen, "head")
        lines = screen.query_one("#economy-head", Lines)
        assert all("…" not in lines.render_line(y).text for y in range(3))

    play(path, scene, size=size)


def test_where_no_step_saves_that_is_said(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        while any(
            change.area.key not in screen._tolerances.kept for change in screen._shown.changes
        ):
            await press(pilot, "space", "down")
        assert "no step saves a pass" in said(screen, "head")

    play(path, scene)


def test_a_roomy_window_shows_the_area_large_and_what_falls_away(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, *["full_stop"] * 8)
        found = expected(path, allowance=3.0)
        after = {one.brush for one in found.after.passes}
        gone = [one.words for one in found.before.passes if one.brush not in after]
        assert len(gone) >= 3
        facts = said(screen, "facts")
        assert facts.split("no longer laid:\n")[1].splitlines()[: len(gone)] == [
            f"  {words}" for words in gone
        ]
        seam = [s.style.bgcolor.name for s in screen.query_one(Seam).render_line(3) if s.style]
        grounds = [ground for _, ground in cells(screen, 0)]
        assert seam == [grounds[2], grounds[7]]

    play(path, scene, size=(160, 45))


@pytest.mark.parametrize(
    ("keys", "usual"),
    [
        (("plus",), 2.0),
        (("equals_sign", "plus"), 4.0),
        (("minus",), 0.0),
        (("minus",) * 3, 0.0),
        (("plus",) * 9, 4.0),
        (("full_stop",), USUAL + STEP),
        (("comma",), USUAL - STEP),
        (("comma", "plus"), USUAL),  # from between two levels to the next
        (("comma",) * 9, 0.0),
        (("full_stop",) * 80, MOST),
        (("plus", "plus", "0"), USUAL),
    ],
)
def test_the_overall_allowance(path: Path, keys: tuple[str, ...], usual: float) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, *keys)
        assert f"tolerance ΔE +{usual:.2f}" in said(screen, "head")
        if usual <= 4:  # beyond what an artist asks for, the answer may not be exact in time
            assert expected(path, allowance=usual).in_words() in said(screen, "head")

    play(path, scene)


@pytest.mark.parametrize(
    ("keys", "single"),
    [
        (("right",), 2.0),
        (("right",) * 9, 4.0),
        (("left",), 0.0),
        (("left",) * 6, 0.0),
    ],
)
def test_the_allowance_of_the_area_under_the_cursor(
    path: Path, keys: tuple[str, ...], single: float
) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await point_at(pilot, screen, "wet quay")
        await press(pilot, *keys)
        change = screen.areas.change
        assert change is not None
        assert change.area.label == "wet quay"
        found = expected(path, allowances={change.area.key: single})
        assert change == found.changes[2]
        assert found.in_words() in said(screen, "head")
        assert f"tolerance ΔE +{USUAL:.2f}" in said(screen, "head")
        assert f"wet quay · tolerance ΔE +{single:.2f}" in said(screen, "facts")
        line = (screen.areas.cursor - screen.areas._first) * AreaList.HIGH
        assert text(screen, line).rstrip().endswith(f"+{single:.2f}")
        # It is set apart: the others move without it, until all are reset.
        await press(pilot, "full_stop")
        assert f"wet quay · tolerance ΔE +{single:.2f}" in said(screen, "facts")
        await press(pilot, "0")
        assert f"wet quay · tolerance ΔE +{USUAL:.2f}" in said(screen, "facts")
        assert expected(path).in_words() in said(screen, "head")

    play(path, scene)


def test_taking_is_one_step_and_undoing_brings_all_back(path: Path) -> None:
    before, count = contents(path), steps(path)

    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, *["full_stop"] * 8)
        await press(pilot, "enter")
        assert said(screen, "message") == "taken: 4 recipes replaced; u undoes it"
        assert "at this step: 8 passes, as near as before" in said(screen, "head")
        assert steps(path) == count + 1
        assert sum(o != n for o, n in zip(before, contents(path), strict=True)) == 4
        await press(pilot, "u")
        assert said(screen, "message") == "undone: fewer passes for page 1: 11 to 8"
        assert "11 → 8 passes" in said(screen, "head")
        assert contents(path) == before
        await press(pilot, "escape")

    assert play(path, scene) is True


@pytest.mark.parametrize("key", ["escape"])
def test_leaving_says_whether_something_was_taken(path: Path, key: str) -> None:
    before = contents(path)

    async def looked(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, "plus", "down", key)

    assert play(path, looked) is False
    assert contents(path) == before

    async def took(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, *["full_stop"] * 8)
        await press(pilot, "enter", key)

    assert play(path, took) is True
    assert contents(path) != before


def test_nothing_to_take_and_nothing_to_undo_change_nothing(path: Path) -> None:
    before, count = contents(path), steps(path)

    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, "u")
        assert said(screen, "message") == "nothing was taken here"
        await press(pilot, *["minus"] * 4)
        await press(pilot, "enter")
        assert said(screen, "message") == "nothing to take: every area keeps its recipe"
        await press(pilot, "escape")

    assert play(path, scene) is False
    assert (contents(path), steps(path)) == (before, count)


def test_an_answer_to_an_older_question_is_dropped(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        shown = screen._shown
        head = said(screen, "head")
        screen.post_message(EconomyScreen.Answered(screen._stamp - 1, None, "old news"))
        await settled(pilot)
        assert said(screen, "message") == ""
        assert said(screen, "head") == head
        assert screen._shown is not None
        assert shown is not None
        assert screen._shown.economy.in_words() == shown.economy.in_words()

    play(path, scene)


def test_what_is_still_being_planned_is_not_taken(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from threading import Event

    go_on, plan, asked = Event(), economy_of_log.plan, []

    def held(work: Any, tables: Any, **how: Any) -> Any:
        asked.append(how["allowance"])
        if len(asked) > 1:
            go_on.wait(30)
        return plan(work, tables, **how)

    monkeypatch.setattr(economy_of_log, "plan", held)
    monkeypatch.setattr(EconomyScreen, "_look_ahead", lambda *_: None)
    count = steps(path)

    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await pilot.press("plus")
        await pilot.press(*["plus"] * 7)
        screen.action_take()  # the key would wait
        assert said(screen, "message") == "still planning: take it when it is done"
        assert said(screen, "head").endswith("planning …")
        assert steps(path) == count
        go_on.set()
        await settled(pilot)
        # Only the first of the questions and the newest were worked on.
        assert asked == [1.0, 2.0, 4.0]
        assert "11 → 7 passes" in said(screen, "head")

    play(path, scene)


def test_a_log_that_changed_meanwhile_is_planned_anew(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, *["full_stop"] * 8)
        with Log(path) as log:
            log.remove(screen.areas._planned.work.areas[2].key)  # type: ignore[union-attr]
        before = contents(path)
        await press(pilot, "enter")
        assert "changed meanwhile; plan again" in said(screen, "message")
        assert "8 areas" in said(screen, "head")
        assert contents(path) == before
        await press(pilot, "enter")
        assert said(screen, "message").startswith("taken:")

    assert play(path, scene) == OPEN


def test_a_log_that_is_being_written_refuses_and_stays_as_it_is(path: Path) -> None:
    before = contents(path)

    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, *["full_stop"] * 8)
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            await press(pilot, "enter")
            assert str(path) in said(screen, "message")
            other.execute("ROLLBACK")
        assert contents(path) == before
        await press(pilot, "enter")
        assert said(screen, "message").startswith("taken:")

    play(path, scene)


def test_a_page_or_a_project_that_is_not_there(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        assert said(screen, "head").endswith("no plan")
        assert said(screen, "message")
        before = contents(path)
        await press(pilot, "down", "right", "enter", "u")
        assert contents(path) == before
        await press(pilot, "escape")

    assert play(path, scene, page="77") is False
    assert play(path, scene, project="nobody", page=None) is False


def test_an_empty_project(path: Path) -> None:
    with Log(path) as log:
        log.projects.create("empty")

    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        assert "0 areas · empty" in said(screen, "head")
        assert said(screen, "facts") == "no areas here"
        await press(pilot, "down", "right", "plus", "enter", "u", "escape")

    assert play(path, scene, project="empty", page=None) is False


def test_lost_palettes_are_said_and_several_pages_are_told_apart(path: Path) -> None:
    lose_palette(path, "zine-two-inks")
    left = [choice for choice in contents(path) if choice.page != "8"]

    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        assert said(screen, "message").startswith("left out because their palette is lost: ledger")
        assert f"{len(left)} areas · ferrow\n" in said(screen, "head")
        assert "cover: title" in text(screen, 0)
        assert said(screen, "facts").startswith("cover: title · ")
        await press(pilot, "end")
        change = screen.areas.change
        assert change is not None
        assert change.area.key == left[-1].id

    play(path, scene, page=None)


@pytest.mark.parametrize("size", [(36, 12), (100, 30)])
def test_what_is_laid_already_stays_and_is_counted(path: Path, size: tuple[int, int]) -> None:
    quay = next(choice for choice in contents(path) if choice.label == "wet quay")
    with Log(path) as log:
        tick(log, [Tick(quay.id, ink, t) for ink, t in quay.tints.items() if t])

    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        remark = "1 area is laid already and stays"
        assert screen.query_one("#economy-message", Lines).render_line(0).text.strip() == remark
        await press(pilot, *["full_stop"] * 8)
        await point_at(pilot, screen, "wet quay")
        assert said(screen, "message") == remark
        assert screen.areas.change is not None
        assert not screen.areas.change.changed
        assert said(screen, "facts").splitlines()[0] == "wet quay · laid already"
        line = (screen.areas.cursor - screen.areas._first) * AreaList.HIGH
        if size[0] >= 60:
            assert text(screen, line + 1).rstrip().endswith(", laid already")
        await press(pilot, "enter")
        assert said(screen, "message").startswith("taken:")
        assert quay in contents(path)
        await press(pilot, "plus")
        assert said(screen, "message") == remark

    play(path, scene, size=size)


def test_the_cursor_stays_on_its_area_and_at_the_top_where_what_changes_is_seen(
    path: Path,
) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        def here() -> str:
            assert screen.areas.change is not None
            return screen.areas.change.area.label

        await press(pilot, "minus", "minus", "minus", "minus")
        assert here() == "dawn sky"
        assert not screen.areas.change.changed  # type: ignore[union-attr]
        await press(pilot, *["plus"] * 12)
        assert screen.areas.cursor == 0
        assert screen.areas.change.changed  # type: ignore[union-attr]
        await press(pilot, "end")
        last = here()
        await press(pilot, "plus", "minus", "right")
        assert here() == last
        # Asked about alone it is followed from the top too.
        await press(pilot, "home")
        first = here()
        await press(pilot, *["left"] * 12)
        assert here() == first
        assert not screen.areas.change.changed  # type: ignore[union-attr]
        assert screen.areas.cursor > 0

    play(path, scene)


def test_an_area_is_kept_as_it_is_and_let_go_again(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, *["full_stop"] * 8)
        await point_at(pilot, screen, "wet quay")
        change = screen.areas.change
        assert change is not None
        assert change.changed
        free = said(screen, "head")
        await press(pilot, "space")
        assert screen.areas.change is not None
        assert screen.areas.change.area == change.area
        assert not screen.areas.change.changed
        assert said(screen, "facts").splitlines()[0] == "wet quay · kept"
        line = (screen.areas.cursor - screen.areas._first) * AreaList.HIGH
        assert text(screen, line + 1).rstrip().endswith(", kept")
        assert expected(path, allowance=3.0, keep=[change.area.key]).in_words() in said(
            screen, "head"
        )
        await press(pilot, "0", *["full_stop"] * 8)
        assert said(screen, "facts").splitlines()[0] == "wet quay · kept"
        await press(pilot, "space")
        assert said(screen, "head") == free
        await press(pilot, "space", "right")  # an area with a new tolerance is not kept
        facts = " ".join(said(screen, "facts").split())
        assert facts.startswith("wet quay · tolerance ΔE +4.00, a lot")

    play(path, scene)


def test_foreign_text_is_shown_as_data(path: Path) -> None:
    with Log(path) as log:
        first = log.find("", "ferrow", order="oldest", limit=1)[0]
        log.edit(first.id, label="[bold]x[/]")

    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        assert "[bold]x[/]" in text(screen, 0)
        assert "[bold]x[/]" in said(screen, "facts")

    play(path, scene, page="cover")


def test_help_shows_the_keys(path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: EconomyScreen) -> None:
        await press(pilot, "question_mark")
        assert isinstance(pilot.app.screen, HelpScreen)
        says = {key.says for key in pilot.app.screen._keys}
        assert {
            "Raise the tolerance of every area by ΔE 0.25",
            "Less tolerance for the area under the cursor",
            "Take these recipes into the log",
        } <= says

    play(path, scene)
