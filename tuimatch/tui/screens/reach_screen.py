"""The reach of the ink set on a full screen: every recipe in its place, to take from."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, NamedTuple

from rich.cells import cell_len
from textual import getters, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Footer, Static

from tuimatch.colour.difference_words import size_in_words
from tuimatch.palette.uncertainty import in_words
from tuimatch.text import printable
from tuimatch.tui.screens.explained import ExplainedScreen
from tuimatch.tui.widgets.block_list import fitted
from tuimatch.tui.widgets.reach_map import ReachMap
from tuimatch.tui.widgets.seam import Seam

if TYPE_CHECKING:
    from tuimatch.match.limits import Mask
    from tuimatch.match.ranking import Ranking


class Picked(NamedTuple):
    """What was picked on the map.

    Attributes:
        row: The recipe's row.
        take: Whether to take it, rather than only to show it.
    """

    row: int
    take: bool


class ReachScreen(ExplainedScreen[Picked | None]):
    """The map, and what is under the cursor beside the target."""

    DEFAULT_CSS = """
    ReachScreen {
        #reach-head { height: 1; }
        #reach-foot { height: 4; }
        Seam { width: 1fr; height: 100%; }
        #reach-facts { width: 2fr; max-width: 64; height: 100%; padding: 0 1; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "pick(True)", "Take", id="reach.take", tooltip="Take this recipe"),
        Binding(
            "V", "pick(False)", "Show in the list", id="reach.show", tooltip="Look at it there"
        ),
        Binding("question_mark", "help", "Help", id="reach.help", tooltip="Every key"),
        Binding("escape", "dismiss(None)", "Back", id="reach.back", tooltip="Back to the match"),
    ]

    map = getters.query_one(ReachMap)

    def __init__(self, ranking: Ranking, allowed: Mask | None, row: int) -> None:
        """Open on a recipe.

        Args:
            ranking: The target and the recipes.
            allowed: Which recipes may stand on the map; all unless given.
            row: The recipe to begin at.
        """
        super().__init__()
        self._ranking, self._allowed, self._row = ranking, allowed, row

    def compose(self) -> ComposeResult:
        """Head, map, what is under the cursor, keys."""
        yield Static(id="reach-head", markup=False)
        yield ReachMap(self._ranking, self._allowed, self._row)
        with Horizontal(id="reach-foot"):
            yield Seam()
            yield Static(id="reach-facts", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Show what the map points at."""
        self.map.focus()
        self.watch(self.map, "cursor", self._show, init=False)
        self.query_one(Seam).show(self._ranking.target.srgb, None)

    def needs(self, work: str, deed: str) -> bool:
        """Only leaving need not wait until the recipes have their places."""
        del work
        return deed != "dismiss"

    def on_resize(self) -> None:
        """Set the head to the new width."""
        palette = self._ranking.recipes.palette
        trust = in_words(palette)
        left = f" {printable(palette.name)}{trust}"
        count = f"{palette.recipe_count:,} recipes"
        if self._allowed is not None and not self._allowed.all():
            count = f"{int(self._allowed.sum()):,} of {count}"
        right = f"   {count}   ( ) target "
        room = self.app.size.width - cell_len(right)
        head = Content(fitted(left, room).text + right)
        self.query_one("#reach-head", Static).update(head, layout=False)

    def _show(self) -> None:
        row, ranking = self.map.recipe, self._ranking
        if row is None:
            return
        candidate, recipes = ranking.beside(row), ranking.recipes
        self.query_one(Seam).show(ranking.target.srgb, recipes.rgb_of(row))
        clipped = ", shown clipped" if recipes.clipped[row] else ""
        said = (
            f"ΔE {candidate.delta_e:.2f}  {size_in_words(candidate.delta_e)}{clipped}",
            recipes.palette.recipe_text(recipes.tints_of(row)),
            candidate.differs,
        )
        facts = self.query_one("#reach-facts", Static)
        facts.update(Content("\n".join(filter(None, said))), layout=False)

    @on(ReachMap.Chosen)
    def _chosen(self) -> None:
        self.action_pick(True)

    def action_pick(self, take: bool) -> None:
        """Close with the recipe under the cursor."""
        if self.map.recipe is not None:
            self.dismiss(Picked(self.map.recipe, take))
