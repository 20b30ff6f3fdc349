"""The match screen: it shows a state, calls its methods, and opens every other screen."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import getters, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.message import Message

from tuimatch.errors import PictureError, TargetError
from tuimatch.files.in_file import typed_path
from tuimatch.palette import file as palette_file
from tuimatch.tui import clipboard
from tuimatch.tui.match.clipboard_watch import ClipboardWatch
from tuimatch.tui.match.keys import MATCH_KEYS
from tuimatch.tui.match.state import NOTHING_LEFT, MatchState
from tuimatch.tui.screens import explained
from tuimatch.tui.screens.asking import AskingScreen
from tuimatch.tui.widgets.build_up_strip import BuildUpStrip
from tuimatch.tui.widgets.choices_strip import ChoicesStrip
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines, Parts, Remark
from tuimatch.tui.widgets.prompt import Prompt
from tuimatch.tui.widgets.ranked_list import RankedList
from tuimatch.tui.widgets.seam import Seam

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    # colour-science and numpy come in a thread after the first paint.
    from tuimatch.colour.target import Target
    from tuimatch.log import Choice
    from tuimatch.match.answer import Match
    from tuimatch.match.typed_colours import Named
    from tuimatch.palette.model import Palette
    from tuimatch.picture.picture import Picture
    from tuimatch.recipe.dots import Press
    from tuimatch.recipe.recipes import Recipes
    from tuimatch.tui.match.pending_choices import Keeper
    from tuimatch.tui.screens.page_state import Listed, PageState
    from tuimatch.tui.screens.reach_screen import ReachScreen

_RETRY_SECONDS = 2.0


class MatchScreen(AskingScreen[None]):
    """Stays open beside the drawing.

    Attributes:
        state: All that is asked, seen, said and taken.
    """

    WORDS = (
        "ΔE",
        "recipe",
        "rank",
        "in words",
        "within reach",
        "between your tints",
        "beyond these inks",
        "coverage",
        "vividness",
        "hue",
        "put first",
        "as given",
        "white fitted",
        "fitted to this paper",
        "prints within",
        "overprints estimated",
        "on screen, in print",
        "black letters, white",
        "beyond the screen",
        "#rrggbb",
        "lab(L a b)",
        "lines an inch",
        "dots merge",
        "alike",
    )
    BINDINGS: ClassVar[list[BindingType]] = MATCH_KEYS
    HORIZONTAL_BREAKPOINTS = [  # noqa: RUF012 (Textual declares it so)
        (0, "-tiny"),
        (24, "-slim"),
        (60, "-narrow"),
        (96, "-wide"),
        (140, "-broad"),
    ]
    VERTICAL_BREAKPOINTS = [(0, "-flat"), (10, "-low"), (24, "-tall")]  # noqa: RUF012

    class Mixed(Message):
        """A palette's recipes have their colours, and the colour to start with is read."""

        def __init__(self, recipes: Recipes, press: Press, target: Target | None) -> None:
            super().__init__()
            self.recipes, self.press, self.target = recipes, press, target

    class Judged(Message):
        """How far the target is reached."""

        def __init__(self, match: Match) -> None:
            super().__init__()
            self.match = match

    class Copied(Message):
        """What is known about a copy."""

        def __init__(self, where: str) -> None:
            super().__init__()
            self.where = where

    seam = getters.query_one(Seam)
    build_up = getters.query_one(BuildUpStrip)
    candidates = getters.query_one(RankedList)
    choices = getters.query_one(ChoicesStrip)
    watch_clipboard = getters.query_one(ClipboardWatch)

    def __init__(
        self,
        palette: Palette,
        colour: str | None,
        keeper: Keeper,
        *,
        palette_given: bool,
        own_keys: Mapping[str, str],
    ) -> None:
        super().__init__(
            MatchState(
                palette,
                keeper,
                colour=colour,
                copy=self._copy,
                open_file=self._open_named,
                open_list=lambda named: self._open_colours("pasted colours", named),
            )
        )
        self._palette_given, self._colour = palette_given, colour
        self._own_keys = own_keys  # by the ids of their bindings
        self._chart: ReachScreen | None = None
        self._answered: Match | None = None  # the match that is shown
        self._page: PageState | None = None  # the page that was open last
        self._is_for_page = False  # as the keys at the foot have it

    def compose(self) -> ComposeResult:
        """Head, colours and list, choices, message, keys or question."""
        yield Lines("tuimatch needs 24\ncolumns, 10 rows", id="too-small")
        yield Remark(id="warning")
        yield Lines(id="head")
        yield Lines(id="notice")
        yield Lines(id="limits")
        with Container(id="body"):
            with Vertical(id="picture"):
                yield Seam()
                yield BuildUpStrip()
                yield Lines(id="facts")
            yield RankedList()
        yield ChoicesStrip()
        yield Parts(id="message")
        yield Prompt()
        yield Foot()
        # What is copied while another screen is open becomes the target on coming back.
        yield ClipboardWatch(lambda: self.state.asked is None and self._in_sight)

    def on_mount(self) -> None:
        """Show what is known at once."""
        self.watch(self.candidates, "cursor", self._cursor_moved, init=False)
        warning = explained.said_of(self.app)
        self._set("#warning", warning)
        self.set_class(bool(warning), "-warned")
        self.candidates.focus()
        self.show()

    def begin(self) -> None:
        """Open the log and mix the inks; called when the first frame is on the screen."""
        keeper = self.state.keeper
        keeper.open()
        self.state.recall()
        palette = self.state.palette if self._palette_given else self.state.project_palette()
        if palette is not None:
            self.state.mixing = palette
            self._mix(palette, self._colour)
        self.show()
        if keeper.notice:
            self.notify(keeper.notice, timeout=20, markup=False)
        self.set_interval(_RETRY_SECONDS, self._look_again)

    def needs(self, work: str, deed: str) -> bool:
        """Every key needs the inks mixed and the page read; none needs the clipboard."""
        del deed
        return work in ("mix", "read")

    def on_resize(self) -> None:
        """Set the words to the new width, as soon as the widgets have it."""
        self.call_after_refresh(self.show)

    def on_unmount(self) -> None:
        """Close the log."""
        self.state.keeper.close()

    @work(thread=True, exclusive=True, group="mix")
    def _mix(self, palette: Palette, colour: str | None) -> None:
        from tuimatch.colour import target
        from tuimatch.recipe import dots, recipes

        wanted = None if colour is None else target.parse(colour)
        mixed = recipes.mix(palette)
        self.post_message(self.Mixed(mixed, dots.Press(mixed), wanted))

    @on(Mixed)
    def _mixed(self, message: Mixed) -> None:
        # What is loaded now stays; looking through it again and again would hold up keys.
        gc.freeze()
        self.state.mixed(message.recipes, message.press, message.target)
        self.show()

    def _look_again(self) -> None:
        if self.state.keeper.waiting or self._in_sight:
            self.state.look_again()
            self.show()

    # Showing.

    @property
    def _in_sight(self) -> bool:
        """Whether the match is what is seen, or its chart."""
        return self.app.screen in (self, self._chart)

    def on_screen_resume(self) -> None:
        """Back from another screen, perhaps without a target."""
        self._show_chart()

    def show(self) -> None:
        """Bring every widget to what the state is now; what has not changed costs nothing."""
        from tuimatch.tui.match import head

        state = self.state
        self._set("#head", head.line(state, self.query_one("#head").size.width, self.key_of))
        self._set("#message", state.said)
        self.query_one("#message").set_class(state.alarm, "-alarm")
        self.choices.show(state.newest)
        if state.match is not None:
            self._show_match(state.match)
        self.show_question()
        if state.is_for_page != self._is_for_page:
            self._is_for_page = state.is_for_page
            self.refresh_bindings()
        self._show_chart()

    @property
    def resting(self) -> RankedList:
        """The list has the keys."""
        return self.candidates

    def _show_chart(self) -> None:
        """Where there is no target the chart lies over the match, which would be empty."""
        # Not `is_current`, which holds for the screen below the one that is seen as well.
        if self._chart is not None and self.app.screen is self._chart:
            if self._chart.is_mounted:  # else it shows what it is when it is
                self._chart.show()
        elif self.state.chart_due and self.app.screen is self:
            self.action_reach()

    def _show_match(self, match: Match) -> None:
        from tuimatch.tui.match import sentences

        if match is not self._answered:
            self._answered = match
            self.candidates.show(match)
            if not match.is_judged:
                self._judge(match)
        # Their words are set to the width.
        self._set("#limits", sentences.limits(match, self._room("#limits")))
        self._show_notice(match)
        listed, candidate = self.candidates.candidate, self.state.candidate
        if candidate is not None and (listed is None or listed.row != candidate.row):
            self.candidates.point_at(candidate.row)
        self._show_candidate(match)

    @work(thread=True, exclusive=True, group="judge")
    def _judge(self, match: Match) -> None:
        """With many inks the verdict follows a moment later."""
        if match.verdict is not None:
            self.post_message(self.Judged(match))

    @on(Judged)
    def _judged(self, message: Judged) -> None:
        if message.match is self._answered:
            self._show_notice(message.match)

    def _show_notice(self, match: Match) -> None:
        from tuimatch.tui.match import sentences

        self._set("#notice", sentences.notice(match, self._room("#notice")))

    def _show_candidate(self, match: Match) -> None:
        """Bring the seam, the build-up and the words to the recipe that is looked at."""
        from tuimatch.tui.match import sentences

        candidate, look = self.state.candidate, self.state.look
        target, given = match.meant.srgb, match.question.target.srgb
        self.seam.given = None if given == target else given
        if candidate is None:
            self.seam.show(target, None)
            self.build_up.show(match.recipes, None)
            self._set("#facts", "")
            return
        if self.state.press is not None:
            self.seam.show(target, look.preview.draw(self.state.press, candidate.row, look))
        self.build_up.show(match.recipes, candidate.row)
        facts = self.query_one("#facts", Lines).size
        lines = sentences.candidate_lines(
            match, candidate, look, lines=facts.height, room=facts.width
        )
        self._set("#facts", "\n".join(lines))

    def _cursor_moved(self) -> None:
        candidate, match = self.candidates.candidate, self.state.match
        if candidate is None or match is None or match is not self._answered:
            return
        if self.state.candidate is None or candidate.row != self.state.candidate.row:
            self.state.candidate = candidate
            self._show_candidate(match)

    def _room(self, selector: str) -> int:
        """Cells that a line of words may take."""
        return self.query_one(selector, Lines).size.width

    def _set(self, selector: str, text: str) -> None:
        self.query_one(selector, Lines).show(text)

    # Keys.

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """In a window that is too small to show anything, no key may do anything unseen."""
        del parameters
        if action == "to_page" and not self.state.is_for_page:
            return False
        too_small = self.app.screen is self and (self.has_class("-tiny") or self.has_class("-flat"))
        return not too_small or action in ("quit", "help")

    def unused(self, key: str) -> None:
        """Say that a key does nothing here, or where it does while a page waits for a recipe."""
        says = self._on_page(key) if self.state.is_for_page else ""
        self.action_do(
            "say", f"{key} is for the page ({says}); Esc goes back to it" if says else ""
        )
        if not says:
            super().unused(key)

    def _on_page(self, key: str) -> str:
        """What a key does on the page, in a sentence; nothing where it does nothing."""
        from tuimatch.tui.all_keys import defaults, meanings

        keys = {**defaults(), **self._own_keys}
        for identity, says in meanings().items():
            names = keys[identity].split(",") if identity.startswith("page.") else []
            if key in (self.app.get_key_display(Binding(name, "")) for name in names):
                return says
        return ""

    @on(RankedList.Chosen)
    def _clicked_again(self) -> None:
        self.action_do("take")

    def _copy(self, text: str) -> None:
        self.watch_clipboard.ours(text)
        clipboard.send_to_terminal(self.app, text)
        self._copy_to_desktop(text)

    @work(thread=True, exclusive=True, group="copy")
    def _copy_to_desktop(self, text: str) -> None:
        self.post_message(self.Copied(clipboard.send_to_desktop(text)))

    @on(Copied)
    def _copied(self, message: Copied) -> None:
        self.action_do("copied", message.where)

    # The clipboard.

    def action_follow(self) -> None:
        """Follow the clipboard, or stop."""
        self.watch_clipboard.toggle()

    @on(ClipboardWatch.Said)
    def _clipboard_said(self, message: ClipboardWatch.Said) -> None:
        self.action_do("say", message.text)

    @on(ClipboardWatch.Colour)
    def _clipboard_colour(self, message: ClipboardWatch.Colour) -> None:
        self.action_do("set_target", message.text)

    # Other screens.

    def set_palette(self, palette: Palette | None) -> None:
        """Change the inks, if there are others to change to."""
        if palette is not None:
            self.state.change_palette(palette)
            self._mix(palette, None)
        self.show()

    def action_palette(self) -> None:
        """Change the palette."""
        from tuimatch.tui.screens.palette_screen import PaletteScreen

        self.app.push_screen(PaletteScreen(self.state.palette), self.set_palette)

    def action_make(self) -> None:
        """Make a palette of one's own, and use it."""
        from tuimatch.tui.screens.make_screen import MakeScreen

        def made(path: Path | None) -> None:
            if path is not None:
                self.set_palette(palette_file.load(str(path)))

        self.app.push_screen(MakeScreen(), made)

    def action_project(self) -> None:
        """Change the project, and to the inks it used last."""
        from tuimatch.tui.screens.project_screen import ProjectScreen

        state = self.state

        def picked(name: str | None) -> None:
            if name is not None:
                state.turn_to(name)
                palette = state.project_palette()
                changed = palette is not None and palette.text != state.palette.text
                self.set_palette(palette if changed else None)

        self.app.push_screen(ProjectScreen(state.keeper.path, state.keeper.project), picked)

    def action_review(self) -> None:
        """Review what was chosen; an entry's colour, or its recipe, comes back here."""
        from tuimatch.tui.screens.review_screen import ReviewScreen

        state = self.state
        screen = ReviewScreen(state.keeper.path, state.keeper.project, state.palette)

        def back(choice: Choice | None) -> None:
            state.read_anew(screen.state.project)
            if choice is not None:
                state.reuse(choice)
            self.show()

        self.app.push_screen(screen, back)

    def action_passes(self) -> None:
        """Plan the painting with the fewest changes of brush."""
        from tuimatch.tui.screens.passes_screen import PassesScreen

        keeper = self.state.keeper
        self.app.push_screen(PassesScreen(keeper.path, keeper.project), self._planned)

    def action_economy(self) -> None:
        """Accept slightly worse matches to save passes."""
        from tuimatch.tui.screens.economy_screen import EconomyScreen

        keeper = self.state.keeper
        self.app.push_screen(EconomyScreen(keeper.path, keeper.project), self._planned)

    def action_tints(self) -> None:
        """Which one more tint would bring the project nearest."""
        from tuimatch.tui.screens.tints_screen import TintsScreen

        state = self.state
        screen = TintsScreen(state.keeper.path, state.keeper.project, state.page or None)
        self.app.push_screen(screen)

    def _planned(self, _: bool | None) -> None:
        """Back from planning, where recipes may have been changed."""
        self.action_do("read_anew")

    def action_reach(self) -> None:
        """The chart of every recipe; what is picked there is shown or taken here."""
        state = self.state
        if state.recipes is None or (state.match is not None and state.candidate is None):
            said = "still mixing the inks" if state.recipes is None else NOTHING_LEFT
            self.action_do("say", said)
            return
        from tuimatch.tui.screens.reach_screen import Picked, ReachScreen

        def picked(picked: Picked | None) -> None:
            if picked is not None:
                self.state.view(picked.row)
                if picked.take:
                    self.state.take()
            self.show()

        self._chart = ReachScreen(self.state, self.run_action)
        self.app.push_screen(self._chart, picked)

    def action_wheel(self) -> None:
        """The most vivid recipe of each hue; the one picked is looked at here."""
        state = self.state
        if state.recipes is None:
            return
        from tuimatch.tui.screens.wheel_screen import WheelScreen

        def picked(row: int | None) -> None:
            if row is not None:
                state.view(row)
                self.show()

        allowed = state.match.allowed if state.match else None
        self.app.push_screen(WheelScreen(state.recipes, allowed), picked)

    def action_apart(self) -> None:
        """The candidate beside every choice of the project, as dichromats see them."""
        state = self.state
        if state.match is None or state.candidate is None:
            return
        from tuimatch.tui.screens.apart_screen import ApartScreen

        recipes, row = state.match.recipes, state.candidate.row
        wordings = state.palette.recipe_wordings(recipes.tints_of(row))
        own = tuple(recipes.lab[row].tolist())
        choices = [choice for choice in state.keeper.choices if choice.lab != own]
        rgb = recipes.rgb_of(row)
        self.app.push_screen(ApartScreen(wordings, recipes.xyz[row], rgb, choices, state.palette))

    def action_lay(self) -> None:
        """Lay the recipe ink by ink. Looking keeps nothing; the first tick keeps the recipe."""
        state = self.state
        match, candidate, laid = state.match, state.candidate, state.lay()
        if match is None or candidate is None or laid is None:
            self.show()
            return
        from tuimatch.tui.screens.laying_screen import LayingScreen

        choice = state.being_laid(match, candidate)
        name = choice.name if choice is not None else state.palette.recipe_words(laid.laying.tints)
        screen = LayingScreen(name, laid)

        def back(_: None) -> None:
            self.action_do("choices_changed")
            # Beside the drawing what comes next is the next area, not another recipe.
            if laid.laying.done and self.has_class("-slim") and state.keeper.choices:
                self.action_passes()

        self.app.push_screen(screen, back)

    def _open_named(self, what: str, text: str) -> None:
        """Open the file that was asked for: a picture, or a page's flats."""
        door = self._page_named if what == "flats" else self._open_picture
        door(typed_path(text))

    def _open_picture(self, path: Path) -> None:
        """Pick a target from a picture file."""
        from tuimatch.tui.screens.pick_screen import PickScreen

        def picked(text: str | None) -> None:
            if text is not None:
                self.action_do("set_target", text)

        self.app.push_screen(PickScreen(path), picked)

    def action_page(self) -> None:
        """Back to the page that waits for a recipe, or ask for one, the last one offered."""
        if self._page is not None and self.state.is_for_page:
            self.open_page(self._page)
        else:
            self.action_do("ask_page", self._page.asked.source.file if self._page else "")

    def action_to_page(self) -> None:
        """Back to the page that waits for a recipe."""
        self.action_page()

    def _page_named(self, path: Path) -> None:
        from tuimatch.match import typed_colours

        if self._page is not None and str(path) == self._page.asked.source.file:
            self.open_page(self._page)
        elif typed_colours.is_list_file(path):
            try:
                self._open_colours(str(path), typed_colours.read_file(path))
            except TargetError as error:
                self.action_do("say", str(error))
        else:
            self._read_page(path)

    class PageRead(Message):
        """A coloured page is read, or refused with the reason."""

        def __init__(self, picture: Picture | None, refusal: str) -> None:
            super().__init__()
            self.picture, self.refusal = picture, refusal

    @work(thread=True, exclusive=True, group="read")
    def _read_page(self, path: Path) -> None:
        from tuimatch.picture import picture

        try:
            self.post_message(self.PageRead(picture.read(path), ""))
        except PictureError as error:
            self.post_message(self.PageRead(None, str(error)))

    @on(PageRead)
    def _page_read(self, message: PageRead) -> None:
        if message.picture is None:
            self.action_do("say", message.refusal)
            return
        self._open_source(message.picture)

    def _open_colours(self, file: str, named: Sequence[Named]) -> None:
        """Look at a list of colours as at a page."""
        from tuimatch.tui.screens.page_state import Listed

        self._open_source(Listed(file, tuple(named)))

    def _open_source(self, source: Picture | Listed) -> None:
        from tuimatch.match.limits import start
        from tuimatch.planning.page import labels_by_colour
        from tuimatch.tui.screens.page_state import Asked as AskedPage
        from tuimatch.tui.screens.page_state import PageState

        match = self.state.match
        narrowing = match.question.narrowing if match else start(self.state.palette)
        labels = labels_by_colour(self.state.keeper.choices)
        self.open_page(PageState(AskedPage(source, narrowing, labels=labels)))

    def open_page(self, page: PageState) -> None:
        """Look at a page; a flat that is opened there gets its recipe here."""
        from tuimatch.tui.screens.page_screen import PageScreen

        self._page = page
        self.state.leave_for_page()

        def back(place: int | None) -> None:
            self.state.read_anew()
            if place is None:
                self.state.say("F, Enter opens the page again")
            else:
                self._choose_for(page, place)
            self.show()

        self.app.push_screen(PageScreen(page, self._page_recipes, self.state.keeper), back)

    def _page_recipes(self) -> Recipes:
        """The recipes that a page is matched on; called in a thread."""
        from tuimatch.recipe import recipes

        return self.state.recipes or recipes.mix(self.state.palette)

    def _choose_for(self, page: PageState, place: int) -> None:
        assert page.shown is not None

        def taken(row: int) -> None:
            page.lock(place, row)
            self.open_page(page)

        shown = page.shown
        beside: dict[int, tuple[str, ...]] = {}
        for one in page.beside():
            row, name = shown.match.rows[one.place], shown.page.colours[one.place].name
            beside[row] = (*beside.get(row, ()), f"beside: {name}")
        colour, row = shown.page.colours[place], shown.match.rows[place]
        self.state.choose_for(
            colour.name_in_words, colour.given, row, shown.page.intent, beside, taken
        )
