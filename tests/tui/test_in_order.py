"""What is typed means the same however fast it comes: it leaves the same log."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from burst import DOWN, ESCAPE, UP, interface, played, played_slowly, quiet, send
from comic_log import put_comic
from hypothesis import given, settings
from hypothesis import strategies as st
from textual.events import Resize
from textual.geometry import Size

from tuimatch.log import Log

# One of these after another, in any order, is what somebody may type; what one of them opens may
# stand open when the next is typed.
FRAGMENTS = (
    *(
        "3fog bank\r",
        "7quay\r",
        "\r",
        "2",
        "coat",
        "\x7f",
        ESCAPE,
        DOWN,
        UP * 3,
        " ",
        "u",
        "x",
        "h",
    ),
    *(
        "\x1b[200~#d9803f\x1b[201~",
        "\x1b[200~wet quay\x1b[201~",
        "t#c8322d\r",
        "#3f5666\r",
        "tno\r",
    ),
    *("g9\r", "g9, 10\r", "i", "f", "0", "0\r", "y", "w", "\x1b[1;2A", "\x1b[C"),
    *(
        "v",
        "vlgull\r",
        "vg12\r",
        'v"note\r',
        "v/coat\rx",
        "x",
        "vTagain\r",
        "vT\r\r",
        "s",
        "A",
        "!",
    ),
    *("vx" + ESCAPE, "vuu" + ESCAPE, "v\r", "v\r\r", "v  n", "PNsecond\r", "PRthird\r", "P\r"),
    *(
        "p" + DOWN + "\r",
        "r\r",
        "r" + DOWN + DOWN + "V",
        "b  ",
        "b uU",
        "b  0u" + ESCAPE,
        "b  " + ESCAPE + "n u",
        "n  ",
        "e+\r",
        "c" + DOWN + "\r",
    ),
    *("\x10take 3\r", "\x10rev\r\r\r", "\x10\r\r", "zno.png\r", "Z#ffffff\r", "?", ESCAPE * 3),
)
TYPED = st.lists(st.sampled_from(FRAGMENTS), min_size=1, max_size=8)
GAPS = st.lists(st.integers(0, 40), min_size=8, max_size=8)
# Each case opens the interface three times.
FEW = settings(max_examples=max(4, settings().max_examples // 20))


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files land in a folder of their own, no desktop's clipboard is used, frames last as usual."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("textual.screen.UPDATE_PERIOD", 1 / 60)
    for name in ("TMUX", "DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)


def labels(log: Path) -> list[str]:
    with Log(log) as opened:
        return [choice.label for choice in opened.choices()]


@FEW
@given(typed=TYPED, gaps=GAPS, filled=st.booleans())
def test_a_burst_leaves_the_log_that_a_patient_hand_leaves(
    tmp_path_factory: pytest.TempPathFactory, typed: list[str], gaps: list[int], filled: bool
) -> None:
    folder = tmp_path_factory.mktemp("bursts")
    one, pieces, slow = (folder / f"{name}.sqlite" for name in ("one", "pieces", "slow"))
    if filled:
        for path in (one, pieces, slow):
            put_comic(path)
    expected = played_slowly(slow, "".join(typed))
    assert played(one, [("".join(typed), 0)]) == expected
    assert played(pieces, list(zip(typed, gaps, strict=False))) == expected


def test_three_choices_typed_in_one_burst_keep_their_labels(path: Path) -> None:
    played(path, [("3fog bank\r7quay\r4coat\r", 0)])
    assert labels(path) == ["fog bank", "quay", "coat"]


@pytest.mark.parametrize("typed", ["1quay\r2quay\r QUAY\r4coat\r", "1quay\r2quay\r\r4coat\r"])
def test_a_label_replaced_in_one_burst_has_one_recipe(path: Path, typed: str) -> None:
    slow = path.with_name("slow.sqlite")
    assert played(path, [(typed, 0)]) == played_slowly(slow, typed)
    assert [label.casefold() for label in labels(path)] == ["quay", "coat"]


def test_inks_ticked_and_taken_back_in_one_burst_are_those_of_a_patient_hand(path: Path) -> None:
    typed = f"1lamp\rb  u{ESCAPE}n u{ESCAPE}"
    slow = path.with_name("slow.sqlite")
    assert played(path, [(typed, 0)]) == played_slowly(slow, typed)
    with Log(path) as log:
        (lamp,) = log.choices()
        assert lamp.label == "lamp" and len(log.ticks.of()) == 1


def test_a_paste_and_a_label_before_the_first_frame_are_waited_for(path: Path) -> None:
    played(path, [("\x1b[200~#d9803f\x1b[201~\r", 0), ("e lamp\r", 0)], colour=None)
    assert labels(path) == ["e lamp"]


def test_enter_typed_before_the_terminal_is_ours_is_enter(path: Path) -> None:
    played(path, [("3fog bank\n7quay\n", 0)])
    assert labels(path) == ["fog bank", "quay"]


def test_arrows_while_a_question_is_open_come_to_an_end(path: Path) -> None:
    played(path, [("\r" + UP * 100 + "lamp\r", 0)])
    assert labels(path) == ["lamp"]


def test_enter_twice_in_the_review_changes_once(path: Path) -> None:
    path.parent.mkdir()
    put_comic(path)
    before = labels(path)
    played(path, [("vlmoon\r\r", 0)])
    assert labels(path) == [*before[:-1], "moon"]


def test_enter_many_times_in_the_command_palette(path: Path) -> None:
    typed = "\x10" + "\r" * 5
    assert played(path, [(typed, 0)]) == played_slowly(path.with_name("slow.sqlite"), typed)


def test_what_is_typed_after_quitting_does_nothing(path: Path) -> None:
    async def typed() -> int | None:
        app = interface(path)
        async with app.run_test():
            await quiet(app)
            send(app, "3gull\rq4v\r")
            while app.return_code is None:
                await asyncio.sleep(0.01)
        return app.return_code

    assert asyncio.run(typed()) == 0
    assert labels(path) == ["gull"]


def test_what_is_done_after_a_resize_is_done_in_the_new_size(path: Path) -> None:
    async def resized() -> None:
        app = interface(path)
        async with app.run_test(size=(100, 30)):
            await quiet(app)
            for size in (Size(60, 24), Size(160, 45), Size(100, 30)):
                app.post_message(Resize(size, size))
                await app.input.done()
                assert max(one.region.bottom for one in app.screen.children) == size.height

    asyncio.run(resized())


def test_names_that_textual_does_not_promise_are_there() -> None:
    from textual.app import App
    from textual.screen import Screen

    async def looked_at() -> None:
        assert not asyncio.get_running_loop()._ready  # type: ignore[attr-defined]
        asyncio.get_running_loop().call_soon(lambda: None)
        assert asyncio.get_running_loop()._ready  # type: ignore[attr-defined]

    asyncio.run(looked_at())
    assert App()._resize_event is None
    screen: Screen[None] = Screen()
    assert not screen._layout_required
    assert not screen._recompose_required
    assert screen._callbacks == []
