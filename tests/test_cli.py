"""The command line, as real processes: what it prints, what it refuses, how it ends."""

from __future__ import annotations

import csv
import io
import json
import os
import pty
import signal
import subprocess
import time
from contextlib import closing
from pathlib import Path

import pytest
from command import Cli
from kept import COAT, LAMP, PALETTE, choice, keep, version_1

from tuimatch import __version__, palette_file
from tuimatch.log import Log

ENTRY_KEYS = [
    *("id", "project", "label", "page", "note", "target", "palette", "recipe", "tints", "lab"),
    *("srgb", "delta_e", "chosen_at"),
]
COMMANDS = [
    *("match", "pick", "palettes", "swatch", "log", "projects", "guide"),
    *("passes", "economy", "wheel"),
]


@pytest.fixture
def cli(tmp_path: Path) -> Cli:
    return Cli(tmp_path)


@pytest.fixture
def ferrow(cli: Cli) -> Cli:
    with Log(cli.log) as log:
        log.keep(PALETTE, choice("lamp glass", LAMP, page="1", note="brightest"))
        log.keep(PALETTE, choice("Oda's coat", COAT, page="2", lab=(36.0, 60.0, 20.0)))
        keep(log, "elsewhere", project="other")
    return cli


# Help and version.


def test_version_and_help(cli):
    assert cli("--version") == f"tuimatch {__version__}\n"
    said = cli("--help")
    for command in COMMANDS:
        assert f"\n    {command} " in said
    assert said == cli("-h")
    assert "Traceback" not in said


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(cli, command):
    said = cli(command, "--help")
    assert f"usage: tuimatch {command}" in said
    for option in ("--palette", "--project", "--log"):
        assert option in said


# match.


def test_match_json_has_exactly_these_keys(cli):
    (answer,) = cli.lines("match", "#d94f2a", "--json", "--top", "3", "--palette", "zine-two-inks")
    assert list(answer) == [
        "target",
        "palette",
        "estimated",
        "out_of_reach",
        "left_out",
        "candidates",
    ]
    assert list(answer["target"]) == ["text", "lab"]
    assert answer["palette"] == "zine-two-inks"
    assert [c["rank"] for c in answer["candidates"]] == [1, 2, 3]
    palette = palette_file.load("zine-two-inks")
    for candidate in answer["candidates"]:
        assert list(candidate) == [
            *("rank", "recipe", "tints", "labels", "inks", "coverage", "lab", "srgb"),
            *("clipped", "delta_e", "differs"),
        ]
        assert list(candidate["tints"]) == [ink.name for ink in palette.inks]
        assert candidate["labels"] == {
            ink.name: ink.label(candidate["tints"][ink.name]) for ink in palette.inks
        }
        assert candidate["coverage"] == sum(candidate["tints"].values())
        assert candidate["inks"] == sum(map(bool, candidate["tints"].values()))


def test_match_json_is_not_rounded(cli):
    (answer,) = cli.lines("match", "d94f2a", "--json")
    numbers = [c["delta_e"] for c in answer["candidates"]] + answer["target"]["lab"]
    assert any(round(x, 6) != x for x in numbers)
    assert answer["palette"] == "screen-quarters"
    assert len(answer["candidates"]) == 10


def test_colours_are_read_from_standard_input(cli):
    answers = cli.lines("match", "red", "-", "--json", "--top", "1", stdin="tomato\n\n  #0F0 \n")
    assert [a["target"]["text"] for a in answers] == ["red", "tomato", "#0F0"]


def test_match_table_is_plain_when_piped(cli):
    said = cli("match", "tomato", "--top", "2")
    assert "\x1b" not in said
    assert "tomato" in said
    assert len(said.splitlines()) >= 4


def test_out_of_reach_the_best_of_each_hold_is_offered(cli):
    said = cli("match", "#6a0dad", "--top", "1").splitlines()
    place = said.index("Out of reach: the nearest is ΔE 13.9 away, much redder, much duller.") + 1
    for hold, line in zip(("lightness", "hue", "chroma"), said[place:], strict=False):
        (held,) = cli.lines("match", "#6a0dad", "--top", "1", "--json", "--hold", hold)
        (best,) = held["candidates"]
        assert line == (
            f"Best for {hold}: {best['recipe']}; ΔE {best['delta_e']:.1f}, {best['differs']}."
        )
    # What is held stands first in the table; what can be reached needs no other offer.
    assert "Best for hue" not in cli("match", "#6a0dad", "--hold", "hue")
    assert "Best for" not in cli("match", "#ffe800")


