"""A line of parts that leaves some out where room is short, through Textual's Pilot."""

from __future__ import annotations

import asyncio

import pytest
from textual.app import App, ComposeResult

from tuimatch.tui.widgets.lines import Parts

TAKEN = "no page set: g sets it; kept in the log; recipe sent to the terminal's clipboard"


class Host(App[None]):
    def compose(self) -> ComposeResult:
        yield Parts(TAKEN)


@pytest.mark.parametrize(
    ("width", "shown"),
    [
        (100, TAKEN),
        (58, "no page set: g sets it; kept in the log"),
        (34, "no page set: g sets it"),
        (12, "no page set…"),
    ],
)
def test_parts_are_left_out_from_the_last(width: int, shown: str) -> None:
    async def scene() -> None:
        async with Host().run_test(size=(width, 3)) as pilot:
            line = pilot.app.query_one(Parts).render_line(0).text
            assert line.rstrip() == shown

    asyncio.run(scene())
