"""From measurements to a measured palette, and how far that palette can be trusted.

Everything that was measured goes into the palette: paper, solids and overprints, the tints of
single inks, those of the wanted ladder and those between, and every patch that mixes inks, which
corrects the model near it. How well it predicts is found by leaving out the mixing patches a tenth
at a time, never by a patch it has seen.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tuimatch.colour.colorimetry import Array, delta_e, xyz_to_lab
from tuimatch.errors import CgatsError
from tuimatch.own_palette.cgats import Measurements
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import MAX_MIXTURES, Ink, Palette, Triple
from tuimatch.palette.process_inks import PROCESS_INKS
from tuimatch.recipe.halftone import Halftone
from tuimatch.text import percent, printable

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
        interpolated: The tints of the ladder that lie between measured ones, by the name of their
            ink.
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
    ladder = tuple(sorted({float(t) for t in tints}))
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
    made = Palette(
        stem=stem,
        name=printable(name or data.title or "Imported measurements")[:80].strip(),
        about=_about(interpolated, chart.bare, missing),
        kind="measured",
        source=printable(data.source or data.file)[:400].strip(),
        paper_name="paper",
        paper=_triple(chart.solids[0]),
        inks=chart.palette_inks(ladder),
        overprints=chart.overprints(),
        channels="sharp",
        mixtures=chart.mixtures(),
    )
    palette = palette_file.with_text(made, data.file)
    return Characterisation(palette, interpolated, chart.bare, missing, check(palette))


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
        names = {ink.symbol.casefold(): ink.name for ink in PROCESS_INKS}
        wanted = {names.get(ink.casefold(), ink.casefold()) for ink in inks} or set(data.inks)
        if unknown := wanted - set(data.inks):
            raise CgatsError(
                data.file, 0, f"has no {sorted(unknown)[0]!r}; its inks are {', '.join(data.inks)}"
            )
        self.inks = tuple(ink.name for ink in PROCESS_INKS if ink.name in wanted)
        columns = [data.inks.index(ink) for ink in self.inks]
        others = [i for i in range(len(data.inks)) if i not in columns]
        plain = (data.tints[:, others] == 0).all(axis=1)
        # Finer than anybody lays a tint, and written without an exponent.
        self.tints, self.lab = np.round(data.tints[plain][:, columns], 4), data.lab[plain]

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

    def palette_inks(self, ladder: tuple[float, ...]) -> tuple[Ink, ...]:
        """Every ink with this ladder and all its measured tints."""
        symbols = {ink.name: ink.symbol for ink in PROCESS_INKS}
        inks = []
        for i, (name, (at, labs)) in enumerate(zip(self.inks, self.ramps, strict=True)):
            tints = {float(t): _triple(lab) for t, lab in zip(at, labs, strict=True) if 0 < t < 100}
            inks.append(
                Ink(
                    name,
                    symbols[name],
                    _triple(self.solids[1 << i]),
                    ladder,
                    measured=tuple((t, lab) for t, lab in tints.items() if t in ladder),
                    ramp=tuple((t, lab) for t, lab in tints.items() if t not in ladder),
                )
            )
        return tuple(inks)

    def overprints(self) -> tuple[tuple[tuple[int, ...], Triple], ...]:
        """The measured overprints of solids, by the positions of their inks."""
        found = [
            (tuple(i for i in range(len(self.inks)) if row >> i & 1), _triple(lab))
            for row, lab in self.solids.items()
            if row.bit_count() > 1
        ]
        return tuple(sorted(found, key=lambda item: (len(item[0]), item[0])))

    def mixtures(self) -> tuple[tuple[tuple[float, ...], Triple], ...]:
        """Every patch that mixes inks and is not all solids; of very many, a part spread evenly."""
        mixed = np.flatnonzero(
            (np.count_nonzero(self.tints, axis=1) > 1)
            & ((self.tints > 0) & (self.tints < 100)).any(axis=1)
        )
        if len(mixed) > MAX_MIXTURES:
            mixed = mixed[np.linspace(0, len(mixed) - 1, MAX_MIXTURES).astype(np.intp)]
        return tuple(
            {tuple(map(float, self.tints[i])): _triple(self.lab[i]) for i in mixed}.items()
        )


def check(palette: Palette) -> Check | None:
    """Predict the measured mixtures, leaving them out a tenth at a time; None without any."""
    if not palette.mixtures:
        return None
    labs = np.array([lab for _, lab in palette.mixtures])
    predicted = xyz_to_lab(Halftone(palette).mixtures_left_out())
    differences = delta_e(labs, predicted)
    return Check(
        count=len(labs),
        mean=float(differences.mean()),
        median=float(np.median(differences)),
        p95=float(np.percentile(differences, 95)),
        largest=float(differences.max()),
        worst=tuple(
            Miss(
                palette.recipe_text(palette.mixtures[i][0]),
                palette.mixtures[i][1],
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
) -> str:
    """What was measured and what was not, in one paragraph."""
    said = ["Made from measurements."]
    if interpolated:
        each = "; ".join(f"{ink} {', '.join(map(percent, tints))}" for ink, tints in interpolated)
        said.append(f"Between measured tints, by the ink's ramp: {each} %.")
    if bare:
        said.append(f"No tints measured, so nominal areas without dot gain: {', '.join(bare)}.")
    if missing:
        said.append(f"Estimated, not measured: {len(missing)} overprints of solids.")
    return " ".join(said)[:2000]


def _triple(lab: Array) -> Triple:
    """Lab to two decimals, as instruments give it."""
    lightness, a, b = (round(float(x), 2) + 0.0 for x in lab)
    return lightness, a, b
