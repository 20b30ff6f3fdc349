"""Choosing a palette: the shipped ones and the files of the current folder, each with its inks."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from rich.segment import Segment
from textual import getters, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from tuimatch.errors import PaletteError
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Palette
from tuimatch.palette.uncertainty import in_words
from tuimatch.text import printable
from tuimatch.tui.screens.explained import ExplainedScreen, help_key
from tuimatch.tui.widgets.block_list import DIM, HERE, NARROW, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import whole
from tuimatch.tui.widgets.paint import RGB, block

_MOST_FILES = 200
_SWATCH = 3


@dataclass(frozen=True)
class Entry:
    """One palette of the list.

    Attributes:
        name: What it is chosen by: a shipped name or a path.
        palette: What the file says, or None when it is refused.
        refusal: Why it is refused.
        colours: Paper and solids as a screen shows them.
    """

    name: str
    palette: Palette | None = None
    refusal: str = ""
    colours: tuple[RGB, ...] = ()


def entries(current: Palette) -> list[Entry]:
    """Every palette there is to choose, those that cannot be used last; call it in a thread.

    Args:
        current: The palette in use, which stands first when its file is neither shipped nor here.
    """
    # A project file of Python is not a palette, though its name ends in the same way.
    found_here = (path for path in Path().glob("*.toml") if path.name != "pyproject.toml")
    files = sorted(map(str, found_here))[:_MOST_FILES]
    found = [_entry(name) for name in (*palette_file.shipped_names(), *files)]
    if not any(same(entry.palette, current) for entry in found):
        found.insert(0, _shown(current.stem, current))
    return sorted(found, key=lambda entry: entry.palette is None)


def same(palette: Palette | None, other: Palette) -> bool:
    """Whether two palettes go by one name and say the same."""
    return palette is not None and (palette.stem, palette.text) == (other.stem, other.text)


def _entry(name: str) -> Entry:
    try:
        palette = palette_file.load(name)
    except PaletteError as error:
        return Entry(name, refusal=str(error))
    return _shown(name, palette)


def _shown(name: str, palette: Palette) -> Entry:
    solids = [palette.paper, *(ink.solid for ink in palette.inks)]
    if palette.rules.colour == "lab":
        from tuimatch.colour.colorimetry import displayed, lab_to_xyz

        solids = displayed(lab_to_xyz(solids)).srgb.tolist()
    return Entry(name, palette, colours=tuple((int(r), int(g), int(b)) for r, g, b in solids))


class PaletteList(BlockList):
    """Paper and solids of each palette, its name and what it holds."""

    HIGH = 3

    def __init__(self, current: Palette) -> None:
        super().__init__()
        self._current = current
        self._entries: list[Entry] = []

    @property
    def entry(self) -> Entry | None:
        """The palette under the cursor."""
        return self._entries[self.cursor] if self._entries else None

    def show(self, found: list[Entry]) -> None:
        """Show palettes, the cursor on the one in use."""
        self._entries = found
        in_use = [same(entry.palette, self._current) for entry in found]
        self.show_blocks(len(found), in_use.index(True))

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """Two lines of swatches with words beside them, and one between the palettes."""
        if part == 2:
            return []
        entry, here = self._entries[place], place == self.cursor
        style = HERE if here else PLAIN
        wide = _SWATCH if width >= NARROW else _SWATCH - 1
        most = max(len(entry.colours) for entry in self._entries) * wide
        swatches = []
        for rgb in entry.colours:  # each on its paper: a black would be lost on the ground
            swatches += [block(entry.colours[0], 1), block(rgb, wide - 1)]
        mark = "▸ " if here and part == 0 else "  "
        gap = Segment(" " * (most - len(entry.colours) * wide + 2))
        room = width - len(mark) - most - 2
        said = whole(room, *self._words(entry)[part])
        return [
            Segment(mark, style),
            *swatches,
            gap,
            fitted(said, room, style if part == 0 and entry.palette else DIM),
        ]

    def _words(self, entry: Entry) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """What is said in each line, from the longest wording to the shortest."""
        palette, file_name = entry.palette, printable(entry.name)
        if palette is None:
            return (f"{file_name}: cannot be used", file_name), (entry.refusal,)
        used = "  in use" if same(palette, self._current) else ""
        name, count = printable(palette.name), f"{palette.recipe_count:,} recipes"
        kind, off = f"{count}, {palette.kind}", in_words(palette)
        short = off.replace("prints within", "within")
        said = (f"{kind}{off}, {file_name}", f"{kind}{off}", f"{kind}{short}", kind, count)
        return (f"{name}{used}", name, file_name), said


class PaletteScreen(ExplainedScreen[Palette | None]):
    """Answers the palette chosen."""

    DEFAULT_CSS = """
    PaletteScreen {
        #palette-head { height: 2; padding: 0 1; }
        #palette-foot { height: 8; padding: 1 1 0 1; color: $secondary; }
        &.-short #palette-head { height: 1; }
        &.-short #palette-foot { height: 2; padding: 0 1; }
    }
    """
    VERTICAL_BREAKPOINTS = [(0, "-short"), (20, "-tall")]  # noqa: RUF012 (Textual's way)
    WORDS = (
        "recipe",
        "measured, screen",
        "prints within",
        "overprints estimated",
        "n",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "choose", "Use", id="palette.take", tooltip="Use this palette"),
        help_key("palette"),
        Binding("escape", "dismiss(None)", "Back", id="palette.back", tooltip="Change nothing"),
    ]

    class Found(Message):
        """The palettes are read."""

        def __init__(self, entries: list[Entry]) -> None:
            super().__init__()
            self.entries = entries

    palettes = getters.query_one(PaletteList)

    def __init__(self, current: Palette) -> None:
        """Open on the palette in use."""
        super().__init__()
        self._current = current

    def compose(self) -> ComposeResult:
        """Head, palettes, what is to be said of the one under the cursor, keys."""
        yield Static("palettes: shipped, and .toml files here", id="palette-head", markup=False)
        yield PaletteList(self._current)
        yield Static(id="palette-foot", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """Read the palettes without holding up the first frame."""
        self.palettes.focus()
        self.watch(self.palettes, "cursor", self._show, init=False)
        self._read()

    def needs(self, work: str, deed: str) -> bool:
        """Only leaving need not wait for the palettes."""
        del work
        return deed != "dismiss"

    @work(thread=True)
    def _read(self) -> None:
        self.post_message(self.Found(entries(self._current)))

    @on(Found)
    def _found(self, message: Found) -> None:
        self.palettes.show(message.entries)
        self._show()

    def _show(self) -> None:
        entry = self.palettes.entry
        if entry is None:
            return
        palette = entry.palette
        said = [entry.refusal] if palette is None else [palette.about, palette.source]
        text = "\n".join(printable(text) for text in said if text)
        self.query_one("#palette-foot", Static).update(Content(text), layout=False)

    @on(BlockList.Chosen)
    def action_choose(self) -> None:
        """Close with the palette under the cursor, if it can be used."""
        entry = self.palettes.entry
        if entry is not None and entry.palette is not None:
            self.dismiss(entry.palette)