def test_a_palettes_coverage_limit_leaves_recipes_out_and_says_how_many(cli):
    limited = cli.folder / "limited.toml"
    limited.write_text("coverage_limit = 100\n" + PALETTE.text, encoding="utf-8")
    (answer,) = cli.lines("match", "000", "--json", "--palette", str(limited), "--top", "125")
    assert answer["palette"] == "limited"
    assert all(c["coverage"] <= 100 for c in answer["candidates"])
    assert answer["left_out"] == 125 - len(answer["candidates"]) > 0
    assert f"{answer['left_out']} recipes left out: coverage at most 100 %" in cli(
        "match", "000", "--palette", "limited.toml"
    )


@pytest.mark.parametrize(
    ("arguments", "stdin", "named"),
    [
        (("match", "no-colour"), "", "no-colour"),
        (("match", "#12345"), "", "#12345"),
        (("match", "rgb(1 2 3 / 50%)"), "", "rgb(1 2 3 / 50%)"),
        (("match", "-"), "red\nnot a colour\n", "line 2"),
        (("match", "red", "--top", "0"), "", "--top"),
        (("match", "red", "--top", "many"), "", "many"),
        (("match",), "", "COLOUR"),
        (("match", "red", "--palette", "lost"), "", "lost"),
        (("match", "red", "--palette", "lost.toml"), "", "lost.toml"),
        (("match", "red", "--unknown"), "", "--unknown"),
        (("match", "\x1b[31mred"), "", "\\x1b[31mred"),
        (("palettes", "check", "lost.toml"), "", "lost.toml"),
        (("palettes", "burn"), "", "burn"),
        (("log", "burn"), "", "burn"),
        (("matsch",), "", "no command and no colour"),
        (("tomato",), "", "needs a terminal"),
        ((), "", "needs a terminal"),
        (("log", "--json", "--csv"), "", "--csv"),
        (("log", "remove", "x"), "", "'x'"),
        (("log", "remove", "-1"), "", "-1"),
        (("log", "remove"), "", "ID"),
        (("log", "check"), "", "--project"),
        (("log", "export", "--out", "x.json"), "", "--project"),
        (("log", "export", "--project", "p"), "", "--out"),
        (("log", "export", "--project", "p", "--out", "x.txt"), "", "x.txt"),
        (("log", "import", "lost.json"), "", "lost.json"),
        (("log", "undo"), "", "there is no log yet"),
        (("log", "remove", "1"), "", "there is no log yet"),
        (("guide", "--out", "x.html"), "", "--project"),
        (("guide", "--project", "p", "--out", "x.pdf"), "", ".html"),
        (("guide", "--project", "p", "--out", "x.html"), "", "there is no log yet"),
        (("projects", "use", "lost"), "", "there is no log yet"),
        (("projects", "create", "a\x07b"), "", "control character"),
        (("projects", "create", " "), "", "empty"),
    ],
)
def test_bad_input_is_refused_in_one_line_with_exit_code_2(cli, arguments, stdin, named):
    assert named in cli.refuses(*arguments, stdin=stdin)
    assert list(cli.folder.iterdir()) == [] or arguments[0] == "projects"


def test_nothing_is_printed_when_one_of_the_colours_is_none(cli):
    cli.refuses("match", "red", "no-colour")


def test_standard_input_that_is_no_text_is_refused_in_one_line(cli):
    with cli.start("match", "-", stdin=subprocess.PIPE) as process:
        assert process.stdin is not None
        process.stdin.buffer.write(b"\xff\xfe\x00red\n")
        out, err = process.communicate(timeout=60)
    assert (process.returncode, out) == (2, "")
    assert err.count("\n") == 1


# Options before and after a command.


@pytest.mark.parametrize("before", [True, False])
def test_options_are_taken_before_and_after_a_command(ferrow, before):
    other = ferrow.folder / "second.sqlite"
    with Log(other) as log:
        keep(log, "in the second log", "another")
        keep(log, "elsewhere", project="other")
    options = ("--log", str(other), "--project", "ferrow")
    arguments = (*options, "log", "--json") if before else ("log", "--json", *options)
    assert [e["label"] for e in ferrow.lines(*arguments)] == ["in the second log", "another"]
    arguments = (*options, "log", "undo") if before else ("log", "undo", *options)
    assert "for another" in ferrow(*arguments)
    palette = ("--palette", "zine-two-inks")
    answer = ("match", "red", "--json", "--top", "1")
    (said,) = ferrow.lines(*((*palette, *answer) if before else (*answer, *palette)))
    assert said["palette"] == "zine-two-inks"


def test_the_log_option_goes_before_the_environment(ferrow):
    with Log(ferrow.folder / "empty.sqlite"):
        pass
    assert ferrow("--log", "empty.sqlite", "log", "--json") == ""
    assert len(ferrow.lines("log", "--json")) == 3


# palettes.


