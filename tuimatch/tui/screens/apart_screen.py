"""The candidate beside every choice of the project, as most people and as dichromats see them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from rich.style import Style
from textual import getters
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from tuimatch.text import printable, rgb_of_hex
from tuimatch.tui.screens.explained import ExplainedScreen, help_key
from tuimatch.tui.widgets.block_list import DIM, HERE, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import whole
from tuimatch.tui.widgets.paint import RGB, block

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from tuimatch.colour.dichromacy import ToldApart
    from tuimatch.log import Choice
    from tuimatch.palette.model import Palette

_SEERS = ("most people", "protanopia", "deuteranopia", "tritanopia")
_SHORT = ("most", "protan", "deutan", "tritan")
_SHORTEST = ("most", "prot", "deut", "trit")
_NAMES = (_SEERS, _SHORT, _SHORTEST)
_WARNED = Style(bold=True, color="#ffffff")


@dataclass(frozen=True)
class Beside:
    """A choice beside the candidate.

    Attributes:
        recipe: That of the choice, in words, from the longest wording to the shortest.
        seams: Candidate and choice as they are seen: by most people, then with each dichromacy.
    """

    choice: Choice
    recipe: tuple[str, ...]
    told: ToldApart
    seams: tuple[tuple[RGB, RGB], ...]


def beside(
    xyz: npt.ArrayLike, rgb: RGB, choices: list[Choice], palette: Palette | None = None
) -> list[Beside]:
    """Compare a colour with choices, those that become alike first, then by how near they come.

    Args:
        xyz: The colour, D50, shape (3,).
        rgb: The same as a screen shows it.
        choices: The choices of a project.
        palette: The palette in use, which has the words for the recipes.
    """
    from tuimatch.colour.colorimetry import displayed, lab_to_xyz, seen_with_dichromacy
    from tuimatch.colour.dichromacy import DICHROMACIES, told_apart

    if not choices:
        return []
    others = lab_to_xyz([choice.lab for choice in choices])
    views = [[(rgb, rgb_of_hex(choice.srgb)) for choice in choices]]
    for kind in DICHROMACIES:
        mine = _triples(displayed(seen_with_dichromacy(xyz, kind)).srgb)[0]
        theirs = _triples(displayed(seen_with_dichromacy(others, kind)).srgb)
        views.append([(mine, other) for other in theirs])
    found = [
        Beside(choice, choice.recipe_wordings(palette), told, seams)
        for choice, told, seams in zip(
            choices, told_apart(xyz, others), zip(*views, strict=True), strict=True
        )
    ]
    return sorted(found, key=lambda item: (not item.told.alike_for, min(item.told.dichromat)))


def _triples(srgb: npt.NDArray[np.uint8]) -> list[RGB]:
    return [(r, g, b) for r, g, b in srgb.reshape(-1, 3).tolist()]


class ApartList(BlockList):
    """Each choice in four seams with the difference under each."""

    HIGH = 4

    def __init__(self, found: list[Beside]) -> None:
        super().__init__()
        self._found = found

    def on_mount(self) -> None:
        """Show them."""
        self.show_blocks(len(self._found))

    @property
    def item(self) -> Beside | None:
        """The choice under the cursor."""
        return self._found[self.cursor] if self._found else None

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """Two lines of seams, one of numbers, one between the choices."""
        item, here = self._found[place], place == self.cursor
        label, seam = columns(width)
        style = HERE if here else PLAIN
        segments = [Segment("▸ " if here and part == 0 else "  ", style)]
        if part == 3:
            return segments
        segments.append(self._word(item, part, label - 3, style))
        segments.append(Segment(" "))
        differences = (item.told.plain, *item.told.dichromat)
        alike = (False, *(kind in item.told.alike_for for kind in _kinds()))
        for (mine, other), difference, warn in zip(item.seams, differences, alike, strict=True):
            if part < 2:
                segments += [block(mine, seam // 2), block(other, seam - seam // 2)]
            else:
                said = whole(seam, *_differences(difference, alike=warn))
                segments.append(fitted(said, seam, _WARNED if warn else style))
            segments.append(Segment(" "))
        return segments

    def _word(self, item: Beside, part: int, width: int, style: Style) -> Segment:
        if part == 0:
            return fitted(printable(item.choice.label or "no label"), width, style)
        if part == 1:
            return fitted(whole(width, *map(printable, item.recipe), ""), width, DIM)
        warning = whole(width, "! become alike", "! alike") if item.told.alike_for else ""
        return fitted(warning, width, _WARNED)


def columns(width: int) -> tuple[int, int]:
    """Widths of the words and of one seam."""
    label = max(16, min(40, width * 2 // 5))
    return label, max(2, (width - label) // len(_SEERS) - 1)


def _differences(delta_e: float, *, alike: bool) -> tuple[str, ...]:
    """A difference from the longest wording to the shortest."""
    number = f"{delta_e:.1f}"
    if not alike:
        return f"ΔE {number}", number
    return f"ΔE {number} ! alike", f"{number} ! alike", f"{number} !", f"{number}!", "!"


def _kinds() -> tuple[str, ...]:
    from tuimatch.colour.dichromacy import DICHROMACIES

    return DICHROMACIES


class ApartScreen(ExplainedScreen[None]):
    """Which choices of the project the candidate could be taken for."""

    DEFAULT_CSS = """
    ApartScreen {
        #apart-head { height: 3; }
        #apart-foot { height: 3; padding: 1 1 0 1; color: $secondary; }
    }
    """
    WORDS = (
        "protan, deutan, tritan",
        "alike",
        "ΔE",
        "recipe",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        help_key("apart"),
        Binding("escape", "dismiss(None)", "Back", id="apart.back", tooltip="Back to the match"),
    ]

    choices = getters.query_one(ApartList)

    def __init__(
        self,
        recipe: tuple[str, ...],
        xyz: npt.ArrayLike,
        rgb: RGB,
        choices: list[Choice],
        palette: Palette | None = None,
    ) -> None:
        """Compare a candidate with the choices of its project.

        Args:
            recipe: The candidate's recipe, from the longest wording to the shortest.
            xyz: Its colour, D50, shape (3,).
            rgb: The same as a screen shows it.
            choices: Every choice of the project.
            palette: The palette in use, which has the words for the recipes.
        """
        super().__init__()
        self._recipe = recipe
        self._found = beside(xyz, rgb, choices, palette)

    def compose(self) -> ComposeResult:
        """Head, choices, the one under the cursor in full, keys."""
        yield Static(id="apart-head", markup=False)
        yield ApartList(self._found)
        yield Static(id="apart-foot", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Show the choice under the cursor."""
        self.choices.focus()
        self.watch(self.choices, "cursor", self._show)

    def on_resize(self) -> None:
        """Set the head over the seams."""
        label, seam = columns(self.app.size.width)
        names = next((way for way in _NAMES if max(map(len, way)) <= seam), _SHORTEST)
        heads = "".join(name[:seam].ljust(seam + 1) for name in names)
        recipe = whole(self.app.size.width - 2, *map(printable, self._recipe))
        text = f" {recipe}\n {self._verdict()}\n{' ' * label}{heads}"
        self.query_one("#apart-head", Static).update(Content(text), layout=False)
        self._show()

    def _verdict(self) -> str:
        if not self._found:
            return "nothing kept yet to compare with"
        alike, of = sum(bool(item.told.alike_for) for item in self._found), len(self._found)
        verb = "becomes" if alike == 1 or of == 1 else "become"
        return f"{alike or 'none'} of {of} recipe{'s' * (of > 1)} {verb} alike"

    def _show(self) -> None:
        item = self.choices.item
        if item is None:
            return
        label, recipe = item.choice.label or "no label", item.recipe
        ways = (f"{label}: {recipe[0]}", *recipe)
        room = self.app.size.width - 2
        said = [whole(room, *map(printable, ways))]
        if item.told.alike_for:
            names = [dict(zip(_kinds(), way[1:], strict=True)) for way in _NAMES]
            alike = (", ".join(way[kind] for kind in item.told.alike_for) for way in names)
            said.append(whole(room, *(f"! alike with {kinds}" for kinds in alike)))
        self.query_one("#apart-foot", Static).update(Content("\n".join(said)), layout=False)
