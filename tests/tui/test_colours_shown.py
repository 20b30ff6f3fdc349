import pytest
from rich.console import Console
from screens import play

from tuimatch.tui.screens import explained
from tuimatch.tui.screens.explained import warning
from tuimatch.tui.screens.passes_screen import PassesScreen
from tuimatch.tui.widgets.lines import Remark


def test_nothing_is_said_of_exact_colours():
    assert warning("truecolor", False, "xterm-256color", "truecolor") == ""


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("256", False, "xterm-256color", ""), "256 colours only"),
        (("standard", False, "xterm", ""), "16 colours only"),
        (("windows", False, "", ""), "16 colours only"),
        (("truecolor", True, "xterm", "truecolor"), "NO_COLOR is set, so swatches are grey"),
        ((None, True, "dumb", ""), "NO_COLOR is set"),
        ((None, False, "dumb", ""), "TERM=dumb"),
        (("truecolor", False, "dumb", "truecolor"), "TERM=dumb"),
        ((None, False, "", ""), "unknown terminal"),
        ((None, False, "\x1b[31m", ""), "unknown terminal"),
    ],
)
def test_what_is_said_otherwise(arguments, said):
    text = warning(*arguments)
    assert text.startswith(said)
    assert "colours approximate, numbers exact" in text or "grey; numbers exact" in text
    assert len(text.partition("; set")[0]) <= 58  # what matters is read at 60 columns
    assert "\x1b" not in text and "\n" not in text


def test_the_way_out_is_named_where_there_may_be_one():
    assert "set COLORTERM=truecolor" in warning("256", False, "xterm-256color", "")
    assert "COLORTERM" not in warning("256", False, "xterm-256color", "24bits")
    assert "COLORTERM" not in warning("truecolor", True, "xterm", "")


@pytest.mark.parametrize(
    ("environ", "silent"),
    [
        ({"TERM": "xterm-256color", "COLORTERM": "truecolor"}, True),
        ({"TERM": "xterm-256color"}, False),
        ({"TERM": "xterm"}, False),
        ({"TERM": "dumb", "COLORTERM": "truecolor"}, False),
    ],
)
def test_what_a_console_finds_in_a_terminal(environ, silent):
    console = Console(force_terminal=True, legacy_windows=False, _environ=environ)
    found = warning(
        console.color_system, False, environ.get("TERM", ""), environ.get("COLORTERM", "")
    )
    assert (found == "") is silent


@pytest.mark.parametrize(
    ("width", "said"),
    [
        (36, "256 colours only"),
        (60, "256 colours only: colours approximate, numbers exact"),
        (160, warning("256", False)),
    ],
)
def test_it_is_said_in_fewer_words_rather_than_cut(tmp_path, monkeypatch, width, said):
    monkeypatch.setattr(explained, "said_of", lambda _: warning("256", False))

    async def scene(_, screen):
        assert screen.query_one(Remark).render_line(0).text.strip() == said

    play(PassesScreen(tmp_path / "log.sqlite", "ferrow"), scene, (width, 24))