def test_palettes_lists_the_shipped_ones(cli):
    found = cli.lines("palettes", "--json")
    assert found[0]["name"] == "screen-quarters"
    assert {p["name"]: p["recipes"] for p in found} == {
        "screen-quarters": 125,
        "newsprint-quarters": 125,
        "newsprint-sixty-four": 64,
        "coated-tenths": 14641,
        "zine-two-inks": 36,
    }
    assert {"name", "kind", "inks", "recipes", "source"} <= set(found[0])
    plain = cli("palettes")
    assert all(p["name"] in plain for p in found)


def test_palettes_check_says_what_a_file_holds_or_what_is_wrong(cli):
    good, bad = cli.folder / "good.toml", cli.folder / "bad.toml"
    good.write_text(PALETTE.text, encoding="utf-8")
    bad.write_text(PALETTE.text.replace("[25, 50, 75, 100]", "[25, 50, 75, 101]", 1))
    assert "125 recipes" in cli("palettes", "check", str(good))
    assert "inks[1].tints: 101 is no tint" in cli.refuses("palettes", "check", str(bad))


# log.


def test_log_json_has_exactly_these_keys(ferrow):
    entries = ferrow.lines("log", "--json")
    assert [e["label"] for e in entries] == ["lamp glass", "Oda's coat", "elsewhere"]
    for entry in entries:
        assert list(entry) == ENTRY_KEYS
        assert list(entry["target"]) == ["text", "lab"]
    with Log(ferrow.log) as log:
        assert entries == [json.loads(json.dumps(c.as_json())) for c in log.choices()]
    assert entries[0]["page"] == "1"
    assert entries[0]["note"] == "brightest"


def test_log_of_a_project_found_by_words(ferrow):
    def found(*arguments):
        return [e["label"] for e in ferrow.lines("log", "--json", *arguments)]

    assert found("--project", "FERROW") == ["lamp glass", "Oda's coat"]
    assert found("--find", "coat oda") == ["Oda's coat"]
    assert found("--find", "bright", "--project", "ferrow") == ["lamp glass"]
    assert found("--find", "bright", "--project", "other") == []
    assert found("--project", "lost") == []


def test_log_as_a_table(ferrow):
    lines = ferrow("log").splitlines()
    assert len(lines) == 3
    assert "Oda's coat" in lines[1]
    assert "yellow 75 %, magenta 100 %, cyan 50 %" in lines[1]
    assert ferrow("log", "--find", "xyzzy") == "No choices with 'xyzzy' in the log yet.\n"


def test_log_as_csv(ferrow):
    rows = list(csv.DictReader(io.StringIO(ferrow("log", "--csv"))))
    assert [row["label"] for row in rows] == ["lamp glass", "Oda's coat", "elsewhere"]
    assert float(rows[1]["magenta %"]) == 100


def test_asking_makes_no_log(cli):
    assert cli("log") == "No choices in the log yet.\n"
    assert cli("log", "--json") == cli("projects", "--json") == ""
    assert cli("projects").startswith("No projects yet")
    assert list(cli.folder.iterdir()) == []


def test_removing_and_undoing(ferrow):
    assert "removed 2: Oda's coat" in ferrow("log", "remove", "2")
    assert len(ferrow.lines("log", "--json")) == 2
    assert "no choice 2" in ferrow.refuses("log", "remove", "1", "2")
    assert len(ferrow.lines("log", "--json")) == 2
    assert ferrow("log", "undo").startswith("undone: removed yellow 75 %")
    assert len(ferrow.lines("log", "--json")) == 3
    assert ferrow("log", "redo").startswith("done again: removed")
    assert len(ferrow.lines("log", "--json")) == 2
    for _ in range(4):
        ferrow("log", "undo")
    assert ferrow("log", "undo") == "nothing to undo\n"
    assert ferrow.lines("log", "--json") == []


def test_checking_a_project(ferrow):
    assert "nothing disagrees" in ferrow("log", "check", "--project", "ferrow")
    with Log(ferrow.log) as log:
        log.keep(PALETTE, choice("lamp glass", COAT, lab=(20.0, 0.0, 0.0)))
    said = ferrow("log", "check", "--project", "ferrow").splitlines()
    assert "lamp glass has 2 recipes" in said[0]
    assert said[1].startswith("    ")
    (finding,) = ferrow.lines("log", "check", "--project", "ferrow", "--json")
    assert finding["ids"] == [1, 4]
    assert "lost" in ferrow.refuses("log", "check", "--project", "lost")


def test_exporting_and_importing(ferrow):
    assert "2 choices" in ferrow("log", "export", "--project", "ferrow", "--out", "out.json")
    other = ("--log", "second.sqlite")
    assert ferrow(*other, "log", "import", "out.json") == (
        "project 'ferrow': 2 choices new, 0 changed, 0 as they were\n"
    )
    assert "0 choices new, 0 changed, 2 as they were" in ferrow(*other, "log", "import", "out.json")
    here = ferrow.lines("log", "--json", "--project", "ferrow")
    assert ferrow.lines(*other, "log", "--json") == here
    (ferrow.folder / "bad.json").write_text('{"format": "tuimatch project", "version": 9}')
    assert "version: is 9" in ferrow.refuses(*other, "log", "import", "bad.json")


