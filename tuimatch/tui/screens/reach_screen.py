"""The chart: every recipe of the ink set in its place by lightness and hue, to take from.

It is the first screen, as long as there is no target; from the match it has the target marked.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import getters, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Static

from tuimatch.colour.difference_words import size_in_words
from tuimatch.text import hexed
from tuimatch.tui.match import head
from tuimatch.tui.match.keys import MATCH_KEYS
from tuimatch.tui.match.state import BEYOND_SCREEN, TYPE_ONE, TYPE_ONE_SHORT
from tuimatch.tui.screens.asking import AskingScreen
from tuimatch.tui.screens.explained import help_key, own_binding
from tuimatch.tui.widgets.choices_strip import ChoicesStrip
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines, whole
from tuimatch.tui.widgets.prompt import Prompt
from tuimatch.tui.widgets.reach_map import ReachMap
from tuimatch.tui.widgets.seam import Seam

if TYPE_CHECKING:
    from tuimatch.tui.match.state import MatchState


class Picked(NamedTuple):
    """What was picked on the map.

    Attributes:
        row: The recipe's row.
        take: Whether to take it, rather than only to show it.
    """

    row: int
    take: bool


_COLOUR = "recipe"  # the group at the foot of what gives a colour, as in the match
_key = partial(own_binding, "reach", show=True, group=_COLOUR)

# What can be done without a target is done here by the same keys as in the match.
# At the foot they stand in this order: first the ways in.
_FROM_MATCH = (
    *("target", "flats", "page", "project", "palette", "review", "passes", "economy", "wheel"),
    *("undo", "follow", "target_hex", "picture", "wording", "redo", "tints", "make", "quit"),
)


def _of_match() -> Iterator[Binding]:
    keys = {key.id: key for key in MATCH_KEYS if isinstance(key, Binding)}
    for name in _FROM_MATCH:
        binding = keys[f"match.{name}"]
        action = binding.action
        group = Binding.Group(_COLOUR) if name == "flats" else binding.group
        ours = action if action.startswith("app.") else f"of_match({action!r})"
        yield replace(binding, action=ours, group=group)


class ReachScreen(AskingScreen[Picked | None]):
    """The chart: every recipe on the map, and what is under the cursor, beside the target if any.

    Without a target this is the first screen, and it goes when there is one.
    """

    DEFAULT_CSS = """
    ReachScreen {
        #reach-head, #reach-said { height: 1; }
        #reach-said { color: $foreground; text-style: bold; }
        #reach-said.-alarm { text-style: bold reverse; }
        #reach-foot { height: 4; }
        Seam { width: 1fr; height: 100%; }
        #reach-facts { width: 2fr; max-width: 64; height: 100%; padding: 0 1; }
        &.-short #reach-foot { height: 2; }
        &.-small #reach-facts { width: 4fr; }
    }
    """
    HORIZONTAL_BREAKPOINTS = [(0, "-small"), (60, "-roomy")]  # noqa: RUF012 (Textual's way)
    VERTICAL_BREAKPOINTS = [(0, "-short"), (20, "-tall")]  # noqa: RUF012
    WORDS = (
        "hue",
        "greys",
        "lightness",
        "recipe",
        "ΔE",
        "in words",
        "prints within",
        "overprints estimated",
        "beyond the screen",
        "#rrggbb",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        _key("enter", "pick(True)", "Take", "Take this recipe", "take"),
        _key("escape", "dismiss(None)", "Back", "Back to the match", "back"),
        help_key("reach"),
        *_of_match(),
        _key("V", "pick(False)", "Look", "Look at this recipe in the list", "show"),
    ]

    map = getters.query_one(ReachMap)

    def __init__(
        self, state: MatchState, run: Callable[[str], Awaitable[object]] | None = None
    ) -> None:
        """Open over the match.

        Args:
            state: That of the match, its inks mixed.
            run: Runs an action of the match.
        """
        super().__init__(state)
        chart = state.chart()
        assert chart is not None
        self._chart, self._run = chart, run

    def compose(self) -> ComposeResult:
        """Head, what is said, map, what is under the cursor, choices, keys or question."""
        yield Lines(id="reach-head")
        yield Lines(id="reach-said")
        yield ReachMap(self._chart)
        with Horizontal(id="reach-foot"):
            yield Seam()
            yield Static(id="reach-facts", markup=False)
        yield ChoicesStrip()
        yield Prompt()
        yield Foot()

    def on_mount(self) -> None:
        """Show what the map points at."""
        self.map.focus()
        self.watch(self.map, "cursor", self._show_pointed_at, init=False)
        self.show()

    def needs(self, work: str, deed: str) -> bool:
        """Only leaving need not wait until the recipes have their places."""
        del work
        return deed != "dismiss"

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without a target there is no match to go back to."""
        del parameters
        return action != "dismiss" or self._chart.target is not None

    def on_resize(self) -> None:
        """Set the words to the new width, as soon as the widgets have it."""
        self.call_after_refresh(self.show)

    def on_screen_resume(self) -> None:
        """Back from another screen, perhaps with a target or other inks."""
        self.show()

    @property
    def resting(self) -> ReachMap:
        """The map has the keys."""
        return self.map

    # Showing.

    def show(self) -> None:
        """Bring every widget to what the state is now, or go where the target is new."""
        state = self.state
        target = None if state.match is None else state.match.ranking.target.lab
        if target != self._chart.target:
            if self.app.screen is self:
                self.dismiss(None)
            return
        if state.recipes is not self._chart.recipes and (now := state.chart()) is not None:
            self._chart = now
            self.map.show(now)
        self._show_head()
        said = self.query_one("#reach-said", Lines)
        text = state.said or (TYPE_ONE if target is None else f"( ) your colour: {state.wanted}")
        said.show(whole(said.size.width, TYPE_ONE, *TYPE_ONE_SHORT) if text == TYPE_ONE else text)
        said.set_class(state.alarm, "-alarm")
        self.query_one(ChoicesStrip).show(state.newest)
        self.show_question()

    def _show_head(self) -> None:
        allowed, palette = self._chart.allowed, self._chart.recipes.palette
        count = f"{palette.recipe_count:,} recipes"
        if allowed is not None and not allowed.all():
            count = f"{int(allowed.sum()):,} of {count}"
        line = self.query_one("#reach-head", Lines)
        line.show(head.chart_line(self.state, count, line.size.width, self.key_of))

    def _show_pointed_at(self) -> None:
        row, recipes = self.map.recipe, self._chart.recipes
        if row is None:
            return
        clipped = f", {BEYOND_SCREEN}" if recipes.clipped[row] else ""
        recipe, rgb = recipes.palette.recipe_words(recipes.tints_of(row)), recipes.rgb_of(row)
        match = self.state.match
        if match is None:
            self.query_one(Seam).show(rgb, rgb)
            said = [recipe, f"{hexed(rgb)}{clipped}"]
        else:
            candidate = match.ranking.beside(row)
            self.query_one(Seam).show(match.ranking.target.srgb, rgb)
            size = f"ΔE {candidate.delta_e:.2f}  {size_in_words(candidate.delta_e)}{clipped}"
            said = [size, recipe, candidate.differs]
        facts = self.query_one("#reach-facts", Static)
        facts.update(Content("\n".join(filter(None, said))), layout=False)

    # Keys.

    @on(ReachMap.Chosen)
    def _chosen(self) -> None:
        if self.state.asked is None:
            self.action_pick(True)

    def action_pick(self, take: bool) -> None:
        """Close with the recipe under the cursor."""
        if self.map.recipe is not None:
            self.dismiss(Picked(self.map.recipe, take))

    async def action_of_match(self, action: str) -> None:
        """Do what the same key does in the match; it shows here what has changed."""
        if self._run is not None:
            await self._run(action)
