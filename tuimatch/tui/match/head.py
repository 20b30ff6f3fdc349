"""The head of the match screen: the target, and which inks, project and page are in use."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from rich.cells import cell_len, set_cell_size

from tuimatch.palette.uncertainty import in_words
from tuimatch.text import printable
from tuimatch.tui.widgets.lines import shortened

if TYPE_CHECKING:
    from tuimatch.tui.match.state import MatchState

_LEAST_WHERE = 30  # cells: in fewer, the target stands alone
_LEAST = 7  # cells that a name keeps where room is short


def line(state: MatchState, width: int, key: Callable[[str], str]) -> str:
    """The head in a number of cells: where room is short, less is said of the inks.

    Args:
        state: What is asked, and for what.
        width: Cells there are.
        key: The key of a binding's id, to say where project and page are set.
    """
    wanted, project = printable(state.wanted), printable(state.keeper.project) or "no project"
    page = f"page {printable(state.page)}" if state.page else "no page"
    keys = f" ({key('match.project')})", f" ({key('match.page')})"
    target = state.match.question.target.text if state.match else wanted
    from_log = "from the log: " if state.palette is state.stored else ""
    name = f"{from_log}{printable(state.palette.name)}"
    where = f"{project}{keys[0]} · {page}{keys[1]}"
    for left, inks in (
        (wanted, f"{name}{in_words(state.palette)} · "),
        (wanted, f"{name} · "),
        (printable(target), f"{name} · "),
        (printable(target), ""),
    ):
        spare = width - sum(map(cell_len, (left, inks, where))) - 2
        if spare >= 0:
            return f"{left}  {' ' * spare}{inks}{where}"
    if width < _LEAST_WHERE:
        return shortened(left, width)
    project, spare = _shorter(project, spare)
    left, spare = _shorter(left, spare)
    return f"{left}  {' ' * spare}{project}{keys[0]} · {page}{keys[1]}"


def _shorter(text: str, spare: int) -> tuple[str, int]:
    """A text with as many cells cut off as are missing, and how many are missing then."""
    length = cell_len(text)
    least = max(min(length, _LEAST), length + spare)
    if least >= length:
        return text, spare
    return set_cell_size(text, least - 1) + "…", spare + length - least