def test_projects(cli):
    cli("projects", "create", "ferrow")
    cli("projects", "create", "second")
    cli("projects", "use", "FERROW")
    cli("projects", "rename", "second", "Zwölf")
    assert [(p["name"], p["current"]) for p in cli.lines("projects", "--json")] == [
        ("ferrow", True),
        ("Zwölf", False),
    ]
    cli("projects", "archive", "Zwölf")
    assert "Zwölf" not in cli("projects")
    assert "Zwölf" in cli("projects", "--all")
    assert list(cli.lines("projects", "--json")[1]) == [
        *("name", "choices", "current", "created_at", "archived_at"),
    ]
    assert cli.lines("projects", "--json")[1]["archived_at"]
    cli("projects", "restore", "Zwölf")
    assert cli("projects").startswith("* ferrow")
    assert "no project 'lost'; there are ferrow, Zwölf" in cli.refuses("projects", "use", "lost")


@pytest.mark.parametrize("extension", ["html", "md", "csv", "json", "gpl", "cgats"])
def test_guide(ferrow, extension):
    said = ferrow("guide", "--project", "ferrow", "--out", f"guide.{extension}")
    assert said == f"guide.{extension}: 2 colours\n"
    assert "coat" in (ferrow.folder / f"guide.{extension}").read_text(encoding="utf-8")
    assert "lost" in ferrow.refuses("guide", "--project", "lost", "--out", "x.html")


def test_what_became_of_an_old_or_damaged_log_is_said_on_standard_error(cli):
    version_1(cli.log, choice("lamp glass"))
    done = cli.run("log", "--json")
    assert done.returncode == 0
    assert json.loads(done.stdout)["label"] == "lamp glass"
    assert "was of schema 1" in done.stderr
    cli.log.write_bytes(b"wrecked" + cli.log.read_bytes()[7:])
    done = cli.run("log", "--json")
    assert json.loads(done.stdout)["label"] == "lamp glass"
    assert done.stderr.count("\n") == 1
    assert "was damaged; it is kept as" in done.stderr
    assert cli.run("log").stderr == ""


# How it ends.


def test_a_closed_pipe_is_quiet(cli):
    colours = "\n".join(f"#{n:06x}" for n in range(0, 16_000_000, 160_000))
    with cli.start("match", "-", "--json", stdin=subprocess.PIPE) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(colours)
        process.stdin.close()
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr is not None
        assert process.stderr.read() == ""
        assert process.wait(60) == 0


@pytest.mark.skipif(not Path("/proc/self/maps").exists(), reason="needs /proc")
def test_an_interrupt_ends_with_130_and_says_nothing(cli):
    with cli.start("match", "-", stdin=subprocess.PIPE) as process:
        maps = Path(f"/proc/{process.pid}/maps")
        until = time.monotonic() + 60
        while "_multiarray_umath" not in maps.read_text() and time.monotonic() < until:
            time.sleep(0.01)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
        assert (process.returncode, out, err) == (130, "", "")


def in_terminal(cli: Cli, *arguments: str, **environment: str) -> str:
    """What a command prints on a terminal; `match` for one colour unless another is given."""
    arguments = arguments or ("match", "tomato", "--top", "2")
    leader, follower = pty.openpty()
    cli.environment |= {"TERM": "xterm-256color", "COLORTERM": "truecolor", **environment}
    with cli.start(*arguments, stdout=follower, stderr=follower) as process:
        os.close(follower)
        said = b""
        with closing(os.fdopen(leader, "rb", buffering=0)) as terminal:
            while True:
                try:
                    part = terminal.read(4096)
                except OSError:
                    break
                if not part:
                    break
                said += part
        assert process.wait(60) == 0
    return said.decode()


def test_a_terminal_gets_the_seam_in_true_colour(cli):
    assert "\x1b[48;2;255;99;71m" in in_terminal(cli)


@pytest.mark.parametrize("environment", [{"NO_COLOR": "1"}, {"TERM": "dumb"}, {"COLORTERM": ""}])
def test_no_colour_where_none_is_wanted_or_possible(cli, environment):
    assert "\x1b" not in in_terminal(cli, **environment)


def test_a_terminal_without_the_characters_gets_marks_not_a_traceback(ferrow):
    ferrow.environment["PYTHONIOENCODING"] = "ascii"
    assert "Oda's coat" in ferrow("log")
    assert "?E" in ferrow("match", "tomato", "--top", "1")
