"""The passes of a page on a screen and on the command line."""

from __future__ import annotations

import json
import subprocess
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from comic_log import lose_palette, put_comic
from command import Cli, in_terminal
from kept import PALETTE, choice, tick
from screens import play, press, rows, said, settled, text
from support import ROOT
from textual.pilot import Pilot
from textual.strip import Strip

from tuimatch.log import Log
from tuimatch.planning.areas import areas_of_log, chosen
from tuimatch.planning.passes import Pass, Plan, plan
from tuimatch.recipe.dots import Press
from tuimatch.recipe.recipes import mix
from tuimatch.tui.screens.economy_screen import EconomyScreen
from tuimatch.tui.screens.passes_screen import Line, PassesScreen
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.plan_picture import PlanPicture


@pytest.fixture
def log_path(tmp_path: Path) -> Path:
    path = tmp_path / "log.sqlite"
    put_comic(path)
    return path


def _head(screen: PassesScreen) -> str:
    """What is said of the plan, after the project that is always named."""
    begin, project, rest = screen.query_one("#passes-head", Lines).text.partition("ferrow · ")
    assert (begin, project) == ("", "ferrow · ")
    return rest


def _plan(log_path: Path, page: str) -> Plan:
    with Log(log_path) as log:
        return plan(areas_of_log(log, chosen(log, "ferrow", page))[0])


