"""An order is drawn whole or not at all, whatever ends it, and says what it wrote."""

from __future__ import annotations

import os
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import in_fresh_interpreter

from tuimatch.errors import OutputError, UsageError
from tuimatch.palette import file as palette_file
from tuimatch.plates import order
from tuimatch.plates.order import Order
from tuimatch.plates.painting import Line, Painting, no_progress
from tuimatch.recipe import recipes

NEWSPRINT = recipes.mix(palette_file.load("newsprint-quarters"))


def painted(side: int = 60) -> Painting:
    map_ = np.repeat(np.arange(4, dtype=np.uint8), side)[None].repeat(5 * side, axis=0)
    art = np.zeros_like(map_)
    art[40:44] = 255
    return Painting(NEWSPRINT, map_, (0, 31, 62, 93), (Line((0, 0, 0), art),))


def everything(folder: Path, *, replace: bool = False) -> Order:
    return Order(
        folder / "page.ora", folder / "plates", folder / "proof.png", marks=True, replace=replace
    )


def calls_of(wanted: Order, side: int) -> int:
    count = 0

    def told(_: float) -> None:
        nonlocal count
        count += 1

    order.draw(wanted, painted(side), told)
    return count


class EnoughError(Exception):
    pass


def test_stopped_at_any_moment_nothing_is_written(tmp_path: Path) -> None:
    side = 20
    many = calls_of(everything(tmp_path), side)
    assert many > 20
    empty = tmp_path / "stopped"
    empty.mkdir()
    for last in range(many):
        left = last

        def told(_: float) -> None:
            nonlocal left
            left -= 1
            if left < 0:
                raise EnoughError

        with pytest.raises(EnoughError):
            order.draw(everything(empty), painted(side), told)
        assert not list(empty.iterdir()), last


def test_progress_rises_to_the_end(tmp_path: Path) -> None:
    seen: list[float] = []
    order.draw(everything(tmp_path), painted(), seen.append)
    assert seen == sorted(seen)
    assert seen[0] == 0
    assert seen[-1] == 1


def test_what_was_there_stays_when_it_is_stopped(tmp_path: Path) -> None:
    (tmp_path / "plates").mkdir()
    for name in ("page.ora", "plates/1-yellow.tif", "proof.png"):
        (tmp_path / name).write_text("of yesterday")

    def told(done: float) -> None:
        if done > 0.9:
            raise EnoughError

    with pytest.raises(EnoughError):
        order.draw(everything(tmp_path, replace=True), painted(), told)
    found = {path.name: path.read_text() for path in tmp_path.rglob("*") if path.is_file()}
    names = ("page.ora", "1-yellow.tif", "proof.png")
    assert found == dict.fromkeys(names, "of yesterday")


def test_the_file_that_cannot_be_written_is_named_and_nothing_else_is_left(tmp_path: Path) -> None:
    (tmp_path / "proof.png").mkdir()
    (tmp_path / "proof.png" / "mine.txt").write_text("mine")
    with pytest.raises(OutputError, match=r"proof\.png: "):
        order.draw(everything(tmp_path), painted(), no_progress)
    assert not (tmp_path / "page.ora").exists()
    assert not (tmp_path / "plates").exists()


def test_it_says_which_files_and_how_large(tmp_path: Path) -> None:
    said = order.draw(everything(tmp_path), painted(), no_progress)
    assert re.fullmatch(r"the most ink on the page is [\d.]+ %", said[0])
    assert said[1] == "240 x 300 pixels, at 300 to the inch 20 x 25 mm"
    assert re.fullmatch(r".*page\.ora: 5 layers, \d+ kB", said[2])
    assert re.fullmatch(r".*plates: 3 plates, \d+ kB", said[3])
    assert re.fullmatch(r".*proof\.png: proof, \d+ kB", said[4])
    size = os.path.getsize(tmp_path / "page.ora")
    assert f"{size // 1000} kB" in said[2]


def test_ink_above_the_limit_is_said() -> None:
    from dataclasses import replace

    limited = recipes.mix(replace(NEWSPRINT.palette, coverage_limit=100.0))
    darkest = int(limited.coverage.argmax())
    page = Painting(limited, np.zeros((4, 4), dtype=np.uint8), (darkest,))
    assert order.coverage_in_words(page) == (
        "the most ink on the page is 300 %, above the palette's limit of 100 %: ask the printer"
    )


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Order(layers=Path("page.psd")), "layers are .ora, or PNGs in a folder"),
        (Order(proof=Path("proof.jpg")), "a proof is PNG"),
        (Order(layers=Path("same"), plates=Path("same")), "appears twice"),
        (Order(layers=Path("a.ora"), ruling=200.0), "need 400 pixels to the inch or more"),
    ],
)
def test_what_cannot_be_drawn_is_refused_before_any_work(wanted: Order, said: str) -> None:
    with pytest.raises(UsageError, match=re.escape(said)):
        wanted.check()


@given(st.text(max_size=8))
def test_numbers_that_are_typed_are_read_or_refused(text: str) -> None:
    for read, least, most in ((order.ruling, 20, 200), (order.resolution, 36, 4800)):
        try:
            number = read(text)
        except UsageError as error:
            assert "\n" not in str(error)
        else:
            assert least <= number <= most


MEMORY = """
from pathlib import Path
import numpy as np
from tuimatch.palette import file as palette_file
from tuimatch.plates import layers, press, proof, order
from tuimatch.plates.painting import Line, Painting, no_progress
from tuimatch.recipe import recipes

def peak():
    return int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]) * 1000

mixed = recipes.mix(palette_file.load("screen-quarters"))
def draw(side, to):
    map_ = (np.arange(side) // 50 % 5).astype(np.uint8)[None].repeat(side, axis=0)
    page = Painting(mixed, map_, (0, 31, 62, 93, 124), (Line((0, 0, 0), np.zeros_like(map_)),))
    before = peak()
    order.draw(order.Order(**{{to: Path({folder!r}) / f"{{side}}.{{end}}"}}), page, no_progress)
    return peak() - before

end = "png" if {what!r} == "proof" else "ora"
draw(300, {what!r})
print(draw(3000, {what!r}) / 3000**2)
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs /proc")
@pytest.mark.parametrize("what", ["layers", "proof"])
def test_only_one_picture_of_the_page_is_in_memory(tmp_path: Path, what: str) -> None:
    """Besides the page: a byte a pixel says where dots are, and one picture has four."""
    done = in_fresh_interpreter(MEMORY.format(folder=str(tmp_path), what=what))
    assert done.returncode == 0, done.stderr
    assert float(done.stdout) < 7  # a picture more would make it nine
