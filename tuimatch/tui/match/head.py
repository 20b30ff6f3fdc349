"""The head of the match and of its chart: the target, and the inks, project and page in use."""

from __future__ import annotations

from collections.abc import Callable, Sequence
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
    """The head of the match in a number of cells: where room is short, less is said of the inks.

    Args:
        state: What is asked, and for what.
        width: Cells there are.
        key: The key of a binding's id, to say where project and page are set.
    """
    wanted, name = printable(state.wanted), _inks(state)
    target = printable(state.match.question.target.text) if state.match else wanted
    ways = (
        (wanted, f"{name}{in_words(state.palette)}"),
        (wanted, name),
        (target, name),
        (target, ""),
    )
    return _with_where(ways, state, width, key)


def chart_line(state: MatchState, count: str, width: int, key: Callable[[str], str]) -> str:
    """The head of the chart in a number of cells; see `line`.

    Args:
        state: What is asked, and for what.
        count: How many recipes are on the chart, in words.
        width: Cells there are.
        key: The key of a binding's id.
    """
    name = _inks(state)
    most = f"{name}{in_words(state.palette)}"
    return _with_where([(most, count), (name, count), (name, ""), ("", "")], state, width, key)


def _inks(state: MatchState) -> str:
    from_log = "from the log: " if state.palette is state.stored else ""
    return f"{from_log}{printable(state.palette.name)}"


def _with_where(
    ways: Sequence[tuple[str, str]], state: MatchState, width: int, key: Callable[[str], str]
) -> str:
    """The first way that has room, project and page to the right, each with the key that sets it.

    Args:
        ways: What stands to the left, and what stands before the project, from most to least.
        state: What is asked, and for what.
        width: Cells there are.
        key: The key of a binding's id.
    """
    project = printable(state.keeper.project) or "no project"
    page = f"page {printable(state.page)}" if state.page else "no page"
    keys = f" ({key('match.project')})", f" ({key('match.page')})"
    where = f"{project}{keys[0]} · {page}{keys[1]}"
    left, spare = "", 0
    for left, beside in ways:
        right = f"{beside} · {where}" if beside else where
        spare = width - cell_len(left) - cell_len(right) - 2
        if spare >= 0:
            return f"{left}  {' ' * spare}{right}"
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
