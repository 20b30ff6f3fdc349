"""What of a painted page is to be drawn, where and how; the command and the screen draw alike."""

from __future__ import annotations

from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from tuimatch.errors import UsageError
from tuimatch.files import out_file
from tuimatch.text import percent

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tuimatch.plates.painting import Painting, Progress
    from tuimatch.plates.screening import Screening

    Write = Callable[[Path, Progress], str]

_RULINGS, _DPI = (20, 200), (36, 4800)
_LEAST_PERIOD = 2.0  # pixels from dot to dot: fewer make no dots
_MM_PER_INCH = 25.4

CAUTION = "A preview is not a contract proof; marks and ink limits are the printer's to settle."


def ruling(text: str) -> float:
    """Dots to the inch, as they are typed.

    Raises:
        UsageError: The text is not a ruling that can be drawn.
    """
    try:
        number = float(text)
    except ValueError:
        number = 0.0
    least, most = _RULINGS
    if not least <= number <= most:
        raise UsageError(
            f"{text!r} is not a ruling; give dots to the inch from {least} to {most}, such as 65"
        )
    return number


def resolution(text: str) -> int:
    """Pixels to the inch, as they are typed.

    Raises:
        UsageError: The text is not a resolution that can be drawn.
    """
    least, most = _DPI
    if not (text.isascii() and text.isdecimal() and least <= int(text[:6]) <= most):
        raise UsageError(
            f"{text!r} is not a resolution; give pixels to the inch from {least} to {most}"
        )
    return int(text)


@dataclass(frozen=True)
class Order:
    """What is to be drawn.

    Attributes:
        layers: The layers, an .ora file or a folder of PNGs; None leaves it out, here and below.
        plates: The folder of the plates.
        proof: The proof, a .png file.
        ruling: Dots to the inch; None for dots of about 6 pixels, which suit a screen.
        dpi: Pixels of the page to the inch.
        dots: Whether tints are dots, or flat.
        marks: Whether the plates have register marks.
        replace: Whether files that are there already may be replaced.
    """

    layers: Path | None = None
    plates: Path | None = None
    proof: Path | None = None
    ruling: float | None = None
    dpi: int = 300
    dots: bool = True
    marks: bool = False
    replace: bool = False

    @property
    def paths(self) -> list[Path]:
        """The files and folders to be written."""
        return [path for path in (self.layers, self.plates, self.proof) if path is not None]

    @property
    def taken(self) -> list[Path]:
        """The paths to be written that are there already and must stay."""
        return [] if self.replace else [path for path in self.paths if out_file.is_taken(path)]

    @property
    def layers_are_one_file(self) -> bool:
        """Whether the layers are one OpenRaster file."""
        return self.layers is not None and self.layers.suffix.casefold() == ".ora"

    @property
    def screening(self) -> Screening:
        """How fine the dots are."""
        from tuimatch.plates.screening import SCREEN_PERIOD, Screening

        if not self.dots:
            return Screening(None)
        return Screening(SCREEN_PERIOD if self.ruling is None else self.dpi / self.ruling)

    def check(self) -> None:
        """See whether it can be drawn, before any work.

        Raises:
            UsageError: A name has the wrong extension or comes twice, or the dots are too fine.
        """
        if self.layers is not None and self.layers.suffix and not self.layers_are_one_file:
            raise UsageError(
                f"{self.layers}: layers are .ora, or PNGs in a folder; give a name such as page.ora"
            )
        if self.proof is not None and self.proof.suffix.casefold() != ".png":
            raise UsageError(f"{self.proof}: a proof is PNG; give a name such as proof.png")
        for path in self.paths:
            if self.paths.count(path) > 1:
                raise UsageError(f"{path}: appears twice; give each a name of its own")
        period = self.screening.period
        if period is not None and period < _LEAST_PERIOD:
            assert self.ruling is not None
            raise UsageError(
                f"{percent(self.ruling)} dots to the inch need {percent(2 * self.ruling)} pixels "
                f"to the inch or more; {self.dpi} are too few"
            )


def draw(order: Order, painted: Painting, told: Progress) -> list[str]:
    """Draw all of an order, or nothing: names are given when everything is written.

    Args:
        order: What, where and how.
        painted: The page.
        told: Gets how much is done, 0…1; what it raises ends the work.

    Returns:
        What there is to say: the coverage, the size of the page, then each file or folder.

    Raises:
        OutputError: Something cannot be written.
    """
    said = [coverage_in_words(painted), size_in_words(painted.width, painted.height, order.dpi)]
    writers = list(_writers(order, painted))
    with ExitStack() as stack:
        for number, (path, in_folder, write) in enumerate(writers):

            def part(done: float, number: int = number) -> None:
                told((number + done) / len(writers))

            part(0.0)
            named_last = out_file.whole_folder if in_folder else out_file.whole
            unfinished = stack.enter_context(named_last(path, replace=order.replace))
            what = write(unfinished, part)
            said.append(f"{path}: {what}, {_bytes_in_words(unfinished)}")
    return said


def _writers(order: Order, painted: Painting) -> Iterator[tuple[Path, bool, Write]]:
    """What is written where, whether it is a folder, and what writes it and says what it is."""
    screening, dpi = order.screening, order.dpi

    def layers(path: Path, told: Progress) -> str:
        from tuimatch.plates import layers

        # The dots are a third of the work, the files the rest.
        colours = layers.Colours.of(painted.recipes)
        made = layers.Layers(painted, colours, screening, lambda done: told(done / 3))
        write = layers.write_openraster if order.layers_are_one_file else layers.write_pngs
        write(path, made, dpi, lambda done: told((1 + 2 * done) / 3))
        return f"{len(made.names)} layers"

    def plates(path: Path, told: Progress) -> str:
        from tuimatch.plates import press

        made = press.write_plates(path, painted, screening, dpi=dpi, marks=order.marks, told=told)
        return "1 plate" if len(made) == 1 else f"{len(made)} plates"

    def proof(path: Path, told: Progress) -> str:
        from tuimatch.plates import proof

        proof.write_proof(path, painted, screening, dpi=dpi, told=told)
        return "proof"

    if order.layers is not None:
        yield order.layers, not order.layers_are_one_file, layers
    if order.plates is not None:
        yield order.plates, True, plates
    if order.proof is not None:
        yield order.proof, False, proof


def coverage_in_words(painted: Painting) -> str:
    """The most ink on the page, and whether the palette allows it."""
    limit, most = painted.recipes.palette.coverage_limit, painted.most_coverage
    if limit is not None and most > limit:
        return (
            f"the most ink on the page is {percent(most)} %, above the palette's limit of "
            f"{percent(limit)} %: ask the printer"
        )
    return f"the most ink on the page is {percent(most)} %"


def size_in_words(width: int, height: int, dpi: int) -> str:
    """How large a page of so many pixels is on paper."""
    across, down = (round(side / dpi * _MM_PER_INCH) for side in (width, height))
    return f"{width} x {height} pixels, at {dpi} to the inch {across} x {down} mm"


def _bytes_in_words(path: Path) -> str:
    files = path.iterdir() if path.is_dir() else (path,)
    size = sum(file.stat().st_size for file in files)
    return f"{size / 1e6:.1f} MB" if size >= 1e6 else f"{max(size // 1000, 1)} kB"
