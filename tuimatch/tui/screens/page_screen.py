"""A page as it will come out: all its flats matched together, looked at, named and taken."""

from __future__ import annotations

import textwrap
from functools import partial
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events, getters, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.message import Message

from tuimatch.errors import TargetError, TuimatchError
from tuimatch.files.in_file import typed_path
from tuimatch.text import printable
from tuimatch.tui.screens.explained import ExplainedScreen, help_key, own_binding
from tuimatch.tui.screens.page_state import Opened, PageState, opened
from tuimatch.tui.widgets.flat_lists import FlatList
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines, Parts
from tuimatch.tui.widgets.page_view import PageView
from tuimatch.tui.widgets.prompt import Prompt
from tuimatch.tui.widgets.seam import Seam

if TYPE_CHECKING:
    from collections.abc import Callable

    from textual.screen import Screen

    from tuimatch.log import Choice
    from tuimatch.planning.page_match import State
    from tuimatch.recipe.recipes import Recipes
    from tuimatch.tui.match.pending_choices import Keeper
    from tuimatch.tui.screens.page_dots import Dots

# The least room for what stands beside the page, and lines of its facts.
_PANEL, _FACTS = 30, 6
# Rows from which the head says how the whole page comes out; columns beside the page for two lists.
_ROOMY, _TWO_LISTS = 20, 58
_REMARKS = 90  # from so many on the list of all flats has room to say why one is far off
_STEP = 0.05

_key = partial(own_binding, "page")


