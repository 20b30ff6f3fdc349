import pyperclip
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tuimatch.tui.match import clipboard_follower
from tuimatch.tui.match.clipboard_follower import Follower


def follower(before="a shopping list"):
    follow = Follower()
    assert follow.seen(before) is None
    return follow


def test_a_colour_copied_becomes_the_target_once():
    follow = follower()
    assert follow.seen(" #D94F2A\n") == "#D94F2A"
    assert follow.seen(" #D94F2A\n") is None
    assert follow.seen("oklch(0.6  0.17 40)") == "oklch(0.6 0.17 40)"
    assert follow.seen("#D94F2A") == "#D94F2A"


def test_what_was_there_before_is_not_followed():
    assert Follower().seen("#d94f2a") is None
    follow = follower("#d94f2a")
    assert follow.seen("#d94f2a") is None
    assert follow.seen("#2ad94f") == "#2ad94f"
    for empty in (None, ""):
        assert follower(empty).seen("#2ad94f") == "#2ad94f"


@pytest.mark.parametrize(
    "text",
    [
        "",
        None,
        "lamp glass",
        "bad",
        "face",
        "2024",
        "yellow 100 %, magenta 50 %",
        "rgb(217 79 42 / 50%)",
        "\x1b[31mred",
        "\ud800",
        "#d94f2a" + " " * 3 + "x" * 60,
        "x" * 1_000_000,
    ],
)
def test_what_is_no_colour_is_not_followed(text):
    assert follower().seen(text) is None


def test_a_colour_must_be_short():
    fits = "rgb(217 79 42)"
    long = "color(srgb " + "0." + "1" * 30 + " 0.2 " + "0." + "3" * 30 + ")"
    assert follower().seen(fits) == fits
    assert len(long) > 60 and follower().seen(long) is None


def test_our_own_copies_are_not_followed():
    follow = follower()
    follow.ours("#d94f2a")
    assert follow.seen("a shopping list") is None  # not on the clipboard yet
    assert follow.seen("#d94f2a\n") is None
    assert follow.seen("#2ad94f") == "#2ad94f"
    follow.ours("tomato")
    assert follow.seen("tomato") is None


@given(st.text())
def test_nothing_of_a_text_is_kept(text):
    """Not even a digest that could be looked up: another run makes another one."""
    first, second = Follower(), Follower()
    first.seen(text)
    second.seen(text)
    assert first._last != second._last
    assert all(kept is None or len(kept) == 16 for kept in vars(first).values())


def test_a_clipboard_that_fails_is_no_text(monkeypatch):
    monkeypatch.delenv("SSH_CONNECTION", raising=False)
    for error in (
        pyperclip.PyperclipException("none"),
        FileNotFoundError(),
        UnicodeDecodeError("utf-8", b"\xff", 0, 1, "no"),
    ):

        def fail(error=error):
            raise error

        monkeypatch.setattr(pyperclip, "paste", fail)
        assert clipboard_follower.read_desktop_clipboard() is None
        assert "no clipboard" in clipboard_follower.unavailable()


def test_whether_it_can_be_followed(monkeypatch):
    monkeypatch.delenv("SSH_CONNECTION", raising=False)
    monkeypatch.setattr(pyperclip, "paste", lambda: "#d94f2a")
    assert clipboard_follower.read_desktop_clipboard() == "#d94f2a"
    assert clipboard_follower.unavailable() == ""
    monkeypatch.setenv("SSH_CONNECTION", "10.0.0.1 1 10.0.0.2 22")
    assert "SSH" in clipboard_follower.unavailable()
