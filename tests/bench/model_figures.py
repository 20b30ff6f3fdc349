"""How near the halftone model comes to two measured printing conditions, and what was tried.

Run by hand: ``PYTHONPATH=. python tests/bench/model_figures.py``. Every row predicts from what an
artist can make: paper, three inks, 3 × 4 single tints, 4 overprints. "125" are the combinations of
0/25/50/75/100 % of C, M and Y (partly interpolated from measurements, tests/reference/README.md);
"grid" are measured patches only. Figures: mean / 95 % / largest CIEDE2000.

Tried besides, in the same way, and left out (125 combinations, TR 002 and TR 003):

    n for each of X, Y, Z, from four mixed swatches    0.59/1.33/1.81   0.60/1.44/2.31
    n for each of R, G, B, from four mixed swatches    0.41/0.86/1.40   0.48/1.09/1.44 (grid 1.83)
    Bradford's cone responses, n = 1.5                 0.54/1.03/1.33   0.57/1.12/1.60
    "Sharp" cone responses, n = 1.5                    0.49/0.89/1.25   0.56/1.17/1.53
    linear ROMM RGB, n = 1.5                           0.50/1.00/1.29   0.67/1.48/2.08
    linear Adobe RGB, n = 1.5                          0.61/1.08/1.51   1.23/3.11/4.30
    X, Y, Z + a correction in v from four mixed
      swatches (50/50 pairs, 50/50/50), n = 1.5        0.57/1.35/1.79   0.69/1.76/2.09
    R, G, B + the same correction, n = 1.5             0.43/0.84/1.35   0.47/1.02/1.44
    R, G, B, one n from four mixed swatches            0.42/0.89/1.34   0.50/1.08/1.40

The change of channels does nearly all of it, with no swatch more and no constant fitted.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from tuimatch.colour.colorimetry import delta_e, lab_to_xyz, xyz_to_lab
from tuimatch.own_palette import cgats
from tuimatch.own_palette.characterise import CHANNELS, Chart
from tuimatch.palette.model import Channels
from tuimatch.recipe.halftone import demichel, from_v, measured_area, to_v

REFERENCE = Path(__file__).parent.parent / "reference"
FILES = {"TR002": "newsprint_tr002", "TR003": "coated_tr003"}


def table(name: str, chosen: str) -> tuple[np.ndarray, np.ndarray]:
    """Tints (N, 3) of yellow, magenta, cyan in percent and Lab (N, 3)."""
    lines = (REFERENCE / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    rows = [row for row in rows if chosen in row["sets"].split(";")]
    return (
        np.array([[float(row[x]) for x in "ymc"] for row in rows]),
        np.array([[float(row[x]) for x in "Lab"] for row in rows]),
    )


def predicted(chart: Chart, tints: np.ndarray, n: float, channels: Channels) -> np.ndarray:
    """Lab (N, 3) with areas between the ramp's patches interpolated linearly."""
    solids = lab_to_xyz([chart.solids[row] for row in range(8)])
    areas = np.zeros((len(tints), 3, 3))
    for i, (at, lab) in enumerate(chart.ramps):
        ramp = [
            measured_area(solids[0], tint, solids[1 << i], n, t / 100, channels)
            for t, tint in zip(at, lab_to_xyz(lab), strict=True)
        ]
        for channel, values in enumerate(np.array(ramp).T):
            areas[:, i, channel] = np.interp(tints[:, i], at, values)
    v = np.einsum("...jc,jc->...c", demichel(areas), to_v(solids, n, channels))
    return xyz_to_lab(from_v(v, n, channels))


def main() -> None:
    """Print the table."""
    for chart_name, name in FILES.items():
        chart = Chart(cgats.read(REFERENCE / f"{chart_name}.ti3"), ("yellow", "magenta", "cyan"))
        kinds = {"125": table(name, "g125"), "grid": table(f"{name}_grid", "grid")}
        fitted = chart.fitted_n()
        for channels in ("xyz", "bt2020"):
            for n in sorted({1.2, 1.5, 1.8, 2.0, fitted}):
                shown = [f"{chart_name} {channels:6} n = {n:<4g}"]
                for kind, (tints, lab) in kinds.items():
                    d = delta_e(lab, predicted(chart, tints, n, channels))
                    shown.append(
                        f"{kind} {d.mean():.2f} / {np.percentile(d, 95):.2f} / {d.max():.2f}"
                    )
                mark = "  fitted on the ramps" if (n, channels) == (fitted, CHANNELS) else ""
                print("   ".join(shown) + mark)


if __name__ == "__main__":
    main()
