"""From a chart to a palette: what is taken, what is interpolated, and how well it predicts."""

from __future__ import annotations

import csv
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import REFERENCE

from tuimatch.colour.colorimetry import delta_e, xyz_to_lab
from tuimatch.errors import CgatsError, PaletteError
from tuimatch.own_palette import cgats
from tuimatch.own_palette import characterise as module
from tuimatch.own_palette.characterise import characterise
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.recipe.halftone import Halftone
from tuimatch.recipe.monotone_cubic import monotone
from tuimatch.recipe.recipes import mix

CMY = ("yellow", "magenta", "cyan")


def reference_rows(name: str, chosen: str) -> list[dict[str, str]]:
    lines = (REFERENCE / name).read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return [row for row in rows if chosen in row["sets"].split(";")]


def chart_of(palette: Palette, extra: str = "") -> cgats.Measurements:
    """What an instrument would read if the palette's own prediction were the print."""
    recipes = mix(palette)
    assert [ink.name for ink in palette.inks] == list(CMY)
    rows = "\n".join(
        f"{c:g} {m:g} {y:g} {lightness!r} {a!r} {b!r}"
        for (y, m, c), (lightness, a, b) in zip(
            recipes.tints.tolist(), recipes.lab.tolist(), strict=True
        )
    )
    return cgats.parse(
        "BEGIN_DATA_FORMAT CMY_C CMY_M CMY_Y LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
        f"BEGIN_DATA\n{rows}\n{extra}\nEND_DATA\n",
        file="chart.txt",
    )


@pytest.mark.parametrize(
    ("chart", "table"), [("TR002", "newsprint_tr002.csv"), ("TR003", "coated_tr003.csv")]
)
def test_every_single_tint_of_the_chart_is_kept_and_the_others_lie_between(
    chart: str, table: str
) -> None:
    # tests/reference/README.md: the tables were read and interpolated independently of this code,
    # by the monotone cubic in CIELAB; here it goes through the areas.
    made = characterise(cgats.read(REFERENCE / f"{chart}.ti3"), range(5, 101, 5), inks=CMY)
    marked, plain = dict(made.interpolated), replace(made.palette, mixtures=())
    compared = 0
    for row in reference_rows(table, "ramp"):
        tints = {"yellow": row["y"], "magenta": row["m"], "cyan": row["c"], "black": row["k"]}
        used = {ink: float(t) for ink, t in tints.items() if float(t)}
        if len(used) != 1 or "black" in used or (tint := next(iter(used.values()))) % 5:
            continue
        name = next(iter(used))
        ink = next(ink for ink in made.palette.inks if ink.name == name)
        wanted = tuple(float(row[x]) for x in "Lab")
        if tint == 100 or row["kind"] == "measured":
            lab = ink.solid if tint == 100 else dict(ink.measured)[tint]
            assert lab == pytest.approx(wanted, abs=0.0101)
        asked = [[tint if other == name else 0.0 for other in CMY]]
        # Yellow reaches the solid's X before it is solid; its area is cut there.
        assert delta_e(wanted, xyz_to_lab(Halftone(plain).colour_of(asked)[0])) < 0.4
        assert (tint in marked.get(name, ())) == (row["kind"] == "interpolated")
        compared += 1
    assert compared == 60


# A palette of TR 002 or TR 003 and every recipe in twentieths, by patches left out in tenths.
@pytest.mark.parametrize(("chart", "mean", "p95"), [("TR002", 0.20, 0.5), ("TR003", 0.06, 0.15)])
def test_a_whole_chart_predicts_what_it_has_not_seen(chart: str, mean: float, p95: float) -> None:
    made = characterise(cgats.read(REFERENCE / f"{chart}.ti3"), [25, 50, 75, 100])
    assert made.check is not None
    assert made.check.mean <= mean
    assert made.check.p95 <= p95
    # Without what the chart corrects it is farther off.
    palette = replace(made.palette, mixtures=())
    tints = np.array([tints for tints, _ in made.palette.mixtures])
    labs = np.array([lab for _, lab in made.palette.mixtures])
    assert delta_e(labs, xyz_to_lab(Halftone(palette).colour_of(tints))).mean() > 3 * mean


@pytest.mark.parametrize("chart", ["TR002", "TR003"])
def test_the_check_counts_every_patch_that_mixes_inks(chart: str) -> None:
    data = cgats.read(REFERENCE / f"{chart}.ti3")
    made = characterise(data, [25, 50, 75, 100])
    assert [ink.name for ink in made.palette.inks] == [*CMY, "black"]
    assert not made.missing
    assert made.check is not None
    several = [row for row in data.tints.tolist() if sum(t > 0 for t in row) > 1]
    assert made.check.count == sum(set(row) - {0.0, 100.0} != set() for row in several)
    worst = made.check.worst
    assert len(worst) == 5
    assert worst[0].delta_e == made.check.largest >= worst[-1].delta_e >= made.check.p95
    assert float(delta_e(worst[0].measured, worst[0].predicted)) == pytest.approx(
        worst[0].delta_e, abs=0.02
    )
    assert made.check.median <= made.check.p95


