"""Which ink is yellow, magenta, cyan or black: the one place that decides it, by the ink's name."""

from __future__ import annotations

from typing import NamedTuple


class ProcessInk(NamedTuple):
    """One of the four inks of process printing.

    Attributes:
        name: In plain English, in small letters.
        symbol: As the trade writes it.
        angle: Its conventional screen angle in degrees (common practice, no source). Yellow shows
            least, so it takes the angle the eye sees best.
    """

    name: str
    symbol: str
    angle: float


# In the order in which they are usually laid.
PROCESS_INKS = (
    ProcessInk("yellow", "Y", 0.0),
    ProcessInk("magenta", "M", 75.0),
    ProcessInk("cyan", "C", 15.0),
    ProcessInk("black", "K", 45.0),
)


def process_ink(name: str) -> ProcessInk | None:
    """The process ink of this name, in any letter case; None for any other ink."""
    wanted = name.strip().casefold()
    return next((ink for ink in PROCESS_INKS if ink.name == wanted), None)
