"""Palette files: how they are found, what comes back from them, and what is shipped."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import (
    SCREEN,
    factors,
    gains,
    lab_triples,
    plain_text,
    reference_labs,
    srgb_triples,
    tint_ladders,
)

from tuimatch.errors import PaletteError, TuimatchError
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Ink, Palette
from tuimatch.text import printable

# Finding files.


def test_shipped_names_and_paths_are_found(tmp_path: Path) -> None:
    assert palette_file.find("zine-two-inks").name == "zine-two-inks.toml"
    own = tmp_path / "own.toml"
    own.write_text(SCREEN)
    assert palette_file.load(str(own)).stem == "own"


@pytest.mark.parametrize("name", ["no-such", "", "../x", "a\0b", "n" * 5000, "~no-such-user/p"])
def test_a_name_that_is_no_palette_is_told_the_shipped_ones(name: str) -> None:
    with pytest.raises(TuimatchError) as caught:
        palette_file.load(name)
    line = str(caught.value)
    assert len(line.splitlines()) == 1
    assert "screen-quarters, coated-tenths" in line or "cannot be read" in line


@pytest.mark.parametrize("name", ["gone.toml", "n" * 5000 + ".toml", "a\0b.toml", "."])
def test_a_path_that_cannot_be_read_says_why(tmp_path: Path, name: str) -> None:
    with pytest.raises(PaletteError) as caught:
        palette_file.load(str(tmp_path / name))
    line = str(caught.value)
    assert len(line.splitlines()) == 1
    assert re.search(r"cannot be read \(.+\); give a palette file", line)


# There and back.


@st.composite
def palettes(draw: st.DrawFn) -> Palette:
    """Any palette a file may hold."""
    kind = draw(st.sampled_from(["screen", "measured"]))
    colour = srgb_triples if kind == "screen" else lab_triples
    count = draw(st.integers(1, 4))
    names = draw(
        st.lists(
            plain_text(30), min_size=count, max_size=count, unique_by=lambda name: name.casefold()
        )
    )
    symbols = draw(
        st.lists(
            plain_text(2).filter(lambda s: s.casefold() not in {n.casefold() for n in names}),
            min_size=count,
            max_size=count,
            unique_by=lambda symbol: symbol.casefold(),
        )
    )
    inks = []
    for name, symbol in zip(names, symbols, strict=True):
        tints = draw(tint_ladders)
        labels = draw(
            st.just(())
            | st.lists(plain_text(40), min_size=len(tints), max_size=len(tints), unique=True).map(
                tuple
            )
        )
        measured: tuple[tuple[float, tuple[float, float, float]], ...] = ()
        if kind == "measured":
            some = [t for t in tints if t < 100 and draw(st.booleans())]
            measured = tuple((t, draw(lab_triples)) for t in some)
        inks.append(
            Ink(
                name=name,
                symbol=symbol,
                solid=draw(colour),
                tints=tints,
                labels=labels,
                measured=measured,
                gain=draw(gains),
                angle=draw(st.none() | st.floats(-360, 360)),
            )
        )
    overprints: tuple[tuple[tuple[int, ...], tuple[float, float, float]], ...] = ()
    if kind == "measured" and count > 1:
        sets = draw(
            st.sets(
                st.sets(st.integers(0, count - 1), min_size=2).map(lambda s: tuple(sorted(s))),
                max_size=4,
            )
        )
        ordered = sorted(sets, key=lambda positions: (len(positions), positions))
        overprints = tuple((positions, draw(lab_triples)) for positions in ordered)
    return Palette(
        stem="p",
        name=draw(plain_text(80)),
        about=draw(st.just("") | plain_text(200)),
        kind=kind,  # type: ignore[arg-type]
        source=draw(plain_text(100) if kind == "measured" else st.just("") | plain_text(100)),
        paper_name=draw(plain_text(80)),
        paper=draw(colour),
        inks=tuple(inks),
        overprints=overprints,
        yule_nielsen=draw(factors),
        coverage_limit=draw(st.none() | st.floats(1, 600)),
    )


@given(palettes())
def test_a_palette_comes_back_from_its_file(palette: Palette) -> None:
    text = palette_file.to_toml(palette)
    found = palette_file.parse(text, file="p.toml", stem="p")
    assert replace(found, text="") == palette
    assert palette_file.to_toml(found) == text


@pytest.mark.parametrize("name", palette_file.shipped_names())
def test_a_shipped_file_comes_back_from_its_file(name: str) -> None:
    palette = palette_file.load(name)
    again = palette_file.parse(palette_file.to_toml(palette), file="p", stem=name)
    assert replace(again, text=palette.text) == palette


def test_the_identity_of_a_palette_is_its_text() -> None:
    palette = palette_file.parse(SCREEN, file="f", stem="a")
    assert palette.digest == palette_file.parse(SCREEN, file="g", stem="b").digest
    assert palette.digest != palette_file.parse(SCREEN + "\n", file="f", stem="a").digest


def test_inks_are_found_by_name_or_symbol_in_any_case() -> None:
    palette = palette_file.parse(SCREEN, file="f", stem="a")
    assert [palette.ink_position(n) for n in ("yellow", " CYAN ", "c", "Y")] == [0, 1, 1, 0]
    assert palette.ink_position("magenta") is None


# What is shipped.


def test_the_shipped_palettes_and_their_sizes() -> None:
    assert palette_file.shipped_names()[0] == palette_file.DEFAULT == "screen-quarters"
    assert {
        name: palette_file.load(name).recipe_count for name in palette_file.shipped_names()
    } == {
        "screen-quarters": 125,
        "newsprint-quarters": 125,
        "newsprint-sixty-four": 64,
        "coated-tenths": 14_641,
        "zine-two-inks": 36,
    }


def test_shipped_palettes_say_what_they_are() -> None:
    for name in palette_file.shipped_names():
        palette = palette_file.load(name)
        assert len(palette.about) > 40
        assert not palette.estimated
        assert [ink.name for ink in palette.inks if ink.name == "yellow"] or "zine" in name
        assert palette.source.startswith("ANSI") == (palette.kind == "measured")


@pytest.mark.parametrize(
    ("name", "table", "source"),
    [
        ("newsprint-quarters", "newsprint_tr002", "ANSI CGATS/SNAP TR 002-2007"),
        ("newsprint-sixty-four", "newsprint_tr002", "ANSI CGATS/SNAP TR 002-2007"),
        ("coated-tenths", "coated_tr003", "ANSI/CGATS/SWOP TR 003-2007"),
    ],
)
def test_shipped_figures_are_those_of_the_report(name: str, table: str, source: str) -> None:
    """Every figure: paper, solids, single tints and overprints; see reference/README.md."""
    palette, labs = palette_file.load(name), reference_labs(table)
    place = {"yellow": 0, "magenta": 1, "cyan": 2, "black": 3}

    def lab(tints: dict[str, float]) -> tuple[float, float, float]:
        key = [0.0] * 4
        for ink, tint in tints.items():
            key[place[ink]] = tint
        return labs[tuple(key)]  # type: ignore[index]

    assert palette.source == source
    assert palette.paper == lab({})
    for ink in palette.inks:
        assert ink.solid == lab({ink.name: 100.0})
        assert [tint for tint, _ in ink.measured] == [t for t in ink.tints if t < 100]
        for tint, measured in ink.measured:
            assert measured == lab({ink.name: tint})
    for positions, measured in palette.overprints:
        assert measured == lab({palette.inks[p].name: 100.0 for p in positions})


@pytest.mark.parametrize("name", ["caf\udce9", "family\u200djoined", "bell\x07", "x" * 251])
def test_what_is_unsafe_in_a_files_name_is_escaped_in_the_palettes(
    tmp_path: Path, name: str
) -> None:
    path = tmp_path / f"{name}.toml"
    try:
        path.write_text(SCREEN, encoding="utf-8")
    except OSError:
        pytest.skip("no file can have such a name here")
    read = palette_file.read(path)
    assert read.stem == printable(name)[:255]
    assert read.stem.isprintable()
    read.stem.encode()
