"""How near the colour model comes to two measured printing conditions, by what it is given.

Run by hand: ``PYTHONPATH=.:tests python tests/bench/model_figures.py``. The rows are predicted from
what an artist can measure: 17 swatches (paper, 3 × 3 single tints, 3 solids, 4 overprints), then
with one, four and seven mixtures besides; and from a whole chart, of which every mixing patch is
predicted with a tenth of them left out. "125" are the combinations of 0/25/50/75/100 % of yellow,
magenta and cyan (partly interpolated from measurements, tests/reference/README.md). Figures: mean /
95 % / largest CIEDE2000.

The sharp channels and their factors were found over 13 measured conditions, two of them these; the
figures pooled over all 13 were (mean of the means, largest of all)

    X, Y, Z with n = 1.5               0.84   3.84
    linear ITU-R BT.2020               0.88   4.8, over the 11 not looked at when it was chosen
    sharp                              0.62   3.48, and 0.64 with each condition left out
    sharp and one, four, seven         0.53   0.39   0.34
    sharp and a whole chart of CMYK    0.04 to 0.19
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from support import REFERENCE, reference_rows

from tuimatch.colour.colorimetry import delta_e, xyz_to_lab
from tuimatch.own_palette import cgats
from tuimatch.own_palette.characterise import characterise
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Ink, Palette, Triple
from tuimatch.recipe.halftone import Halftone

Mixtures = tuple[tuple[float, ...], ...]

TABLES = {"TR 002": "newsprint_tr002", "TR 003": "coated_tr003"}
CHARTS = {"TR 002": "TR002.ti3", "TR 003": "TR003.ti3"}
# The three two-ink halves, all three, and one ink at half on two solids.
SEVEN = (
    (50, 50, 0),
    (50, 0, 50),
    (0, 50, 50),
    (50, 50, 50),
    (100, 100, 50),
    (100, 50, 100),
    (50, 100, 100),
)


def combinations(table: str) -> dict[tuple[float, ...], Triple]:
    """Lab by percent of yellow, magenta and cyan."""
    return {
        tuple(float(row[x]) for x in "ymc"): (float(row["L"]), float(row["a"]), float(row["b"]))
        for row in reference_rows(table)
        if "g125" in row["sets"].split(";")
    }


def of_sheet(labs: dict[tuple[float, ...], Triple]) -> Palette:
    """The 17 swatches of a sheet."""
    names = ("yellow", "magenta", "cyan")

    def alone(i: int, tint: float) -> Triple:
        return labs[tuple(tint if j == i else 0.0 for j in range(3))]

    inks = tuple(
        Ink(
            name,
            name[0].upper(),
            alone(i, 100),
            (25, 50, 75, 100),
            measured=tuple((t, alone(i, t)) for t in (25.0, 50.0, 75.0)),
        )
        for i, name in enumerate(names)
    )
    overprints = tuple(
        (positions, labs[tuple(100.0 if i in positions else 0.0 for i in range(3))])
        for positions in ((0, 1), (0, 2), (1, 2), (0, 1, 2))
    )
    return Palette(
        "sheet",
        "sheet",
        "",
        "measured",
        "the sheet",
        "paper",
        labs[0, 0, 0],
        inks,
        overprints,
        channels="sharp",
    )


def figures(differences: np.ndarray) -> str:
    """Mean / 95 % / largest."""
    p95 = np.percentile(differences, 95)
    return f"{differences.mean():.2f} / {p95:.2f} / {differences.max():.2f}"


def shown(palette: Palette, labs: dict[tuple[float, ...], Triple], mixtures: Mixtures = ()) -> str:
    """The figures over all combinations, with some of them measured besides."""
    palette = replace(palette, mixtures=tuple((tints, labs[tints]) for tints in mixtures))
    predicted = xyz_to_lab(Halftone(palette).colour_of(np.array([*labs])))
    return f"125   {figures(delta_e([*labs.values()], predicted))}"


def of_chart(sheet: str, inks: tuple[str, ...]) -> str:
    """The figures of a whole chart, by patches left out in tenths."""
    made = characterise(cgats.read(REFERENCE / CHARTS[sheet]), (25, 50, 75, 100), inks=inks)
    measured = np.array([lab for _, lab in made.palette.mixtures])
    off = delta_e(measured, xyz_to_lab(Halftone(made.palette).mixtures_left_out()))
    return f"{len(off):<5} {figures(off)}"


def main() -> None:
    """Print the table."""
    shipped = palette_file.load("newsprint-quarters")
    for sheet, table in TABLES.items():
        labs = combinations(table)
        palette = of_sheet(labs)
        for title, found in (
            ("X, Y, Z, n = 1.5", shown(replace(palette, channels="xyz"), labs)),
            ("sharp", shown(palette, labs)),
            ("sharp + 1", shown(palette, labs, ((50, 50, 50),))),
            ("sharp + 4, as shipped", shown(palette, labs, tuple(t for t, _ in shipped.mixtures))),
            ("sharp + 7", shown(palette, labs, SEVEN)),
            ("whole chart, CMY", of_chart(sheet, ("yellow", "magenta", "cyan"))),
            ("whole chart, CMYK", of_chart(sheet, ())),
        ):
            print(f"{sheet}  {title:22}  {found}")


if __name__ == "__main__":
    main()