def _passes(log_path: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return _run(log_path, "passes", *arguments)


def _run(log_path: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return Cli(log_path.parent).run(*arguments, "--log", str(log_path))


def test_the_readmes_example_as_counted_by_hand(log_path: Path) -> None:
    """Page 9 has 22 areas; counted by hand from their recipes, one after the other."""
    done = _passes(log_path, "--project", "ferrow", "--page", "9", "--json")
    found = json.loads(done.stdout)
    # 44 brushes are set up for the 21 areas that are not bare paper; the lit window ends with solid
    # yellow, with which the fishing boat after it begins, so one of them is on the brush already.
    assert (found["area_by_area"], found["by_passes"]) == (43, 12)
    assert [(p["ink"], p["tint"]) for p in found["passes"]] == [
        (ink, tint) for ink in ("yellow", "magenta", "cyan") for tint in (25, 50, 75, 100)
    ]
    assert sum(len(p["areas"]) for p in found["passes"]) == 44
    assert found["passes"][10] == {
        "ink": "cyan",
        "tint": 75,
        "label": None,
        "areas": ["quay, shadow"],
    }
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "43 changes of brush area by area, 12 by passes" in readme.replace("\n", " ")


def test_areas_of_all_pages_carry_their_page_and_one_without_a_label_its_target(
    log_path: Path,
) -> None:
    lines = _passes(log_path, "--project", "ferrow").stdout.splitlines()
    (shell,) = [line for line in lines if "shell" in line]
    assert shell.endswith("  1:  8: light orange #f2b8a0")
    assert any("9: Oda's coat" in line and "1: Oda's coat" in line for line in lines)
    page = _passes(log_path, "--project", "ferrow", "--page", "8").stdout
    assert "1:  light orange #f2b8a0" in page
    assert "8: " not in page
    done = _passes(log_path, "--project", "ferrow", "--json")
    assert ["#f2b8a0"] in [one["areas"] for one in json.loads(done.stdout)["passes"]]


def test_only_the_areas_of_some_numbers(log_path: Path) -> None:
    with Log(log_path) as log:
        coats = [c for c in log.choices("ferrow") if c.label == "Oda's coat"]
        log.keep(PALETTE, choice("hull", project="second"))
    one, two, *_ = (str(c.id) for c in coats)
    done = _passes(log_path, "--project", "ferrow", "--only", f"{two},{one}", "--only", "7")
    assert "cover: fog, far" in done.stdout  # the seventh of the log
    assert "cover: Oda's coat" in done.stdout
    assert "1: Oda's coat" in done.stdout
    found = json.loads(_passes(log_path, "--project", "ferrow", "--only", one, "--json").stdout)
    assert [one["areas"] for one in found["passes"]] == [["Oda's coat"]] * found["by_passes"]
    for only, problem in (
        ("7,x", "'x' is not a number of the log"),
        ("7,", "'' is not a number of the log"),
        ("7,7777", "no recipe 7777; `tuimatch log` lists them"),
        ("7,90", "recipe 90 (hull) belongs to project 'second', not to 'ferrow'"),
    ):
        for command in (["passes"], ["economy", "--take"]):
            done = _run(log_path, *command, "--project", "ferrow", "--only", only)
            assert (done.returncode, done.stdout) == (2, "")
            assert problem in done.stderr
            assert len(done.stderr.splitlines()) == 1
    done = _passes(log_path, "--project", "ferrow", "--only", "7", "--page", "1")
    assert "not allowed with argument" in done.stderr


def test_a_terminal_shows_the_colour_of_an_area_without_a_label(tmp_path: Path) -> None:
    cli = Cli(tmp_path)
    put_comic(cli.log)
    said = in_terminal(cli, "passes", "--project", "ferrow", "--page", "8")
    with Log(cli.log) as log:
        (nameless,) = [choice for choice in log.choices("ferrow") if not choice.label]
    r, g, b = bytes.fromhex(nameless.srgb[1:])
    assert f"1:  \x1b[48;2;{r};{g};{b}m  \x1b[0m light orange #f2b8a0" in said
    assert said.count("\x1b[48;2;") == 1


def test_wrong_pages_and_projects_are_one_line(log_path: Path) -> None:
    for arguments in (("--project", "ferrow", "--page", "99"), ("--project", "x")):
        done = _passes(log_path, *arguments)
        assert done.returncode == 2
        assert len(done.stderr.splitlines()) == 1


def test_ticks_can_be_undone_also_after_a_restart(log_path: Path) -> None:
    async def tick(pilot: Pilot[None], screen: PassesScreen) -> None:
        await pilot.press("space", "down", "space")
        assert "3 of 4" in screen.passes.render_line(0).text
        await pilot.press("u")
        assert "4 of 4" in screen.passes.render_line(0).text
        assert said(screen).startswith("undone: unticked ") and screen.passes.cursor == 1
        await pilot.press("U")
        assert "3 of 4" in screen.passes.render_line(0).text
        await pilot.press("ctrl+r")
        assert said(screen) == "nothing to redo"

    play(PassesScreen(log_path, "ferrow", "9"), tick)

    async def again(pilot: Pilot[None], screen: PassesScreen) -> None:
        await pilot.press("u", "u")
        assert "0 of 12 laid" in _head(screen)
        assert "0 of 4" in screen.passes.render_line(0).text

    play(PassesScreen(log_path, "ferrow", "9"), again)
    with Log(log_path) as log:
        assert not log.ticks.of()


def test_ticks_of_passes_and_areas_stay(log_path: Path) -> None:
    async def tick(pilot: Pilot[None], screen: PassesScreen) -> None:
        page, counts = _head(screen).split("\n")
        assert page == "page 9, 22 areas · 0 of 12 laid"
        assert counts == "43 changes area by area, 12 by passes"
        await pilot.press("space")  # the first pass, with its four areas
        assert "1 of 12 laid" in _head(screen)
        assert "4 of 4" in screen.passes.render_line(0).text
        await pilot.press("down", "space")  # one of them not, after all
        assert "3 of 4" in screen.passes.render_line(0).text
        await pilot.press("escape")

    play(PassesScreen(log_path, "ferrow", "9"), tick)

    async def again(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert "3 of 4" in screen.passes.render_line(0).text
        await pilot.press("space")
        assert "4 of 4" in screen.passes.render_line(0).text
        await pilot.press("space", "escape")

    play(PassesScreen(log_path, "ferrow", "9"), again)
    with Log(log_path) as log:
        assert not log.ticks.of()


@pytest.mark.parametrize("size", [(36, 12), (60, 24), (100, 60)])
def test_it_opens_on_the_first_pass_that_is_not_laid(log_path: Path, size: tuple[int, int]) -> None:
    found = _plan(log_path, "9")
    places = [0]  # of each pass in the list
    for one in found.passes:
        places.append(places[-1] + 1 + len(one.areas))

    def opens_on(number: int) -> None:
        async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
            assert screen.passes.cursor == places[number]
            (here,) = [line for line in rows(screen) if line.startswith("▸")]
            assert f"of {len(found.passes[number].areas)}" in here
            if places[-1] - places[number] >= screen.passes.size.height:
                assert rows(screen)[0] == here  # so that its areas are seen
            if screen.passes.size.height >= places[-1]:
                assert "yellow 25 %" in rows(screen)[0]
            await pilot.press("escape")

        play(PassesScreen(log_path, "ferrow", "9"), scene, size)

    def lay(*passes: int, on: bool = True) -> None:
        with Log(log_path) as log:
            for number in passes:
                tick(log, Line(found.passes[number]).ticks, on)

    lay(0, 1, 2, 3, 5)
    opens_on(4)
    lay(*range(11))
    opens_on(11)
    with Log(log_path) as log:
        tick(log, Line(found.passes[5]).ticks[1:], False)  # laid in part
    opens_on(5)
    lay(*range(12))
    opens_on(0)


def test_one_page_after_another(log_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert "all pages, 89 areas" in _head(screen)
        assert rows(screen)[2].strip() == "cover: fog, near"
        seen = set()
        for _ in range(11):  # the cover, nine pages, and all of them
            await pilot.press("g")
            seen.add(_head(screen).split(",")[0])
            assert ("cover: " in "".join(rows(screen))) == ("all pages" in _head(screen))
        assert {"page cover", "page 1", "page 9"} <= seen
        assert "all pages" in _head(screen)
        await pilot.press("question_mark", "escape", "escape")

    play(PassesScreen(log_path, "ferrow"), scene)


def test_only_the_choices_of_some_numbers_page_by_page(log_path: Path) -> None:
    with Log(log_path) as log:
        coats = [c for c in log.choices("ferrow") if c.label == "Oda's coat"]

    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert _head(screen).startswith(f"{len(coats)} ticked · 0 of ")
        shown = {line.area.key for line in screen.passes.lines if line.area}
        assert shown == {c.id for c in coats}
        assert "cover: Oda's coat" in rows(screen)[2]  # under the palette and the pass
        pages = []
        for _ in coats:
            await pilot.press("g")
            pages.append(_head(screen).split(" · ")[0])
        assert pages == [f"page {c.page}, 1 ticked" for c in coats]
        await pilot.press("g", "escape")

    play(PassesScreen(log_path, "ferrow", only=[0, *(c.id for c in coats)]), scene)


@pytest.mark.parametrize(("page", "only"), [("1", False), (None, True), ("9", True)])
def test_the_economy_of_what_is_planned(log_path: Path, page: str | None, only: bool) -> None:
    with Log(log_path) as log:
        choices = log.choices("ferrow")
    some = [c.id for c in choices if c.page in ("1", "9")][::2] if only else None
    meant = {c.id for c in choices if page in (None, c.page) and (some is None or c.id in some)}

    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        passes = len(screen._plan.passes)
        await press(pilot, "e")
        economy = pilot.app.screen
        assert isinstance(economy, EconomyScreen)
        assert economy._shown is not None
        assert {area.key for area in economy._shown.work.areas} == meant
        where = "ferrow" + f", page {page}" * (page is not None)
        head = text(economy, "#economy-head").split("\n")[0]
        counted = f"{len(meant)} {'ticked' if only else 'areas'}"
        assert head == f"tolerance ΔE +1.00, a little · {counted} · {where}"
        await press(pilot, *["plus"] * 16)
        await press(pilot, "enter")
        assert economy._shown.economy.before.by_passes < passes
        await press(pilot, "escape")
        assert pilot.app.screen is screen
        assert len(screen._plan.passes) == economy._shown.economy.before.by_passes
        await press(pilot, "escape")

    play(PassesScreen(log_path, "ferrow", page, some), scene)


def test_areas_whose_palette_is_lost_are_left_out_and_named(log_path: Path) -> None:
    with Log(log_path) as log:
        left = [c for c in log.choices("ferrow") if c.page == "8"]
    lose_palette(log_path, "zine-two-inks")
    named = "left out because their palette is lost: ledger, ruled lines, ledger, writing"

    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert said(screen).startswith(named)
        assert "all pages, 84 areas" in _head(screen)
        await press(pilot, "g")
        assert "page cover, 10 areas" in _head(screen)
        assert said(screen) == ""
        await press(pilot, *["g"] * 8)
        assert "page 8, 0 areas" in _head(screen)
        assert said(screen).startswith(named)

    play(PassesScreen(log_path, "ferrow"), scene)
    lines = _passes(log_path, "--project", "ferrow").stdout.splitlines()
    assert lines[1].startswith(named)
    found = json.loads(_passes(log_path, "--project", "ferrow", "--json").stdout)
    assert found["left_out"] == [choice.id for choice in left]
    assert found["by_passes"] == len([line for line in lines if line.lstrip()[0].isdigit()]) - 1


def test_palettes_that_are_mixed_are_headed(log_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        heads = [place for place, line in enumerate(screen.passes.lines) if line.heads]
        with Log(log_path) as log:
            names = {c.palette: log.palette(c).name for c in log.choices("ferrow")}  # type: ignore[union-attr]
        assert [screen.passes.lines[place].one.palette.name for place in heads] == [*names.values()]
        assert heads[0] == 0
        assert screen.passes.cursor == 1
        assert rows(screen)[0].strip() == f"{names['screen-quarters']}:"
        await press(pilot, "up", "space")  # a name is nothing to tick
        assert " 0 of 30 laid" in _head(screen)
        await press(pilot, "g")
        assert not any(line.heads for line in screen.passes.lines)
        await pilot.press("escape")

    play(PassesScreen(log_path, "ferrow"), scene)


def test_a_page_of_two_numbers_is_shown_on_both(log_path: Path) -> None:
    with Log(log_path) as log:
        first = log.choices("ferrow")[0]
        log.edit(first.id, page="Cover, 1")

    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        await press(pilot, "g")
        assert "page Cover, 10 areas" in _head(screen)
        await press(pilot, "g")
        assert "page 1, 10 areas" in _head(screen)
        await pilot.press("escape")

    play(PassesScreen(log_path, "ferrow"), scene)


def test_the_page_chosen_last_is_shown_again(log_path: Path) -> None:
    async def chooses(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert "all pages" in _head(screen)
        await press(pilot, "g", "g", "escape")

    async def again(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert "page 1, 9 areas" in _head(screen)

    play(PassesScreen(log_path, "ferrow"), chooses)
    play(PassesScreen(log_path, "ferrow"), again)
    with Log(log_path) as log:
        coat = next(choice for choice in log.choices("ferrow") if choice.page == "1")
        for choice in log.choices("ferrow"):
            if choice.page == "1":
                log.edit(choice.id, page="one")

    async def gone(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert "all pages" in _head(screen)

    async def ticked(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert _head(screen).startswith("1 ticked · 0 of ")

    play(PassesScreen(log_path, "ferrow"), gone)
    play(PassesScreen(log_path, "ferrow", only=[coat.id]), ticked)


@pytest.mark.parametrize("page", [None, "9"])
@pytest.mark.parametrize("shown", [PassesScreen, EconomyScreen])
def test_the_head_fits_a_small_pane(log_path: Path, shown: Any, page: str | None) -> None:
    async def scene(pilot: Pilot[None], screen: Any) -> None:
        head = screen.query(Lines).first()
        for y in range(head.size.height):
            assert "…" not in head.render_line(y).text
        where = "all pages" if page is None else "page 9"
        assert where in head.text
        await pilot.resize_terminal(100, 30)
        await pilot.pause()
        assert {PassesScreen: "changes area by area", EconomyScreen: "tolerance ΔE"}[
            shown
        ] in head.text

    play(shown(log_path, "ferrow", page), scene, (36, 12))


@pytest.mark.parametrize("shown", [PassesScreen, EconomyScreen])
def test_the_keys_at_the_foot_fit_a_small_pane(log_path: Path, shown: Any) -> None:
    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        foot = screen.query_one(Foot)
        names = [key.name for key in foot.shown]
        passes = ["Tick", "Page", "Back", "Help"]
        economy = ["More", "Take", "Back", "Help"]
        assert names == (passes if shown is PassesScreen else economy)
        assert sum(key.width for key in foot.shown) - 1 <= foot.size.width == 36
        await pilot.resize_terminal(60, 24)
        await pilot.pause()
        more = {"Economy"} if shown is PassesScreen else {"More here"}
        assert more <= {key.name for key in foot.shown}
        await pilot.press("escape")

    play(shown(log_path, "ferrow", "9"), scene, (36, 12))


@pytest.mark.parametrize("size", [(36, 12), (60, 24), (100, 30)])
def test_every_line_fits(log_path: Path, size: tuple[int, int]) -> None:
    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        for y in range(screen.passes.size.height):
            assert screen.passes.render_line(y).cell_length == screen.passes.size.width
        await pilot.press("escape")

    play(PassesScreen(log_path, "ferrow", "9"), scene, size)


def test_an_empty_project_and_a_broken_log_are_said(tmp_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert "nothing to paint here yet" in str(screen.query_one(".log-message").render())
        await pilot.press("space", "g", "escape")

    play(PassesScreen(tmp_path / "new.sqlite", "ferrow"), scene)


# The plan as a picture.


@cache
def _press(one: Pass) -> Press:
    return Press(mix(one.palette))


def _pixels(line: Strip) -> list[str]:
    """The colours of the upper and lower half of each cell."""
    found = []
    for segment in line:
        assert segment.style is not None and segment.style.bgcolor is not None
        low = segment.style.bgcolor.get_truecolor().hex
        up = segment.style.color if segment.text[0] == "▀" else segment.style.bgcolor
        assert up is not None
        found += [up.get_truecolor().hex, low] * len(segment.text)
    return found


@pytest.mark.parametrize("size", [(100, 30), (160, 45)])
def test_beside_the_list_stand_the_dots_the_passes_and_the_areas(
    log_path: Path, size: tuple[int, int]
) -> None:
    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        picture, found = screen.query_one(PlanPicture), _plan(log_path, "9").passes

        def strips() -> list[Strip]:
            return [picture.render_line(y) for y in range(picture.size.height)]

        lines = strips()
        assert {line.cell_length for line in lines} == {picture.size.width}
        assert lines[0].text.strip() == "yellow 25 %"
        dots = [y for y, line in enumerate(lines) if "▀" in line.text]
        assert len(dots) >= 6
        pixels = [c for y in range(1, dots[-1] + 1) for c in _pixels(lines[y])]
        share = _press(found[0]).areas(_press(found[0]).recipes.row_of((25.0, 0.0, 0.0)) or 0)[0]
        inked = Counter(pixels).most_common()[-1][1] / len(pixels)
        assert inked == pytest.approx(share, abs=0.005)
        first = picture._rows.start
        for place, one in enumerate(found):
            colours = [s for s in lines[first + place] if s.style and s.style.bgcolor]
            fields = [s.style.bgcolor.get_truecolor().hex for s in colours if s.style.bgcolor]
            wanted = [
                "#{:02x}{:02x}{:02x}".format(*screen.passes.colours[a.key]) for a in one.areas
            ]
            assert [hexed for hexed in fields if hexed in wanted][-len(wanted) :] == wanted
        await press(pilot, "down", "space")
        assert "✓" in strips()[first].text
        await pilot.click(picture, offset=(3, first + 4))
        assert screen.passes.lines[screen.passes.cursor] == Line(found[4])
        assert strips()[0].text.strip() == "magenta 25 %"
        assert strips()[first + 4].text.startswith("▸")

    play(PassesScreen(log_path, "ferrow", "9"), scene, size)


def test_in_a_small_window_the_list_stands_alone(log_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        assert not screen.query_one(PlanPicture).display
        assert screen.passes.size.width == 60
        await pilot.resize_terminal(160, 45)
        await settled(pilot)
        assert screen.query_one(PlanPicture).size.width > 90

    play(PassesScreen(log_path, "ferrow", "9"), scene, (60, 24))


def test_a_plan_of_many_areas_is_counted_where_it_does_not_fit(log_path: Path) -> None:
    async def scene(pilot: Pilot[None], screen: PassesScreen) -> None:
        await press(pilot, "end")
        picture = screen.query_one(PlanPicture)
        lines = [picture.render_line(y).text for y in range(picture.size.height)]
        assert any(line.startswith("▸") for line in lines)
        assert all(len(line) == picture.size.width for line in lines)

    play(PassesScreen(log_path, "ferrow"), scene, (100, 30))
    play(PassesScreen(log_path, "ferrow"), scene, (100, 12))
