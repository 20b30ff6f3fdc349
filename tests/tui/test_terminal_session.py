"""The whole way in a real pseudo-terminal: start, paste, take, label, quit; the log holds it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import comic_page
from terminal import ROOT, Terminal


def _log(path: Path) -> list[dict[str, object]]:
    done = subprocess.run(
        [sys.executable, "-m", "tuimatch", "log", "--json", "--log", str(path)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_paste_take_label_quit(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    with Terminal("--log", str(log), "--project", "ferrow") as terminal:
        terminal.until("paste a colour")
        terminal.paste("#e58a1f")
        terminal.until("ΔE")
        terminal.until("yellow 100 %")
        # The exact target and the exact candidate are on the screen.
        answer = json.loads(
            subprocess.run(
                [sys.executable, "-m", "tuimatch", "match", "#e58a1f", "--json", "--top", "1"],
                capture_output=True,
                text=True,
                check=True,
                cwd=ROOT,
            ).stdout
        )
        best = answer["candidates"][0]
        colours = {"e58a1f", best["srgb"].removeprefix("#")}
        terminal.until(lambda: colours <= terminal.grounds())
        terminal.press("enter")
        terminal.until("kept in the log")
        terminal.until(lambda: terminal.copied() == [best["recipe"]])
        terminal.press("lamp glass", "enter")
        terminal.until("lamp glass")
        terminal.press("q")
        assert terminal.wait() == 0
    (entry,) = _log(log)
    assert entry["project"] == "ferrow"
    assert entry["label"] == "lamp glass"
    assert entry["recipe"] == best["recipe"]
    assert entry["target"] == answer["target"]
    assert entry["delta_e"] == best["delta_e"]


def test_choice_is_on_disk_before_the_interface_ends(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    with Terminal("tomato", "--log", str(log)) as terminal:
        terminal.until("ΔE")
        terminal.press("2")
        terminal.until("kept in the log")
        (entry,) = _log(log)
        assert entry["project"] == "unsorted"


def test_refuses_a_wrong_colour_before_opening(tmp_path: Path) -> None:
    with Terminal("#12345", "--log", str(tmp_path / "log.sqlite")) as terminal:
        assert terminal.wait() == 2
        terminal.settle()
        assert "is not a colour" in terminal.text.replace("\n", "")
        assert b"\x1b[?1049h" not in terminal.raw


def test_a_choice_that_never_could_be_kept_is_told_at_the_end(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder", encoding="utf-8")
    with Terminal("tomato", "--log", str(blocked / "log.sqlite")) as terminal:
        terminal.until("ΔE")
        terminal.press("enter")
        terminal.until("not saved yet")
        terminal.press("lamp glass", "enter", "q")
        assert terminal.wait() == 2
        terminal.settle()
        assert "NOT saved: lamp glass: yellow" in terminal.text.replace("\n", "")


def test_a_page_opened_from_the_command_line_is_left_for_the_first_screen(tmp_path: Path) -> None:
    comic_page.draw(400).save(tmp_path / "page.png")
    page = ("page", str(tmp_path / "page.png"), "--log", str(tmp_path / "log.sqlite"))
    with Terminal(*page) as terminal:
        terminal.until("neighbours")
        terminal.press("escape")
        terminal.until("125 recipes")
        terminal.press("q")
        assert terminal.wait() == 0


def test_an_interface_that_failed_ends_with_an_error(tmp_path: Path) -> None:
    fails = (
        "import sys; from tuimatch.tui.app import TuimatchApp; from tuimatch import cli\n"
        "TuimatchApp.on_ready = lambda self: 1 / 0\n"
        f"sys.exit(cli.run(['--log', {str(tmp_path / 'log.sqlite')!r}]))"
    )
    with Terminal(command=[sys.executable, "-c", fails]) as terminal:
        assert terminal.wait() == 1
