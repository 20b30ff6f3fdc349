"""Every key that can be remapped, by its id; it loads every screen, so only where it is needed."""

from __future__ import annotations

from collections.abc import Iterable

from textual.binding import Binding, BindingType

from tuimatch.tui.apart_screen import ApartScreen
from tuimatch.tui.block_list import BlockList
from tuimatch.tui.economy_screen import EconomyScreen
from tuimatch.tui.help_screen import HelpScreen
from tuimatch.tui.laying_screen import LayingScreen
from tuimatch.tui.make_screen import MakeScreen
from tuimatch.tui.match_screen import MatchScreen
from tuimatch.tui.palette_screen import PaletteScreen
from tuimatch.tui.passes_screen import PassesScreen
from tuimatch.tui.pick_screen import PickScreen
from tuimatch.tui.picture_view import PictureView
from tuimatch.tui.project_screen import ProjectScreen
from tuimatch.tui.prompt import Prompt
from tuimatch.tui.reach_map import ReachMap
from tuimatch.tui.reach_screen import ReachScreen
from tuimatch.tui.review_screen import ReviewScreen
from tuimatch.tui.wheel_screen import WheelScreen

OWNERS = (
    MatchScreen,
    Prompt,
    ReachScreen,
    ReachMap,
    ReviewScreen,
    ProjectScreen,
    LayingScreen,
    PassesScreen,
    EconomyScreen,
    WheelScreen,
    PaletteScreen,
    PickScreen,
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