def test_the_text_is_a_palette_that_names_its_source_and_holds_the_whole_chart() -> None:
    data = cgats.read(REFERENCE / "TR002.ti3")
    made = characterise(data, [25, 50, 75, 100], inks="CMY")
    again = palette_file.parse(made.palette.text, file="x.toml", stem="imported")
    assert again == made.palette
    assert "TR 002-2007" in again.source
    assert made.interpolated == tuple((ink, (75.0,)) for ink in CMY)
    assert "by the ink's ramp: yellow 75; magenta 75; cyan 75 %" in again.about
    assert all(75.0 not in dict(ink.measured) for ink in again.inks)
    held = (
        1
        + sum(1 + len(ink.measured) + len(ink.ramp) for ink in again.inks)
        + len(again.overprints)
        + len(again.mixtures)
    )
    assert held == int((data.tints[:, data.inks.index("black")] == 0).sum())


def test_a_palette_has_room_for_a_part_of_a_very_large_chart(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "MAX_MIXTURES", 50)
    made = characterise(cgats.read(REFERENCE / "TR002.ti3"), [50, 100])
    assert len(made.palette.mixtures) == 50


def test_a_chart_without_tints_or_overprints_says_so() -> None:
    palette = palette_file.load("newsprint-quarters")
    full = chart_of(palette)
    keep = [i for i, row in enumerate(full.tints.tolist()) if row.count(100) == 1 == sum(row) / 100]
    keep.append(int(np.flatnonzero(~full.tints.any(axis=1))[0]))
    few = cgats.Measurements(
        full.file, "", "", full.inks, full.tints[keep], full.lab[keep], full.repeats[keep]
    )
    made = characterise(few, [50, 100])
    assert made.check is None
    assert made.bare == CMY
    assert not made.interpolated
    assert len(made.missing) == 4
    assert made.palette.estimated
    assert "No tints measured" in made.palette.about
    assert "4 overprints" in made.palette.about


@pytest.mark.parametrize(
    ("without", "message"),
    [
        ((0, 0, 0), "has no patch of bare paper; give one with all inks 0"),
        ((0, 100, 0), "has no solid magenta; give a patch of it at 100"),
    ],
)
def test_what_a_palette_cannot_do_without(without: tuple[int, ...], message: str) -> None:
    full = chart_of(palette_file.load("newsprint-quarters"))
    keep = (full.tints != without).any(axis=1)
    chart = cgats.Measurements(
        full.file, "", "", full.inks, full.tints[keep], full.lab[keep], full.repeats[keep]
    )
    with pytest.raises(CgatsError, match=message):
        characterise(chart, [50, 100])


def test_a_wrong_ink_or_ladder_is_refused() -> None:
    chart = chart_of(palette_file.load("newsprint-quarters"))
    with pytest.raises(CgatsError, match="has no 'black'; its inks are cyan, magenta, yellow"):
        characterise(chart, [50, 100], inks=["black"])
    with pytest.raises(PaletteError, match=r"inks\[1\]\.tints: 101 is not a tint"):
        characterise(chart, [50, 101])


POINTS = st.lists(
    st.tuples(st.integers(0, 1000), st.floats(-100, 100)),
    min_size=2,
    max_size=12,
    unique_by=lambda point: point[0],
).map(sorted)


@given(POINTS, st.lists(st.floats(0, 1), min_size=1, max_size=20))
def test_the_cubic_meets_its_points_and_never_leaves_the_span_of_two(
    points: list[tuple[int, float]], places: list[float]
) -> None:
    x, y = np.array(points, dtype=float).T
    assert monotone(x, y[:, None], x)[:, 0] == pytest.approx(y, abs=1e-9)
    wanted = x[0] + np.sort(places) * (x[-1] - x[0])
    found = monotone(x, y[:, None], wanted)[:, 0]
    i = np.clip(np.searchsorted(x, wanted, side="right") - 1, 0, len(x) - 2)
    low, high = np.minimum(y[i], y[i + 1]), np.maximum(y[i], y[i + 1])
    assert (found >= low - 1e-9).all()
    assert (found <= high + 1e-9).all()


@given(st.lists(st.floats(0, 1), min_size=1, max_size=20), st.floats(-50, 50), st.floats(-9, 9))
def test_a_straight_ramp_stays_straight(places: list[float], start: float, rise: float) -> None:
    x = np.array([0.0, 3, 10, 40, 100])
    wanted = np.array(places) * 100
    found = monotone(x, (start + rise * x)[:, None], wanted)[:, 0]
    assert found == pytest.approx(start + rise * wanted, abs=1e-9)


def ramp_of(count: int) -> cgats.Measurements:
    """Cyan in so many tints, paper and solid among them."""
    rows = [f"{100 * i / (count - 1):.4f} 0 0 {90 - 40 * i / count:.3f} 0 1" for i in range(count)]
    text = "\n".join([*rows, "0 100 0 50 70 0", "0 0 100 80 0 90"])
    return cgats.parse(
        "BEGIN_DATA_FORMAT CMY_C CMY_M CMY_Y LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
        f"BEGIN_DATA\n{text}\nEND_DATA\n",
        file="chart.txt",
    )


def test_a_ramp_has_no_more_tints_than_8_bits_can_name() -> None:
    assert characterise(ramp_of(256), [50, 100]).bare == ("yellow", "magenta")
    with pytest.raises(CgatsError, match="has 257 tints of cyan alone; give at most 256"):
        characterise(ramp_of(257), [50, 100])
