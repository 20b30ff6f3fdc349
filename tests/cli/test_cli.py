"""The command line: what it prints, and what it refuses."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from kept import PALETTE, keep
from support import PATIENCE

from tuimatch import __version__
from tuimatch.cli import GROUPS, parse
from tuimatch.errors import UsageError
from tuimatch.log import Log
from tuimatch.palette import file as palette_file

COMMANDS = [command for commands in GROUPS.values() for command in commands]


# Help and version.


def test_version_and_help(cli):
    assert cli("--version") == f"tuimatch {__version__}\n"
    said = cli("--help")
    for job, commands in GROUPS.items():
        place = said.index(f"\n{job}:\n")
        for command in commands:
            place = said.index(f"\n  {command} ", place)
    assert said == cli("-h")
    assert "Traceback" not in said


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(cli, command):
    said = cli(command, "--help")
    assert f"usage: tuimatch {command}" in said
    for option in ("--palette", "--project", "--log"):
        assert option in said


def test_a_process_of_its_own_says_the_same(ferrow):
    for arguments in (("--help",), ("log", "--json"), ("match", "-"), ("log", "burn"), ("matsch",)):
        here = ferrow.run(*arguments, stdin="tomato\n")
        own = ferrow.real(*arguments, stdin="tomato\n")
        assert (own.returncode, own.stdout, own.stderr) == (
            here.returncode,
            here.stdout,
            here.stderr,
        )


# match.


def test_match_json_has_exactly_these_keys(cli):
    (answer,) = cli.lines("match", "#d94f2a", "--json", "--top", "3", "--palette", "zine-two-inks")
    assert list(answer) == [
        "target",
        "palette",
        "estimated",
        "uncertainty",
        "intent",
        *("verdict", "any_tint", "one_more_tint"),
        "left_out",
        "candidates",
    ]
    assert list(answer["target"]) == ["text", "lab", "meant_lab"]
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


def test_beyond_the_inks_the_best_of_each_hold_is_offered(cli):
    said = cli("match", "#6a0dad", "--top", "1").splitlines()
    place = next(i for i, line in enumerate(said) if line.startswith("Beyond these inks: ")) + 1
    (plain,) = cli.lines("match", "#6a0dad", "--top", "1", "--json")
    offered = iter(said[place:])
    for hold, word in (("lightness", "lightness"), ("hue", "hue"), ("chroma", "vividness")):
        (held,) = cli.lines("match", "#6a0dad", "--top", "1", "--json", "--hold", hold)
        (best,) = held["candidates"]
        if best["recipe"] != plain["candidates"][0]["recipe"]:
            assert next(offered) == (
                f"Best for {word}: {best['recipe']}; ΔE {best['delta_e']:.1f}, {best['differs']}."
            )
    assert not next(offered).startswith("Best for")
    # What is held stands first in the table; what can be reached needs no other offer.
    assert "Best for hue" not in cli("match", "#6a0dad", "--hold", "hue")
    assert "Best for" not in cli("match", "#ffe800")


def test_between_the_tints_says_what_would_do_it(cli):
    (answer,) = cli.lines("match", "#d9803f", "--top", "1", "--json")
    assert answer["verdict"] == "between"
    assert list(answer["any_tint"]) == ["delta_e", "tints"]
    assert list(answer["any_tint"]["tints"]) == ["yellow", "magenta", "cyan"]
    assert answer["any_tint"]["delta_e"] < 1
    more = answer["one_more_tint"]
    assert more["tint"] not in (25, 50, 75, 100)
    assert answer["any_tint"]["delta_e"] <= more["delta_e"] < answer["candidates"][0]["delta_e"]
    said = cli("match", "#d9803f", "--top", "1").splitlines()[1]
    assert said.startswith("Between your tints: the best is ΔE 6.0, ")
    assert f"; one more tint, {more['ink']} {more['tint']} %, would come to ΔE " in said


def test_a_colour_within_reach_needs_no_other_tint(cli):
    (answer,) = cli.lines("match", "#ffe800", "--top", "1", "--json")
    assert (answer["verdict"], answer["any_tint"], answer["one_more_tint"]) == (
        "within",
        None,
        None,
    )


def test_white_is_bare_paper_unless_it_is_taken_as_measured(cli):
    white = ("match", "white", "--json", "--top", "1", "--palette", "newsprint-quarters")
    (usual,) = cli.lines(*white)
    assert usual["intent"] == "relative-black"
    assert usual["verdict"] == "within"
    assert usual["candidates"][0]["recipe"] == "bare paper"
    assert usual["candidates"][0]["delta_e"] == pytest.approx(0, abs=1e-9)
    assert usual["target"]["lab"][0] == pytest.approx(100)
    assert usual["target"]["meant_lab"] == pytest.approx(usual["candidates"][0]["lab"])
    (measured,) = cli.lines(*white, "--intent", "absolute")
    assert measured["target"]["meant_lab"] == measured["target"]["lab"]
    assert measured["candidates"][0]["delta_e"] == pytest.approx(12.9, abs=0.05)
    (screen,) = cli.lines("match", "white", "--json", "--top", "1")
    assert screen["intent"] == "absolute"
    assert "fitted to this paper 80.1 0.0 3.5" in cli(*white[:2], *white[3:])
    assert "--intent" in cli.refuses("match", "white", "--intent", "photographic")


def test_a_palettes_coverage_limit_leaves_recipes_out_and_says_how_many(cli):
    limited = cli.folder / "limited.toml"
    limited.write_text("coverage_limit = 100\n" + PALETTE.text, encoding="utf-8")
    (answer,) = cli.lines("match", "000", "--json", "--palette", str(limited), "--top", "125")
    assert answer["palette"] == "limited"
    assert all(c["coverage"] <= 100 for c in answer["candidates"])
    assert answer["left_out"] == 125 - len(answer["candidates"]) > 0
    assert f"{answer['left_out']} recipes left out: coverage at most 100 % of 300" in cli(
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
        (("matsch",), "", "neither a command nor a colour"),
        (("tomato",), "", "needs a terminal"),
        ((), "", "needs a terminal"),
        (("log", "--json", "--csv"), "", "--csv"),
        (("log", "remove", "x"), "", "'x'"),
        (("log", "remove", "-1"), "", "-1"),
        (("log", "remove"), "", "ID"),
        (("log", "check"), "", "there is no log yet"),
        (("log", "export", "--out", "x.json"), "", "there is no log yet"),
        (("log", "export", "--project", "p"), "", "--out"),
        (("log", "export", "--project", "p", "--out", "x.txt"), "", "x.txt"),
        (("log", "import", "lost.json"), "", "lost.json"),
        (("log", "undo"), "", "there is no log yet"),
        (("log", "remove", "1"), "", "there is no log yet"),
        (("guide", "--out", "x.html"), "", "there is no log yet"),
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


@pytest.mark.parametrize("command", [(), *((command,) for command in COMMANDS)])
@pytest.mark.parametrize(
    "option",
    [
        *("palette", "project", "log", "top", "with", "without", "max-inks", "max-coverage"),
        *("at", "size", "box", "paper", "ink", "find", "out", "page", "only", "extra", "area"),
        *("hues", "grid", "labels", "name", "tints", "inks", "json", "take", "lost"),
    ],
)
def test_two_dashes_are_the_value_of_no_option(command, option):
    with pytest.raises(UsageError, match=f"--{option}=--: -- is not a value"):
        parse([*command, f"--{option}=--"])


def test_two_dashes_end_the_options(cli):
    assert "'--log=--'" in cli.refuses("match", "--", "--log=--")


def test_nothing_is_printed_when_one_of_the_colours_is_none(cli):
    cli.refuses("match", "red", "no-colour")


def test_standard_input_that_is_no_text_is_refused_in_one_line(cli):
    with cli.start("match", "-", stdin=subprocess.PIPE) as process:
        assert process.stdin is not None
        process.stdin.buffer.write(b"\xff\xfe\x00red\n")
        out, err = process.communicate(timeout=PATIENCE)
    assert (process.returncode, out) == (2, "")
    assert err.count("\n") == 1


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="needs /dev/zero")
@pytest.mark.parametrize("file", ["/dev/zero", "/dev/urandom"])
def test_a_stream_without_end_is_refused(cli, file):
    with open(file, "rb") as endless, cli.start("match", "-", stdin=endless) as process:
        out, err = process.communicate(timeout=60)
    assert (process.returncode, out) == (2, "")
    assert err == "tuimatch: standard input: is over 1 MB; give fewer colours at once\n"


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
    assert "inks[1].tints: 101 is not a tint" in cli.refuses("palettes", "check", str(bad))
