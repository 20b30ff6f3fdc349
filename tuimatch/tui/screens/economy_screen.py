"""Economy on a screen: before and after area by area, the tolerance of each, and taking it."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from textwrap import wrap
from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual import getters, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.message import Message

from tuimatch.errors import LogError, TuimatchError
from tuimatch.log import Log
from tuimatch.text import printable
from tuimatch.tui.screens.explained import ExplainedScreen, help_key
from tuimatch.tui.widgets.block_list import NARROW
from tuimatch.tui.widgets.economy_list import (
    LEVELS,
    AreaList,
    Planned,
    Tolerances,
    level_in_words,
    stepped,
)
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines, whole
from tuimatch.tui.widgets.paint import RGB
from tuimatch.tui.widgets.seam import Seam

if TYPE_CHECKING:
    from tuimatch.planning.economy import Change
    from tuimatch.recipe.recipes import Recipes

STEP = 0.25

# Planning stops here with the best so far, the reading of the log and the mixing counted in: nobody
# waits longer for a key, nor for leaving.
_SECONDS = 5.0
_LONG = 1_000  # cells
# Seconds to wait for another program's write: the screen's thread must not stand still.
_PATIENCE = 0.04


class EconomyScreen(ExplainedScreen[bool]):
    """Answers whether the log was changed."""

    DEFAULT_CSS = """
    EconomyScreen {
        #economy-head { height: 3; }
        #economy-body { height: 1fr; }
        #economy-panel { height: 4; }
        #economy-facts { height: 1fr; margin-top: 1; }
        #economy-message { height: 1; color: $secondary; }
        Seam { display: none; height: 40%; }
        &.-wide, &.-broad {
            #economy-body { layout: horizontal; }
            #economy-panel { width: 32; height: 100%; background: $panel; margin-right: 1; }
            Seam { display: block; }
        }
        &.-broad #economy-panel { width: 64; }
    }
    """
    HORIZONTAL_BREAKPOINTS = [(0, "-slim"), (96, "-wide"), (140, "-broad")]  # noqa: RUF012 (Textual's way)
    # What fits at the foot of 36 cells is shown there.
    WORDS = (
        "pass",
        "tolerance",
        "ΔE",
        "recipe",
        "proved",
        "stopped early",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "plus,equals_sign",
            "tolerance(1)",
            "More",
            tooltip="More tolerance for every area: off, a little, some, a lot",
            id="economy.more",
        ),
        Binding(
            "enter", "take", "Take", tooltip="Take these recipes into the log", id="economy.take"
        ),
        Binding(
            "right",
            "tolerance_here(1)",
            "More here",
            tooltip="More tolerance for the area under the cursor",
            id="economy.more_here",
        ),
        Binding(
            "u",
            "undo",
            "Undo",
            tooltip="Undo what was taken here",
            id="economy.undo",
        ),
        Binding(
            "space",
            "keep",
            "Keep",
            tooltip="Keep the recipe of the area under the cursor, or let it change again",
            id="economy.tick",
        ),
        Binding(
            "minus",
            "tolerance(-1)",
            "Less",
            tooltip="Less tolerance for every area",
            id="economy.less",
        ),
        Binding(
            "left",
            "tolerance_here(-1)",
            "Less here",
            tooltip="Less tolerance for the area under the cursor",
            id="economy.less_here",
        ),
        Binding(
            "full_stop",
            "finer(1)",
            "A touch more",
            tooltip="Raise the tolerance of every area by ΔE 0.25",
            id="economy.finer_more",
            show=False,
        ),
        Binding(
            "comma",
            "finer(-1)",
            "A touch less",
            tooltip="Lower the tolerance of every area by ΔE 0.25",
            id="economy.finer_less",
            show=False,
        ),
        Binding(
            "0",
            "tolerance_usual",
            "Reset",
            tooltip="Set every tolerance back to ΔE 1; kept areas stay kept",
            id="economy.clear",
        ),
        help_key("economy"),
        Binding("escape", "leave", "Back", tooltip="Go back", id="economy.back"),
    ]

    class Answered(Message):
        """A plan is made, or it is known why not."""

        def __init__(self, stamp: int, planned: Planned | None, problem: str = "") -> None:
            super().__init__()
            self.stamp, self.planned, self.problem = stamp, planned, problem

    class Ahead(Message):
        """Nothing is saved at these tolerances; it is known at which step something would be.

        Attributes:
            level: The least step that saves something; None where no step does.
            saved: How many passes it saves.
        """

        def __init__(self, stamp: int, level: float | None, saved: int = 0) -> None:
            super().__init__()
            self.stamp, self.level, self.saved = stamp, level, saved

    areas = getters.query_one(AreaList)

    def __init__(
        self,
        log_path: Path,
        project: str,
        page: str | None = None,
        only: Collection[int] | None = None,
    ) -> None:
        """Plan a project, a page, or some of the areas.

        Args:
            log_path: The log that holds it.
            project: Its name.
            page: The page meant; None for all.
            only: The numbers of the choices meant; None for all.
        """
        super().__init__()
        self._path, self._project, self._page, self._only = log_path, project, page, only
        self._tolerances = Tolerances()
        self._shown: Planned | None = None
        self._tables: dict[str, Recipes] = {}
        self._stamp = 0  # of the newest question; the answers to older ones are dropped
        self._planning = False
        self._current: Planned | None = None  # the answer to the newest question
        self._taken = 0  # how many economies can be undone here
        self._written = False
        self._said = self._state = ""

    def compose(self) -> ComposeResult:
        """Head, areas, the one under the cursor in full, message, keys."""
        yield Lines(id="economy-head")
        with Container(id="economy-body"):
            yield AreaList()
            with Vertical(id="economy-panel"):
                yield Seam()
                yield Lines(id="economy-facts")
        yield Lines(id="economy-message")
        yield Foot()

    def on_mount(self) -> None:
        """Plan with the usual tolerance."""
        self.areas.focus()
        self.watch(self.areas, "cursor", self._show_facts, init=False)
        self._plan_anew()

    def needs(self, work: str, deed: str) -> bool:
        """A key that asks for another plan, or leaves, need not wait for this one."""
        return work != "ahead" and deed not in (
            "tolerance",
            "finer",
            "tolerance_usual",
            "help",
            "leave",
        )

    # Planning.

    def _plan_anew(self) -> None:
        """Ask for a plan; one is made at a time, and only the newest question is kept."""
        self._stamp += 1
        self._current = None
        self._show_head("planning …")
        if not self._planning:
            self._planning = True
            self._plan(self._stamp, self._tolerances)

    @work(thread=True)
    def _plan(self, stamp: int, tolerances: Tolerances) -> None:
        try:
            stop = monotonic() + _SECONDS
            answer = self.Answered(stamp, self._planned_for(tolerances, stop))
        except TuimatchError as error:
            answer = self.Answered(stamp, None, str(error))
        self.post_message(answer)

    @work(thread=True, group="ahead")
    def _look_ahead(self, stamp: int, tolerances: Tolerances) -> None:
        """Find the next step that saves something."""
        stop = monotonic() + _SECONDS
        for level in LEVELS:
            if level <= tolerances.usual:
                continue
            if stamp != self._stamp or monotonic() > stop:
                return
            try:
                planned = self._planned_for(tolerances.with_usual(level), stop)
            except TuimatchError:
                return  # it is said when it is asked for
            if planned.economy.saved:
                self.post_message(self.Ahead(stamp, level, planned.economy.saved))
                return
            if not planned.economy.optimal:
                return
        self.post_message(self.Ahead(stamp, None))

    @on(Ahead)
    def _looked_ahead(self, message: Ahead) -> None:
        if message.stamp != self._stamp:
            return
        room = self.query_one("#economy-head", Lines).size.width
        if message.level is None:
            self._show_head(
                whole(room, "no step saves a pass, not even a lot", "no step saves any")
            )
            return
        name, passes = LEVELS[message.level], "pass" if message.saved == 1 else "passes"
        saves = f"saves {message.saved} {passes}"
        self._show_head(
            whole(
                room,
                f"“{name}”, ΔE +{message.level:.2f} an area, {saves}: press + until it is set",
                f"“{name}” {saves}: press +",
                f"“{name}” {saves}",
            )
        )

    def _planned_for(self, tolerances: Tolerances, stop: float) -> Planned:
        from tuimatch.planning import economy_of_log

        with Log(self._path) as log:
            gathered = economy_of_log.gather(log, self._project, self._page, self._only)
        keys = {area.key for area in gathered.areas}
        found = economy_of_log.plan(
            gathered,
            self._tables,
            allowance=tolerances.usual,
            allowances={key: own for key, own in tolerances.single.items() if key in keys},
            keep=tolerances.kept & keys,
            seconds=stop - monotonic(),
        )
        changes = tuple(sorted(found.changes, key=lambda change: not change.changed))
        return Planned(gathered, found, tolerances, changes, tuple(map(self._seam, changes)))

    def _seam(self, change: Change) -> tuple[RGB, RGB]:
        recipes = self._tables[change.area.palette.digest]
        rows = map(recipes.row_of, (change.area.tints, change.tints))
        before, after = (recipes.rgb_of(row) for row in rows if row is not None)
        return before, after

    @on(Answered)
    def _answered(self, message: Answered) -> None:
        self._planning = False
        if message.stamp != self._stamp:
            self._plan_anew()
            return
        planned = message.planned
        if planned is None:
            self._show_head("no plan")
            self._say(message.problem)
            return
        self._current = self._shown = planned
        if not self._said:
            self._say("")
        self.areas.show(planned)
        self._show_head(planned.economy.certainty())
        self._show_facts()
        if not planned.economy.saved and planned.work.areas:
            self._look_ahead(self._stamp, planned.tolerances)

    # Keys.

    def action_tolerance(self, way: int) -> None:
        """Raise or lower the tolerance of every area."""
        self._allow(self._tolerances.with_usual(stepped(self._tolerances.usual, way)))

    def action_finer(self, way: int) -> None:
        """Raise or lower the tolerance of every area by a quarter of ΔE 1."""
        now = self._tolerances
        self._allow(now.with_usual(now.usual + way * STEP))

    def action_tolerance_here(self, way: int) -> None:
        """Raise or lower the tolerance of the area under the cursor."""
        if self.areas.change is not None:
            key = self.areas.change.area.key
            self._allow(self._tolerances.with_single(key, stepped(self._tolerances.of(key), way)))

    def action_tolerance_usual(self) -> None:
        """Set every tolerance back to what it was at first."""
        self._allow(self._tolerances.reset())

    def action_keep(self) -> None:
        """Keep the recipe of the area under the cursor, or let it change again."""
        if self.areas.change is not None:
            self._allow(self._tolerances.with_kept(self.areas.change.area.key))

    def _allow(self, tolerances: Tolerances) -> None:
        if tolerances != self._tolerances:
            self._tolerances = tolerances
            self._say("")
            self._show_facts()
            self._plan_anew()

    def action_take(self) -> None:
        """Put the recipes into the log."""
        planned = self._current
        if planned is None:
            if self._planning:
                self._say("still planning: take it when it is done")
            return
        from tuimatch.planning import economy_of_log

        try:
            with Log(self._path, patience=_PATIENCE) as log:
                count = economy_of_log.take(log, planned.work, planned.economy, self._tables)
        except TuimatchError as error:
            self._say(str(error))
            self._plan_anew()
            return
        if not count:
            self._say("nothing to take: every area keeps its recipe")
            return
        self._taken, self._written = self._taken + 1, True
        replaced = "1 recipe" if count == 1 else f"{count} recipes"
        self._say(f"taken: {replaced} replaced; u undoes it")
        self._plan_anew()

    def action_undo(self) -> None:
        """Undo what was taken here."""
        if not self._taken:
            self._say("nothing was taken here")
            return
        try:
            with Log(self._path, patience=_PATIENCE) as log:
                undone = log.undo(self._project)
        except LogError as error:
            self._say(str(error))
            return
        self._taken -= 1
        self._say(undone or "nothing to undo")
        self._plan_anew()

    def action_leave(self) -> None:
        """Close, saying whether the log was changed."""
        self.dismiss(self._written)

    # Showing.

    def _show_head(self, state: str) -> None:
        narrow = self.size.width < NARROW
        said = f"+{self._tolerances.usual:.2f} · " if narrow else ""
        said = said or f"{level_in_words(self._tolerances.usual)} · "
        where = "all pages" if narrow else self._project
        if self._page is not None:
            page = f"page {self._page or '–'}"
            where = page if narrow else f"{where}, {page}"
        saved = ""
        if self._shown is not None:
            count = len(self._shown.work.areas)
            areas = f"{count} {'area' if count == 1 else 'areas'}"
            said += f"{areas if self._only is None else f'{count} ticked'} · "
            economy = self._shown.economy
            saved = economy.in_short() if narrow else economy.in_words()
        self._state = state
        self.query_one("#economy-head", Lines).show(f"{printable(said + where)}\n{saved}\n{state}")

    def on_resize(self) -> None:
        """Say it in as many words as there is room for."""
        self._show_head(self._state)
        self.call_after_refresh(self._show_facts)

    def _show_facts(self) -> None:
        change, said = self.areas.change, ["no areas here"]
        if change is not None and self._shown is not None:
            wordings = change.area.palette.recipe_wordings
            own = level_in_words(self._tolerances.of(change.area.key))
            if self._tolerances.kept & {change.area.key}:
                own = "kept"
            if change.area.key in self._shown.work.laid:
                own = "laid already"
            is_roomy = self.query_one(Seam).display  # there it goes on in another line
            room = _LONG if is_roomy else self.size.width - 2
            name = self._shown.name(change)
            said = [whole(room, f"{name} · {own}", f"{name} · {own.split(', ')[0]}", name)]
            for when, delta_e, tints in (
                ("before", change.delta_e_before, change.area.tints),
                ("after", change.delta_e_after, change.tints),
            ):
                recipes = [printable(words) for words in wordings(tints)]
                ways = [f"{when:6}  ΔE {delta_e:.2f}  {recipe}" for recipe in recipes]
                said.append(whole(room, *ways, f"{when:6} {delta_e:.2f} {recipes[-1]}"))
            if is_roomy:
                said = [*said, "", *self._instead(self._shown)]
        facts = self.query_one("#economy-facts", Lines)
        if self.query_one(Seam).display:
            seam = self.areas.seam_here
            self.query_one(Seam).show(*seam)
            # A figure is not parted from its percent sign.
            kept = (text.replace(" %", "\N{NO-BREAK SPACE}%") for text in said)
            lines = (line for text in kept for line in wrap(text, facts.size.width) or [""])
            said = [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]
        facts.show("\n".join(said))

    def _instead(self, planned: Planned) -> list[str]:
        """Which tints the whole plan no longer needs, and which are new."""
        gone, new = map(list, planned.instead)
        said = []
        for what, words in (("no longer laid:", gone), ("laid instead:", new)):
            if words:
                said += [what, *(f"  {printable(one)}" for one in words)]
        return said

    def _say(self, text: str) -> None:
        """Say something; with nothing to say, which areas are left as they are."""
        self._said = text
        remark = self._shown.work.remark if self._shown else ""
        self.query_one("#economy-message", Lines).show(printable(text or remark))
