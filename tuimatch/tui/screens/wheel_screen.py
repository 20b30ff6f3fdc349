"""The hue wheel of an ink set: each hue at its most vivid, how it is built up, what is missing."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.segment import Segment
from textual import getters, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from tuimatch.palette.uncertainty import in_words
from tuimatch.text import hexed, printable
from tuimatch.tui.match.state import BEYOND_SCREEN
from tuimatch.tui.screens.explained import ExplainedScreen, help_key
from tuimatch.tui.widgets.block_list import DIM, HERE, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.build_up_strip import BuildUpStrip
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines, whole
from tuimatch.tui.widgets.paint import block

if TYPE_CHECKING:
    from tuimatch.match.limits import Mask
    from tuimatch.match.wheel import Hue
    from tuimatch.recipe.recipes import Recipes

COUNTS = (6, 8, 12, 18, 24, 36)

# Lines for the head, two facts and the keys; and what the build-up needs.
_AROUND, _BUILD_UP = 4, 2
_NAME, _SWATCHES, _FEW_SWATCHES = 20, 12, 5
_ROOM_FOR_RECIPE = 31
_ROOM_FOR_CHROMA = 40


class HueList(BlockList):
    """A line for each hue: its angle, the colours after each ink, its recipe."""

    def __init__(self, recipes: Recipes) -> None:
        super().__init__()
        self._recipes = recipes
        self._hues: tuple[Hue, ...] = ()

    def show(self, hues: tuple[Hue, ...], cursor: int) -> None:
        """Show other hues."""
        self._hues = hues
        self.show_blocks(len(hues), cursor)

    @property
    def hues(self) -> tuple[Hue, ...]:
        """The hues shown."""
        return self._hues

    @property
    def hue(self) -> Hue:
        """The hue under the cursor."""
        return self._hues[self.cursor]

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """Angle, swatches, chroma, recipe."""
        from tuimatch.colour.difference_words import hue_name

        hue = self._hues[place]
        style = HERE if place == self.cursor else PLAIN
        mark = "▸" if place == self.cursor else " "
        name = f"{mark}{hue.angle:4.0f}° {hue_name(hue.angle)}".ljust(_NAME)
        segments = [Segment(name, style)]
        if hue.row is None:
            ways = ("not clean: no recipe comes near it", "not clean: no recipe", "not clean")
            return [*segments, fitted(whole(width - len(name) - 1, *ways), width - len(name), DIM)]
        swatches = min(_SWATCHES, width - _NAME - _ROOM_FOR_RECIPE)
        if swatches < _FEW_SWATCHES:  # the recipe stands below, and the colours get its room
            swatches = width - _NAME - 1 if hue.clean else _FEW_SWATCHES
        edges = [swatches * i // len(hue.steps) for i in range(len(hue.steps) + 1)]
        segments += [block(s.srgb, edges[i + 1] - edges[i]) for i, s in enumerate(hue.steps)]
        room = width - _NAME - swatches
        chroma = f"  vividness {hue.chroma:3.0f}" if room >= _ROOM_FOR_CHROMA else ""
        recipe = self._recipes.palette.recipe_wordings(self._recipes.tints_of(hue.row))
        said = [printable(words) for words in recipe]
        if not hue.clean:
            said = [*(f"not clean: {words}" for words in said), "not clean"]
        gap = " " if room < _ROOM_FOR_RECIPE - 1 else "  "
        words = whole(room - len(chroma + gap) - (len(gap) > 1), *said, "")
        return [*segments, fitted(chroma + gap + words, room, style if hue.clean else DIM)]


class WheelScreen(ExplainedScreen[int | None]):
    """Answers the row of the recipe to look at."""

    DEFAULT_CSS = """
    WheelScreen {
        #wheel-head { height: 1; }
        #wheel-facts { height: 2; }
        BuildUpStrip { height: 1fr; min-height: 2; }
        &.-airy BuildUpStrip { margin-top: 1; }
    }
    """
    WORDS = (
        "hue",
        "vividness",
        "clean",
        "recipe",
        "prints within",
        "overprints estimated",
        "on screen, in print",
        "beyond the screen",
        "#rrggbb",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "look", "Look", tooltip="Look at it in the match", id="wheel.take"),
        Binding("escape", "dismiss(None)", "Back", tooltip="Back to the match", id="wheel.back"),
        help_key("wheel"),
        Binding(
            "plus,equals_sign", "count(1)", "More", tooltip="Smaller steps of hue", id="wheel.more"
        ),
        Binding("minus", "count(-1)", "Fewer", tooltip="Larger steps of hue", id="wheel.less"),
    ]

    hues = getters.query_one(HueList)

    def __init__(self, recipes: Recipes, allowed: Mask | None = None) -> None:
        """Show the hues of a palette.

        Args:
            recipes: The recipes of the palette.
            allowed: Which of them may be offered; all unless given.
        """
        super().__init__()
        self._recipes, self._allowed = recipes, allowed
        self._count = 12

    def compose(self) -> ComposeResult:
        """Head, hues, the build-up of the one under the cursor with its facts, keys."""
        yield Lines(id="wheel-head")
        yield HueList(self._recipes)
        yield BuildUpStrip()
        yield Lines(id="wheel-facts")
        yield Foot()

    def on_mount(self) -> None:
        """Show the first hues."""
        self._turn(0)
        self.hues.focus()
        self.watch(self.hues, "cursor", self._show)

    def on_resize(self) -> None:
        """Give the hues the lines they need and the build-up what is left; say what has room."""
        self._share_out()
        if self.hues.hues:
            self._say_head()
            self._show()

    def _share_out(self) -> None:
        room = self.app.size.height - _AROUND - _BUILD_UP
        self.set_class(room > self._count, "-airy")
        self.hues.styles.height = max(1, min(self._count, room))

    def _turn(self, place: int) -> None:
        from tuimatch.match.wheel import wheel

        self.hues.show(wheel(self._recipes, self._count, allowed=self._allowed), place)
        self._say_head()
        self._share_out()

    def _say_head(self) -> None:
        from tuimatch.match.wheel import summary

        palette, said = self._recipes.palette, summary(self.hues.hues)
        short = said.split(" (")[0]
        name = f"{said} · {printable(palette.name)}"
        head = self.query_one("#wheel-head", Lines)
        head.show(whole(self.app.size.width - 2, f"{name}{in_words(palette)}", name, said, short))

    def _show(self) -> None:
        from tuimatch.match.wheel import off_in_words, remark

        hue, recipes, row = self.hues.hue, self._recipes, self._row
        self.query_one(BuildUpStrip).show(recipes, row)
        missing = remark(recipes, hue)
        if missing or row is None:
            said = missing.split("; ")
        else:
            screen = hexed(recipes.rgb_of(row))
            clipped = f", {BEYOND_SCREEN}" if recipes.clipped[row] else ""
            held = f"hue {hue.angle:.0f}°: {off_in_words(hue.off)}"
            vivid = f"{held}, vividness {hue.chroma:.0f}"
            ways = (f"{vivid}, {screen}{clipped}", f"{vivid}, {screen}", vivid, held)
            room = self.app.size.width - 2
            recipe = whole(room, *recipes.palette.recipe_wordings(recipes.tints_of(row)))
            said = [recipe, whole(room, *ways)]
        self.query_one("#wheel-facts", Lines).show("\n".join(map(printable, said)))

    @property
    def _row(self) -> int | None:
        """What is shown and looked at: what holds the hue, else the nearest clean recipe."""
        hue = self.hues.hue
        return hue.nearest if hue.row is None else hue.row

    def action_count(self, by: int) -> None:
        """More or fewer hues, the cursor on the nearest to where it was."""
        place = COUNTS.index(self._count) + by
        if 0 <= place < len(COUNTS):
            angle, self._count = self.hues.hue.angle, COUNTS[place]
            self._turn(round(angle * self._count / 360) % self._count)
            self._show()

    @on(BlockList.Chosen)
    def action_look(self) -> None:
        """Close with the recipe that is shown."""
        if self._row is not None:
            self.dismiss(self._row)
