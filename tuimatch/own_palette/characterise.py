"""From measurements to a measured palette, and how far that palette can be trusted.

Paper, solids, overprints and single tints are taken where they were measured. A tint of the wanted
ladder that was not is interpolated along the ink's measured ramp in CIELAB, and marked. Every patch
that mixes inks and was not used is then predicted and compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tuimatch.colour.colorimetry import Array, delta_e, lab_to_xyz, xyz_to_lab
from tuimatch.errors import CgatsError
from tuimatch.own_palette.cgats import Measurements
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Channels, Ink, Palette, Triple
from tuimatch.recipe.halftone import from_v, to_v
from tuimatch.recipe.monotone_cubic import monotone
from tuimatch.recipe.recipes import predict
from tuimatch.text import percent, printable

LAYING_ORDER = ("yellow", "magenta", "cyan", "black")
_SYMBOLS = {"yellow": "Y", "magenta": "M", "cyan": "C", "black": "K"}

# Closer on every chart tried than X, Y and Z (tests/bench/model_figures.py).
CHANNELS: Channels = "bt2020"

# Without any spread of light n is 1, with complete spread 2 (Yule & Nielsen 1951, from memory);
# what a fit finds beyond is not the paper but everything else that the model leaves out.
FACTORS = np.round(np.arange(1, 2.001, 0.05), 2)
_AREAS = np.linspace(0, 1, 201)

# As many as 8 bits can name; a ramp has no more to say.
MAX_RAMP = 256

_WORST = 5


@dataclass(frozen=True)
class Miss:
    """One patch that was predicted.

    Attributes:
        recipe: Its inks in words.
        measured: Lab as measured; `predicted` likewise.
        delta_e: CIEDE2000 between the two.
    """

    recipe: str
    measured: Triple
    predicted: Triple
    delta_e: float


@dataclass(frozen=True)
class Check:
    """How the predictions differ from the measurements, in CIEDE2000.

    Attributes:
        count: How many patches were predicted.
        worst: The largest differences, largest first.
    """

    count: int
    mean: float
    median: float
    p95: float
    largest: float
    worst: tuple[Miss, ...]


@dataclass(frozen=True)
class Characterisation:
    """A palette made from measurements.

    Attributes:
        palette: Checked, with its text: what to write to a file.
        interpolated: The tints that were not measured, by the name of their ink.
        bare: The inks that were measured as a solid only; their tints go by the nominal rule.
        missing: The overprints of solids that were not measured, by the names of their inks.
        check: None where no other patch mixes the inks.
    """

    palette: Palette
    interpolated: tuple[tuple[str, tuple[float, ...]], ...]
    bare: tuple[str, ...]
    missing: tuple[tuple[str, ...], ...]
    check: Check | None


def characterise(
    data: Measurements,
    tints: Sequence[float],
    *,
    inks: Sequence[str] = (),
    name: str = "",
    stem: str = "imported",
) -> Characterisation:
    """Make a measured palette for a ladder of tints.

    Args:
        data: The measured chart.
        tints: The ladder in percent, the same for every ink.
        inks: Which of the chart's inks, by name or symbol; all of them unless given.
        name: What to call the palette; the chart's own title unless given.
        stem: What the palette will be called by.

    Raises:
        CgatsError: The chart lacks the paper or a solid.
        PaletteError: The ladder is not one a palette can have.
    """
    chart = Chart(data, inks)
    n = chart.fitted_n()
    ladder = tuple(sorted({float(t) for t in tints}))
    palette = chart.palette([ladder] * len(chart.inks), n)
    interpolated = tuple(
        (ink, absent)
        for ink, (at, _) in zip(chart.inks, chart.ramps, strict=True)
        if ink not in chart.bare and (absent := tuple(t for t in ladder if t not in at))
    )
    missing = tuple(
        tuple(chart.inks[i] for i in range(len(chart.inks)) if row >> i & 1)
        for row in range(2 ** len(chart.inks))
        if row.bit_count() > 1 and row not in chart.solids
    )
    title = printable(name or data.title or "Imported measurements")[:80].strip()
    palette = replace(
        palette,
        name=title,
        stem=stem,
        source=printable(data.source or data.file)[:400].strip(),
        about=_about(interpolated, chart.bare, missing, n),
    )
    text = _with_marks(palette_file.to_toml(palette), palette, dict(interpolated))
    palette = palette_file.parse(text, file=data.file, stem=stem)
    return Characterisation(palette, interpolated, chart.bare, missing, chart.check(n))


class Chart:
    """The measured chart seen from its inks, in laying order.

    Attributes:
        inks: Their names.
        tints: Percent of each ink, shape (N, k); patches with any other ink are left out.
        lab: Their CIELAB, shape (N, 3).
        solids: CIELAB of paper, solids and their overprints, by the bits of their inks.
        ramps: For each ink the tints it was measured at, 0 and 100 among them, and their CIELAB.
    """

    def __init__(self, data: Measurements, inks: Sequence[str]) -> None:
        names = {symbol.casefold(): name for name, symbol in _SYMBOLS.items()}
        wanted = {names.get(ink.casefold(), ink.casefold()) for ink in inks} or set(data.inks)
        if unknown := wanted - set(data.inks):
            raise CgatsError(
                data.file, 0, f"has no {sorted(unknown)[0]!r}; its inks are {', '.join(data.inks)}"
            )
        self.inks = tuple(ink for ink in LAYING_ORDER if ink in wanted)
        columns = [data.inks.index(ink) for ink in self.inks]
        others = [i for i in range(len(data.inks)) if i not in columns]
        plain = (data.tints[:, others] == 0).all(axis=1)
        self.tints, self.lab = data.tints[plain][:, columns], data.lab[plain]

        full = (self.tints == 100) @ (1 << np.arange(len(self.inks)))
        whole = ((self.tints == 0) | (self.tints == 100)).all(axis=1)
        self.solids = {int(full[i]): self.lab[i] for i in np.flatnonzero(whole)}
        if 0 not in self.solids:
            raise CgatsError(data.file, 0, "has no patch of bare paper; give one with all inks 0")
        self.ramps: list[tuple[Array, Array]] = []
        for i, ink in enumerate(self.inks):
            if 1 << i not in self.solids:
                raise CgatsError(data.file, 0, f"has no solid {ink}; give a patch of it at 100")
            alone = (np.delete(self.tints, i, axis=1) == 0).all(axis=1)
            if (count := int(alone.sum())) > MAX_RAMP:
                raise CgatsError(
                    data.file, 0, f"has {count:,} tints of {ink} alone; give at most {MAX_RAMP}"
                )
            order = np.argsort(self.tints[alone, i])
            self.ramps.append((self.tints[alone, i][order], self.lab[alone][order]))

    @property
    def bare(self) -> tuple[str, ...]:
        """The inks whose ramp is no more than paper and solid."""
        return tuple(
            ink for ink, (at, _) in zip(self.inks, self.ramps, strict=True) if len(at) == 2
        )

    def fitted_n(self) -> float:
        """The Yule-Nielsen factor that the ramps of single inks speak for.

        A tint has one area, so the best n is the one with which a single area for all channels of
        light comes nearest to the measured tint: least mean square of CIEDE2000 over the ramps.
        """
        if len(self.bare) == len(self.inks):
            return 2.0
        misses = []
        for n in FACTORS:
            squares = []
            for _, lab in self.ramps:
                v = to_v(np.maximum(lab_to_xyz(lab[[0, -1]]), 0), n, CHANNELS)
                line = from_v(v[0] + _AREAS[:, None] * (v[1] - v[0]), n, CHANNELS)
                nearest = delta_e(lab[1:-1, None], xyz_to_lab(line)).min(axis=1)
                squares.append(nearest**2)
            misses.append(np.concatenate(squares).mean())
        return float(FACTORS[int(np.argmin(misses))])

    def palette(self, ladders: Sequence[tuple[float, ...]], n: float) -> Palette:
        """The palette with these tints of each ink; a name it has yet to get."""
        inks = []
        for i, (name, ladder) in enumerate(zip(self.inks, ladders, strict=True)):
            at, lab = self.ramps[i]
            partial = [t for t in ladder if t < 100]
            # Two points make no ramp: between them the palette's own rule knows better.
            measured = (
                tuple(zip(partial, map(_triple, monotone(at, lab, partial)), strict=True))
                if name not in self.bare
                else ()
            )
            solid = _triple(self.solids[1 << i])
            inks.append(Ink(name, _SYMBOLS[name], solid, ladder, measured=measured))
        overprints = [
            (tuple(i for i in range(len(self.inks)) if row >> i & 1), _triple(lab))
            for row, lab in self.solids.items()
            if row.bit_count() > 1
        ]
        return Palette(
            stem="",
            name="",
            about="",
            kind="measured",
            source="",
            paper_name="paper",
            paper=_triple(self.solids[0]),
            inks=tuple(inks),
            overprints=tuple(sorted(overprints, key=lambda item: (len(item[0]), item[0]))),
            yule_nielsen=n,
            channels=CHANNELS,
        )

    def check(self, n: float) -> Check | None:
        """Predict every patch that mixes inks and is not all solids."""
        mixed = (np.count_nonzero(self.tints, axis=1) > 1) & (
            (self.tints > 0) & (self.tints < 100)
        ).any(axis=1)
        tints, lab = self.tints[mixed], self.lab[mixed]
        if not len(tints):
            return None
        # A palette whose ladders hold every tint of the chart says what each patch should be.
        ladders = [np.unique(column[column > 0]) for column in tints.T]
        palette = self.palette([tuple(map(float, ladder)) for ladder in ladders], n)
        steps = np.stack(
            [
                np.where(column > 0, np.searchsorted(ladder, column) + 1, 0)
                for ladder, column in zip(ladders, tints.T, strict=True)
            ],
            axis=1,
        )
        predicted = xyz_to_lab(predict(palette, steps))
        differences = delta_e(lab, predicted)
        return Check(
            count=len(tints),
            mean=float(differences.mean()),
            median=float(np.median(differences)),
            p95=float(np.percentile(differences, 95)),
            largest=float(differences.max()),
            worst=tuple(
                Miss(
                    palette.recipe_text(tuple(map(float, tints[i]))),
                    _triple(lab[i]),
                    _triple(predicted[i]),
                    float(differences[i]),
                )
                for i in np.argsort(-differences, kind="stable")[:_WORST]
            ),
        )


def _about(
    interpolated: Sequence[tuple[str, tuple[float, ...]]],
    bare: Sequence[str],
    missing: Sequence[tuple[str, ...]],
    n: float,
) -> str:
    """What was measured and what was not, in one paragraph."""
    said = [f"Made from measurements; n = {n:g} fitted on the single-ink ramps."]
    if interpolated:
        each = "; ".join(f"{ink} {_list(tints)}" for ink, tints in interpolated)
        said.append(f"Not measured but interpolated along the ramp: {each} %.")
    if bare:
        said.append(f"No tints measured, so nominal areas without dot gain: {', '.join(bare)}.")
    if missing:
        said.append(f"Not measured and estimated: {len(missing)} overprints of solids.")
    return " ".join(said)[:2000]


def _with_marks(text: str, palette: Palette, interpolated: dict[str, tuple[float, ...]]) -> str:
    """The text of the file with a comment above each ink's tints that were not measured."""
    lines = []
    inks = iter(palette.inks)
    for line in text.splitlines():
        if line.startswith("symbol = "):
            ink = next(inks)
        if line.startswith("measured = ") and ink.name in interpolated:
            lines.append(f"# interpolated, not measured: {_list(interpolated[ink.name])}")
        lines.append(line)
    return "\n".join(lines) + "\n"


def _list(tints: Sequence[float]) -> str:
    return ", ".join(map(percent, tints))


def _triple(lab: Array) -> Triple:
    """Lab to two decimals, as instruments give it."""
    lightness, a, b = (round(float(x), 2) + 0.0 for x in lab)
    return lightness, a, b
