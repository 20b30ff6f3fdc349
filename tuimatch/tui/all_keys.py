"""Every key that can be remapped, by its id; it loads every screen, so only where it is needed."""

from __future__ import annotations

from collections.abc import Iterable

from textual.binding import Binding, BindingType

from tuimatch.tui.match.screen import MatchScreen
from tuimatch.tui.screens.apart_screen import ApartScreen
from tuimatch.tui.screens.draw_screen import DrawScreen
from tuimatch.tui.screens.economy_screen import EconomyScreen
from tuimatch.tui.screens.explained import ExplainedScreen
from tuimatch.tui.screens.help_screen import HelpScreen
from tuimatch.tui.screens.laying_screen import LayingScreen
from tuimatch.tui.screens.make_screen import MakeScreen
from tuimatch.tui.screens.page_screen import PageScreen
from tuimatch.tui.screens.palette_screen import PaletteScreen
from tuimatch.tui.screens.passes_screen import PassesScreen
from tuimatch.tui.screens.pick_screen import PickScreen
from tuimatch.tui.screens.project_screen import ProjectScreen
from tuimatch.tui.screens.reach_screen import ReachScreen
from tuimatch.tui.screens.rematch_screen import RematchScreen
from tuimatch.tui.screens.review_screen import ReviewScreen
from tuimatch.tui.screens.tints_screen import TintsScreen
from tuimatch.tui.screens.wheel_screen import WheelScreen
from tuimatch.tui.widgets.block_list import BlockList
from tuimatch.tui.widgets.picture_view import PictureView
from tuimatch.tui.widgets.prompt import Prompt
from tuimatch.tui.widgets.reach_map import ReachMap

OWNERS = (
    ExplainedScreen,
    MatchScreen,
    Prompt,
    ReachScreen,
    ReachMap,
    ReviewScreen,
    RematchScreen,
    ProjectScreen,
    LayingScreen,
    PassesScreen,
    EconomyScreen,
    TintsScreen,
    WheelScreen,
    PaletteScreen,
    PickScreen,
    PageScreen,
    DrawScreen,
    PictureView,
    MakeScreen,
    ApartScreen,
    BlockList,
    HelpScreen,
)


def defaults() -> dict[str, str]:
    """The keys of each binding, commas between them, by its id."""
    found: dict[str, str] = {}
    for owner in OWNERS:
        for binding in _with_id(owner.BINDINGS):
            found.setdefault(binding.id or "", binding.key)
    return found


def meanings() -> dict[str, str]:
    """What each binding does, by its id."""
    found: dict[str, str] = {}
    for owner in OWNERS:
        for binding in _with_id(owner.BINDINGS):
            found.setdefault(binding.id or "", binding.tooltip or binding.description)
    return found


def _with_id(bindings: Iterable[BindingType]) -> Iterable[Binding]:
    return (one for one in bindings if isinstance(one, Binding) and one.id)