class PageScreen(ExplainedScreen[int | None]):
    """Answers the place of the flat that is to be opened in the match."""

    DEFAULT_CSS = """
    PageScreen {
        #page-head { height: 3; }
        #page-body { height: 1fr; }
        #page-panel { width: 1fr; padding-left: 1; }
        #page-facts { height: 4; padding: 0; }
        #page-message { height: 1; color: $secondary; }
        #page-lists { height: 1fr; }
        #page-flats { margin-right: 1; }
        Seam { height: 1fr; max-height: 9; min-height: 2; }
    }
    """
    WORDS = (
        "flat",
        "line art",
        "ΔE",
        "given",
        "within reach",
        "between your tints",
        "beyond these inks",
        "locked",
        "recipe",
        "proved",
        "stopped early",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        _key("enter", "match", "Match", "Choose its recipe in the match", "match", show=True),
        _key("K", "take", "Keep", "Keep all recipes under a page number", "take", show=True),
        _key("b", "lay", "Lay", "Lay this flat, ink by ink", "lay", show=True),
        _key("l", "label", "Name", "Name the flats, one after another", "label", show=True),
        Binding(
            "space",
            "lock",
            "Lock",
            id="page.tick",
            tooltip="Keep this recipe, whatever happens to the others",
        ),
        _key(
            "x", "keep_out", "Line art", "Take this colour for line art, or off a list", "keep_out"
        ),
        _key("B", "bring_back", "No line art", "Bring back what was left out last", "bring_back"),
        _key("s", "order", "Order", "In reading order, the largest or the worst first", "order"),
        _key("escape", "leave", "Back", "Stop the search, or back to the match", "back", show=True),
        _key("u", "undo", "Undo", "Undo the last change of the log", "undo"),
        _key("n", "passes", "Passes", "Plan the passes of this page", "passes", show=True),
        _key("e", "economy", "Economy", "Fewer passes for this page", "economy", show=True),
        _key("down,j", "move(1)", "Next", "The next flat", "next", show=True),
        _key("up,k", "move(-1)", "Back", "The flat before", "previous"),
        _key("d", "look", "Look", "As printed, split, or as given", "look", show=True),
        _key("right", "split(1)", "Split on", "Move the line of the split", "split_on"),
        _key("left", "split(-1)", "Split back", "Move it back", "split_back"),
        _key("D", "draw", "Draw", "Draw its layers, plates and proof into files", "draw"),
        help_key("page"),
    ]

    AUTO_FOCUS = ""  # no widget: every key is the screen's until something is asked

    view = getters.query_one(PageView)
    prompt = getters.query_one(Prompt)

    class Done(Message):
        """The page is read and matched, or refused."""

        def __init__(self, stamp: int, shown: Opened | None, refusal: str) -> None:
            super().__init__()
            self.stamp, self.shown, self.refusal = stamp, shown, refusal

    def __init__(self, state: PageState, recipes: Callable[[], Recipes], keeper: Keeper) -> None:
        """Show a page.

        Args:
            state: The page.
            recipes: Gives the recipes to match it on; called in a thread.
            keeper: Has the log and the project that recipes are taken into.
        """
        super().__init__()
        self.state = state
        self._recipes, self._keeper = recipes, keeper
        self._dots: Dots | None = None
        self._dots_of: tuple[object, ...] = ()
        self._stamp = 0
        self._working = self._stopped = False
        self._begun = 0.0
        self._asking = ""
        self._columns = 0  # of the page
        self._then = ""  # what to say when the page is matched
        self._is_new = state.shown is None
        self._then_take: str | None = None  # the page number to keep it under then

    def compose(self) -> ComposeResult:
        """Head, the page beside what is known of a flat, a message, keys or a question."""
        yield Lines(id="page-head")
        with Horizontal(id="page-body"):
            yield PageView()
            with Vertical(id="page-panel"):
                yield Seam()
                yield Lines(id="page-facts")
                with Horizontal(id="page-lists"):
                    yield FlatList(id="page-flats")
                    yield FlatList(id="page-beside")
        yield Parts(id="page-message")
        yield Prompt()
        yield Foot()

    def on_mount(self) -> None:
        """Show what is known, and match what has been asked since."""
        shown = self.state.shown
        if shown is None or shown.asked is not self.state.asked:
            self._begin()
        self.set_interval(1, self._say_how_long)

    def _say_how_long(self) -> None:
        if self._working and not self._stopped:
            self._say(f"{_MATCHING}, {monotonic() - self._begun:.0f} s")

    def needs(self, work: str, deed: str) -> bool:
        """Keys wait for the page, but for the one that stops the search."""
        return work == "page" and deed != "leave"

    def on_resize(self) -> None:
        """Give the page the room it fills, and the rest to what stands beside it."""
        self.call_after_refresh(self.show)

    # Reading and matching.

    def _begin(self) -> None:
        self._stamp += 1
        self._working, self._stopped = True, False
        self._begun = monotonic()
        self._say(_MATCHING)
        self._work(self._stamp)

    @work(thread=True, exclusive=True, group="page")
    def _work(self, stamp: int) -> None:
        asked, known = self.state.asked, self.state.known
        try:
            shown = opened(asked, self._recipes(), self._go_on, known)
            self.post_message(self.Done(stamp, shown, ""))
        except TuimatchError as error:
            self.post_message(self.Done(stamp, None, str(error)))

    def _go_on(self, _: State) -> bool:
        return not self._stopped

    @on(Done)
    def _done(self, message: Done) -> None:
        if message.stamp != self._stamp:
            return
        self._working = False
        if message.shown is None:
            self._say(message.refusal)
            if self.state.shown is not None:
                self.state.asked = self.state.shown.asked  # as it was before
        else:
            found = message.shown.flats
            notes = "; ".join(found.notes) if found else ""
            first, self._then = self._then or notes, ""
            self.state.show(message.shown)
            self._say(first)
            if self._is_new:
                self._is_new = False
                if self._as_kept():
                    return
            self._ask_line_art()
            if self._then_take is not None:
                self._take(self._then_take)
        self._then_take = None
        self.refresh_bindings()  # now there is something for them to do
        self.show()

    # Showing.

    def show(self) -> None:
        """Bring every widget to what the state is now."""
        state, shown = self.state, self.state.shown
        if shown is None or not self.size.height:
            return
        page = shown.page
        head = self.query_one("#page-head", Lines)
        head.styles.height = 3 if self.size.height >= _ROOMY else 2
        head.show(state.head(head.size.width))
        self._show_page(shown)
        colour = state.colour
        seam = self.query_one(Seam)
        given, meant = colour.given.srgb, colour.meant.srgb
        seam.given = None if given == meant else given
        seam.show(meant, page.recipes.rgb_of(state.row))
        # What is beside the page as it is now: its widget has its new width only after this.
        width = max(10, self.size.width - self._columns - 2)
        facts = [part for fact in state.facts() for part in _wrapped(printable(fact), width - 1)]
        lines = self.query_one("#page-facts", Lines)
        lines.show("\n".join(facts[:_FACTS]))
        lines.styles.height = min(max(len(facts), 3), _FACTS) + 1
        # All flats stand in a list where there is room, and those beside this one in another.
        flats, beside = (self.query_one(f"#page-{name}", FlatList) for name in ("flats", "beside"))
        flats.display = width >= _TWO_LISTS
        flats.styles.width = "3fr" if width >= _REMARKS else "2fr"
        beside.styles.width = "2fr"
        flats.show(f"{'ΔE':>10} {state.order_in_words}", state.flat_lines(), state.at)
        beside.show(f"{'ΔE':>10}{'given':>6} beside it", state.beside_lines())

    def _show_page(self, shown: Opened) -> None:
        height = max(1, self.query_one("#page-body").size.height)
        columns = max(1, self.size.width - min(_PANEL, self.size.width // 2))
        if shown.flats is not None:  # a picture is no broader than it is
            page = shown.flats.page
            columns = min(columns, -(-2 * height * page.width // page.height))
        self.view.styles.width = self._columns = columns
        key = (shown, columns, height)
        if self._dots is None or self._dots_of != key:
            self._dots, self._dots_of = self.state.dots(columns, 2 * height), key
        self.view.show(self._dots, self.state.place, self.state.look, self.state.split)

    def _say(self, text: str) -> None:
        self.query_one("#page-message", Lines).show(printable(text))

    # Keys.

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Without a page there is only help and the way back."""
        return self.state.shown is not None or action in ("help", "leave", "quit")

    def action_move(self, by: int) -> None:
        """Move to another flat."""
        self.state.move(by)
        self.show()

    @on(PageView.Pointed)
    def _pointed(self, message: PageView.Pointed) -> None:
        if self._asking:  # the answer is for the flat the cursor is on
            return
        if self.state.shown is not None and message.place < len(self.state.shown.page.colours):
            if message.place == self.state.place:
                self.action_match()
            self.state.place = message.place
            self.show()

    def action_look(self) -> None:
        """Show the page as printed, split, or as given."""
        self.state.next_look()
        self._say({"printed": "as printed", "given": "as given"}.get(self.state.look, _SPLIT))
        self.show()

    def action_split(self, way: int) -> None:
        """Move the line of the split."""
        self.state.move_split(way * _STEP)
        self._say(_SPLIT)
        self.show()

    def action_order(self) -> None:
        """Change the order in which the cursor goes through the flats."""
        self.state.turn_order()
        self._say(self.state.order_in_words)
        self.show()

    def action_lock(self) -> None:
        """Lock or free the recipe."""
        self.state.turn_lock()
        self._begin()

    def action_keep_out(self) -> None:
        """Leave the colour under the cursor out, as line art."""
        self.state.keep_out()
        self._begin()

    def action_bring_back(self) -> None:
        """Make what was kept out last a flat again."""
        if self.state.bring_back():
            self._begin()
        else:
            self._say("no line art is kept out" if self.state.is_picture else "nothing is left out")

    def action_match(self) -> None:
        """Choose this flat's recipe in the match."""
        self.dismiss(self.state.place)

    def stays(self) -> bool:
        """Names and locks that are not kept are lost by quitting, which is said once."""
        if not self.state.warns():
            return False
        self._say("names or locked recipes are not kept: K keeps them, q again quits")
        return True

    def action_leave(self) -> None:
        """Stop the search, or go back."""
        if self._working:
            self._stopped = True
            self._say("stopping")
        else:
            self.dismiss(None)

    # Questions.

    def action_label(self) -> None:
        """Name the flats one after another."""
        self._ask("label", "a name, or a file of names; Enter goes on, Esc ends", self._label)

    def _ask_line_art(self) -> None:
        """Ask once whether a colour that looks like line art is, with the cursor on it."""
        if (colour := self.state.line_art_to_ask()) is not None:
            self._say(f"{colour} looks like line art: dark, thin, between most flats")
            self._ask("line art", "Enter: it is, so it stays out; Esc: it is a flat", "")

    @property
    def _label(self) -> str:
        return self.state.colour.label

    def action_take(self) -> None:
        """Take all recipes, under a page number."""
        self._ask("take", "page number for the log (empty: none)", self.state.number)

    def _ask(self, what: str, question: str, answer: str) -> None:
        self._asking = what
        self.add_class("-asking")
        self.prompt.ask(question, answer)

    def _close(self) -> None:
        self._asking = ""
        self.remove_class("-asking")
        self.prompt.close()
        self.set_focus(None)

    @on(Prompt.Left)
    def _left(self) -> None:
        self._close()

    def on_paste(self, event: events.Paste) -> None:
        """A list of colours with labels names the flats of these colours; one colour is found."""
        event.stop()
        if self.state.shown is not None:
            self._take_in(event.text)

    def _take_in(self, text: str) -> None:
        """Name flats by a list, or by the file of one; or go to the flat of a colour."""
        from tuimatch.match import typed_colours

        file = None if typed_colours.is_list(text) else typed_path(text)
        try:
            if file is not None and typed_colours.is_list_file(file):
                named = typed_colours.read_file(file)
            else:
                named = typed_colours.read(text)
        except TargetError as error:
            self._say(f"the list: {error.problem}" if typed_colours.is_list(text) else str(error))
            return
        if len(named) == 1 and self.state.point_at(named[0].target) and not named[0].label:
            self._say("")
        else:
            self._say(self.state.label_all(named))
        self.show()

    @on(Prompt.Pasted)
    def _pasted(self, message: Prompt.Pasted) -> None:
        from tuimatch.match import typed_colours

        if self._asking == "label" and typed_colours.is_list(message.text):
            self._close()
            self._take_in(message.text)
        else:
            self.prompt.replace(printable(message.text.strip()), *self.prompt.selection)

    @on(Prompt.Submitted)
    def _submitted(self, message: Prompt.Submitted) -> None:
        from tuimatch.match import typed_colours

        asking, text = self._asking, " ".join(message.value.split())
        if asking == "take":
            self._close()
            self._take(text)
        elif asking == "line art":
            self._close()
            self._say("")
            self.action_keep_out()
        elif asking == "label" and typed_colours.is_list_file(typed_path(text)):
            self._close()
            self._take_in(text)
        elif asking == "label":
            self.state.label(text)
            self.state.move(1)
            self.show()
            self.action_label()

    # The log.

    def _take(self, number: str) -> None:
        from tuimatch.log import Log
        from tuimatch.planning import page as pages

        assert self.state.shown is not None
        page, match = self.state.shown.page, self.state.shown.match
        try:
            made = pages.choices(page, match.rows, self._keeper.project, number)
            on = f" of page {number}" if number else ""
            what = f"took {len(made)} recipes{on}"
            with Log(self._keeper.path) as log:
                laid = pages.laid(log, page, self._keeper.project, number)
                others = {place: row for place, row in laid.items() if match.rows[place] != row}
                if others:  # what is laid keeps its recipe, and the rest makes room
                    for place, row in others.items():
                        self.state.lock(place, row)
                    self._then_take = number
                    self._begin()
                    return
                done = pages.take(log, page.recipes.palette, made, what)
        except TuimatchError as error:
            self._say(f"not taken: {error}")
            return
        self.state.number = number
        self.state.kept()
        names = [page.colours[place].name for place in laid]
        stays = f"; laid already, so kept: {', '.join(names)}" * bool(names)
        said = f"{what}{done.instead}" if done.new else "the log has just these already"
        self._say(f"{said}{stays}{'; u undoes it' * bool(done.new)}")

    def action_undo(self) -> None:
        """Undo the last change of the project."""
        from tuimatch.log import Log

        before = self._kept_rows()
        try:
            with Log(self._keeper.path) as log:
                self._say(log.undo(self._keeper.project) or "nothing to undo")
        except TuimatchError as error:
            self._say(str(error))
        self._follow(before)

    def action_lay(self) -> None:
        """Lay the flat under the cursor, as the log has it."""
        assert self.state.shown is not None
        choice, recipes = self._kept()[self.state.place], self.state.shown.page.recipes
        if choice is None:
            self._say(_FIRST_KEEP)
        elif self._kept_rows().get(self.state.place) != self.state.row:
            self._say("the log has another recipe for it; K keeps the page as it is shown")
        elif not any(recipes.tints_of(self.state.row)):
            self._say("bare paper: there is nothing to lay; the arrows go to another flat")
        else:
            from tuimatch.tui.match.being_laid import BeingLaid
            from tuimatch.tui.screens.laying_screen import LayingScreen

            before = self._kept_rows()
            find = partial(self._keeper.still, choice)
            laid = BeingLaid(self._keeper, recipes, self.state.row, find)
            self.app.push_screen(LayingScreen(choice.name, laid), lambda _: self._follow(before))

    def action_passes(self) -> None:
        """Plan the passes of this page."""
        from tuimatch.tui.screens.passes_screen import PassesScreen

        self._plan(PassesScreen)

    def action_economy(self) -> None:
        """Save passes on this page."""
        from tuimatch.tui.screens.economy_screen import EconomyScreen

        self._plan(EconomyScreen)

    def action_draw(self) -> None:
        """Draw its layers, plates and proof."""
        from tuimatch.tui.screens.draw_screen import DrawScreen

        assert self.state.shown is not None
        if self.state.shown.flats is None:
            self._say("a list of colours has no picture that could be drawn; F opens one")
        else:
            self.app.push_screen(DrawScreen(self.state.shown, self.state.number))

    def _plan(self, screen: Callable[[Path, str, str], Screen[Any]]) -> None:
        before = self._kept_rows()
        if not any(self._kept()):
            self._say(_FIRST_KEEP)
            return
        self.app.push_screen(
            screen(self._keeper.path, self._keeper.project, self.state.number),
            lambda _: self._follow(before),
        )

    def _kept(self) -> list[Choice | None]:
        """What the log has now for each flat on this page."""
        from tuimatch.planning import page as pages

        assert self.state.shown is not None
        self._keeper.switch(self._keeper.project)
        return pages.kept(self.state.shown.page, self._keeper.choices, self.state.number)

    def _kept_rows(self) -> dict[int, int]:
        """The rows of their recipes, where the palette has them, by the flats' places."""
        from tuimatch.match.answer import row_of

        assert self.state.shown is not None
        recipes = self.state.shown.page.recipes
        rows = {i: row_of(recipes, one) for i, one in enumerate(self._kept()) if one is not None}
        return {place: row for place, row in rows.items() if row is not None}

    def _as_kept(self) -> bool:
        """Show the page as the log has it, if it does; whether it does."""
        from tuimatch.planning import page as pages

        assert self.state.shown is not None
        self._keeper.switch(self._keeper.project)
        number = pages.number_held(self.state.shown.page, self._keeper.choices)
        if number is None:
            return False
        self.state.number = number
        kept = self._kept_rows()
        for place, row in kept.items():
            self.state.lock(place, row)
        self.state.kept()
        if kept:
            page = f"page {number}" if number else "this page"
            self._then = f"{page} as the log has it; where it is locked, Enter chooses another"
            self._begin()
        return bool(kept)

    def _follow(self, before: dict[int, int]) -> None:
        """Show what the log has now where it was changed, by the economy for example."""
        now = self._kept_rows()
        changed = sum(before.get(place, row) != row for place, row in now.items())
        if changed:
            for place, row in now.items():
                self.state.lock(place, row)
            flats = "1 flat has" if changed == 1 else f"{changed} flats have"
            self._then = f"{flats} another recipe in the log; the page is locked to what it has"
            self._begin()


_MATCHING = "matching the page; Esc stops with the best found so far"
_FIRST_KEEP = "first keep the page in the log: K"
_SPLIT = "left as given, right as printed; the arrows move the line"


def _wrapped(fact: str, width: int) -> list[str]:
    """A fact in lines; a tint stays beside its percent sign."""
    lines = textwrap.wrap(fact.replace(" %", "\N{NO-BREAK SPACE}%"), width)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]
