"""The head of the match screen: the target, and which inks, project and page are in use."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size

from tuimatch.palette.uncertainty import in_words
from tuimatch.text import printable

if TYPE_CHECKING:
    from tuimatch.tui.match.state import MatchState

_LEAST = 12  # cells that a name keeps where room is short


def line(state: MatchState, width: int, key: Callable[[str], str]) -> str:
    """The head in a number of cells: where room is short, the name of the inks is cut first.

    Args:
        state: What is asked, and for what.
        width: Cells there are.
        key: The key of a binding's id, to say where project and page are set.
    """
    wanted, project = printable(state.wanted), printable(state.keeper.project) or "no project"
    from_log = "from the log: " if state.palette is state.stored else ""
    inks = f"{from_log}{state.palette.name}{in_words(state.palette)}"
    page = f"page {printable(state.page)}" if state.page else "no page"
    keys = f" ({key('match.project')})", f" ({key('match.page')})"
    spare = width - sum(map(cell_len, (wanted, inks, project, page, *keys))) - 7  # the dots, a gap
    if spare < 0:
        inks, spare = _shorter(inks, spare)
        project, spare = _shorter(project, spare)
        wanted, spare = _shorter(wanted, spare)
    return f"{wanted} {' ' * spare}{inks} · {project}{keys[0]} · {page}{keys[1]}"


def _shorter(text: str, spare: int) -> tuple[str, int]:
    """A text with as many cells cut off as are missing, and how many are missing then."""
    length = cell_len(text)
    least = max(min(length, _LEAST), length + spare)
    if least >= length:
        return text, spare
    return set_cell_size(text, least - 1) + "…", spare + length - least
