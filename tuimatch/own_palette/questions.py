"""Making a palette step by step: a question, its answer checked at once, and what comes next.

The answers make the same rows as a list of swatches does, and the palette is made in `making`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

from tuimatch.errors import PaletteError
from tuimatch.own_palette import swatch_list, typed_swatch
from tuimatch.own_palette.swatch import Swatch
from tuimatch.own_palette.swatch_list import Row
from tuimatch.own_palette.typed_swatch import Tint
from tuimatch.palette.model import MAX_INKS, Palette, Triple
from tuimatch.text import has_unsafe, hexed, percent, printable

_ANSWERS = "the answers"


class Step(Enum):
    """What is asked."""

    PAPER = "paper: a colour, or a picture of it; or all swatches: brushes.png 3x4"
    ROW = "name of the ink of row {row}"
    INK = "name of the first ink"
    NEXT_INK = "name of the next ink; only Enter: no more inks"
    SOLID = "{ink}, solid: a colour, or a picture of it"
    TINT = "{ink}, a tint: its picture, its mean colour or its percent; only Enter: no more tints"
    LABEL = "what you call {ink} {share} %; only Enter: no name"
    DONE = ""


@dataclass(frozen=True)
class Steps:
    """How far the making has come; each answer gives another one, so that any can be undone.

    Attributes:
        step: What is asked next.
        rows: The swatches so far: the paper, then each ink with its tints.
        colours: How each of them looks, 0…255.
        said: What was understood of each, in words.
    """

    step: Step = Step.PAPER
    rows: tuple[Row, ...] = ()
    colours: tuple[Triple, ...] = ()
    said: tuple[str, ...] = ()
    _ink: str = ""
    _grid: tuple[tuple[Swatch, ...], ...] = ()

    @property
    def question(self) -> str:
        """What is asked next; empty when all is answered."""
        share = self.rows[-1].share if self.rows else ""
        row = self._row_in_words() if self.step is Step.ROW else ""
        return self.step.value.format(ink=printable(self._ink), share=share, row=row)

    def answered(self, text: str) -> Steps:
        """The steps after an answer; it may read a picture.

        Raises:
            TuimatchError: It is not an answer to what was asked.
        """
        text = text.strip()
        if self.step is Step.PAPER:
            grid = typed_swatch.grid(text)
            if grid is None:
                return self._with("paper", "paper", typed_swatch.solid(text), Step.INK)
            if len(grid) > MAX_INKS:
                raise PaletteError(_ANSWERS, "", f"{len(grid)} inks; give at most {MAX_INKS} rows")
            return replace(self._with("paper", "paper", grid[0][0].paper, Step.ROW), _grid=grid)
        if self.step in (Step.INK, Step.NEXT_INK, Step.ROW):
            return self._named(text)
        if self.step is Step.SOLID:
            return self._with(self._ink, "solid", typed_swatch.solid(text), Step.TINT)
        if self.step is Step.TINT:
            return self._tint(text) if text else self._next_ink()
        if self.step is Step.LABEL:
            rows = (*self.rows[:-1], replace(self.rows[-1], label=text))
            said = (*self.said[:-1], f"{self.said[-1]}  {printable(text)}".rstrip())
            return replace(self, rows=rows, said=said, step=Step.TINT)._checked()
        return self

    def palette(self, *, name: str, stem: str) -> Palette:
        """The palette of the answers so far.

        Raises:
            PaletteError: They do not make a correct palette.
        """
        return swatch_list.assemble(self.rows, name=name, file=_ANSWERS, stem=stem)

    def _named(self, name: str) -> Steps:
        if not name and self.step is Step.NEXT_INK:
            return replace(self, step=Step.DONE)
        if not name or has_unsafe(name) or name.casefold() == "paper":
            raise PaletteError(_ANSWERS, "ink", "has no name; give one such as yellow")
        if any(row.ink.casefold() == name.casefold() for row in self.rows):
            raise PaletteError(_ANSWERS, "ink", "has the name of another ink; give another name")
        # Any solid shows whether the palette can have such an ink at all.
        swatch_list.assemble((*self.rows, Row(name, "#000000")), name="x", file=_ANSWERS, stem="x")
        if self.step is Step.ROW:
            return self._of_row(name)
        return replace(self, _ink=name, step=Step.SOLID)

    def _row_in_words(self) -> str:
        swatches = self._grid[0]
        number = len({row.ink for row in self.rows})  # the paper is one of them
        shares = ", ".join(f"{100 * s.share:.1f} ± {100 * s.uncertainty:.1f}" for s in swatches)
        return f"{number}, {hexed(swatches[0].ink)} at {shares} %"

    def _of_row(self, name: str) -> Steps:
        """The ink and the tints of the next row of the grid."""
        found, *rest = self._grid
        named = replace(self, _ink=name, _grid=tuple(rest))
        steps = named._with(name, "solid", found[0].ink, Step.ROW)
        for one in found:
            tint = Tint(round(100 * one.share, 2), one.srgb, 100 * one.uncertainty)
            steps = steps._with_tint(tint, Step.ROW)
        return steps._checked() if rest else steps._checked()._next_ink()

    def _next_ink(self) -> Steps:
        count = len({row.ink for row in self.rows}) - 1
        return replace(self, step=Step.NEXT_INK if count < MAX_INKS else Step.DONE)

    def _tint(self, text: str) -> Steps:
        paper = self.colours[0]
        solid = next(
            colour
            for row, colour in zip(self.rows, self.colours, strict=True)
            if row.ink == self._ink
        )
        found = typed_swatch.tint(text, paper, solid)
        return self._with_tint(found, Step.LABEL)._checked()

    def _with_tint(self, tint: Tint, step: Step) -> Steps:
        share = percent(tint.share)
        sure = "" if tint.uncertainty is None else f" ± {tint.uncertainty:.1f}"
        return replace(
            self,
            rows=(*self.rows, Row(self._ink, share=share)),
            colours=(*self.colours, tint.srgb),
            said=(*self.said, f"{printable(self._ink)} {share}{sure} %"),
            step=step,
        )

    def _with(self, ink: str, what: str, colour: Triple, step: Step) -> Steps:
        digits = hexed(colour)
        name = what if ink == what else f"{printable(ink)} {what}"
        return replace(
            self,
            rows=(*self.rows, Row(ink, digits)),
            colours=(*self.colours, colour),
            said=(*self.said, f"{name}  {digits}"),
            step=step,
        )._checked()

    def _checked(self) -> Steps:
        """The same, once what there is makes a correct palette."""
        if len(self.rows) > 1:
            self.palette(name="so far", stem="so-far")
        return self
