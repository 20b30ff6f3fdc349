"""The match screen: a target, its candidates, the seam between them, and the last choices."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from rich.cells import cell_len
from textual import getters, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Footer, Static

from tuimatch.errors import LogError, TargetError
from tuimatch.log import Choice, Log, new_choice
from tuimatch.palette import Palette, Triple
from tuimatch.text import printable
from tuimatch.tui import clipboard
from tuimatch.tui.choices_strip import ChoicesStrip
from tuimatch.tui.prompt import Prompt
from tuimatch.tui.ranked_list import RankedList
from tuimatch.tui.seam import Seam
from tuimatch.words import size_in_words

if TYPE_CHECKING:
    # colour-science and numpy come in a thread after the first paint.
    from textual import events

    from tuimatch.ranking import Candidate, Ranking
    from tuimatch.recipes import Recipes
    from tuimatch.target import Target

_SHOWN = 500  # candidates in the list; nobody goes further down
_REMEMBERED = 12


class MatchScreen(Screen[None]):
    """What stays open beside the drawing."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "take", "Take", id="match.take"),
        Binding("t", "edit_target", "Target", id="match.target"),
        Binding("number_sign", "edit_target('#')", "Target", show=False, id="match.target_hex"),
        *(
            Binding(str(n), f"take({n})", f"Take {n}", show=False, id=f"match.take_{n}")
            for n in range(1, 10)
        ),
        Binding("q", "app.quit", "Quit", id="match.quit"),
    ]

    class Mixed(Message):
        """A palette's recipes have their colours, and the colour to open on is read."""

        def __init__(self, recipes: Recipes, target: Target | None) -> None:
            super().__init__()
            self.recipes, self.target = recipes, target

    class Copied(Message):
        """What is known about a copy."""

        def __init__(self, where: str) -> None:
            super().__init__()
            self.where = where

    seam = getters.query_one(Seam)
    candidates = getters.query_one(RankedList)
    choices = getters.query_one(ChoicesStrip)
    prompt = getters.query_one(Prompt)

    def __init__(self, palette: Palette, colour: str | None, project: str, log_path: Path) -> None:
        super().__init__()
        self.palette = palette
        self.project = project
        self._colour = colour
        self._log_path = log_path
        self._log: Log | None = None
        self._recipes: Recipes | None = None
        self._ranking: Ranking | None = None
        self._taken: list[Choice] = []
        self._asking: str = ""  # "target", "label" or nothing

    def compose(self) -> ComposeResult:
        """Head, colours and list, choices, message or question, keys."""
        yield Static(id="head", markup=False)
        yield Static(id="notice", markup=False)
        with Container(id="body"):
            with Vertical(id="picture"):
                yield Seam()
                yield Static(id="facts", markup=False)
            yield RankedList(self.palette)
        yield ChoicesStrip()
        yield Static("mixing the inks …", id="message", markup=False)
        yield Prompt()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Start what must not hold up the first frame."""
        self.watch(self.candidates, "cursor", self._show_candidate, init=False)
        self._show_head()
        self.candidates.focus()
        self.call_after_refresh(self._after_first_frame)

    def _after_first_frame(self) -> None:
        self._mix(self.palette, self._colour)
        self._open_log()

    def on_resize(self) -> None:
        """Set the head to the new width."""
        self._show_head()

    def on_unmount(self) -> None:
        """Close the log."""
        if self._log is not None:
            self._log.close()

    @work(thread=True, exclusive=True, group="mix")
    def _mix(self, palette: Palette, colour: str | None) -> None:
        from tuimatch import recipes, target

        wanted = None if colour is None else target.parse(colour)
        self.post_message(self.Mixed(recipes.mix(palette), wanted))

    @on(Mixed)
    def _mixed(self, message: Mixed) -> None:
        self._recipes = message.recipes
        if message.target is not None:
            self._rank(message.target)
        else:
            self._say("paste a colour, or press t to type one")
            self._show_facts("")

    # The target.

    def action_edit_target(self, start: str = "") -> None:
        """Type another target."""
        current = self._ranking.target.text if self._ranking else ""
        question = "target: any CSS colour, Enter takes it, Esc leaves"
        self._ask("target", question, start or current, replace=not start)

    def on_paste(self, event: events.Paste) -> None:
        """A colour pasted anywhere becomes the target."""
        event.stop()
        self._paste(event.text)

    @on(Prompt.Pasted)
    def _pasted_into_prompt(self, message: Prompt.Pasted) -> None:
        if self._asking == "label" and not self._is_colour(message.text):
            self.prompt.insert_text_at_cursor(printable(message.text.strip()))
        else:
            self._paste(message.text)

    def _paste(self, text: str) -> None:
        if self._set_target(text) and self._asking == "target":
            self._close_prompt()

    def _is_colour(self, text: str) -> bool:
        from tuimatch import colour_text

        try:
            colour_text.read(text)
        except TargetError:
            return False
        return True

    def _set_target(self, text: str) -> bool:
        from tuimatch import target

        try:
            self._rank(target.parse(text))
        except TargetError as error:
            self._say(str(error))
            return False
        return True

    def _rank(self, wanted: Target) -> None:
        if self._recipes is None:  # still mixing: ranked as soon as that is done
            self._colour = wanted.text
            self._mix(self.palette, wanted.text)
            return
        from tuimatch.narrowing import Narrowing, allowed
        from tuimatch.ranking import rank

        mask = allowed(self._recipes, Narrowing(max_coverage=self.palette.coverage_limit))
        self._ranking = rank(wanted, self._recipes, allowed=mask, top=_SHOWN)
        self.candidates.show(self._ranking, self.palette)
        self._show_head()
        self._show_notice()
        self._show_candidate()
        self._say("")

    # Showing.

    def _show_head(self) -> None:
        wanted = printable(self._ranking.target.text) if self._ranking else "no target yet"
        left = f" {wanted}"
        estimated = " (estimated)" if self.palette.estimated else ""
        right = f"{self.palette.name}{estimated} · {self.project} "
        room = max(1, self.app.size.width - cell_len(left) - cell_len(right))
        text = Content(left + " " * room + right)
        self.query_one("#head", Static).update(text, layout=False)

    def _clipped_target(self) -> bool:
        return self._ranking is not None and self._ranking.target.clipped

    def _show_candidate(self) -> None:
        ranking, candidate = self._ranking, self.candidates.candidate
        if ranking is None:
            return
        if candidate is None:
            self.seam.show(ranking.target.srgb, None)
            self._show_facts("nothing left: the limits leave out every recipe")
            return
        self.seam.show(ranking.target.srgb, ranking.recipes.rgb_of(candidate.row))
        self._show_facts(self._facts(ranking, candidate))

    def _facts(self, ranking: Ranking, candidate: Candidate) -> str:
        recipes, row = ranking.recipes, candidate.row
        size = size_in_words(candidate.delta_e)
        shown = ", shown clipped" if recipes.clipped[row] else ""
        srgb = "#{:02x}{:02x}{:02x}".format(*recipes.rgb_of(row))
        return "\n".join(
            (
                f"ΔE {candidate.delta_e:.2f}  {size}  {srgb}{shown}",
                self.palette.recipe_text(recipes.tints_of(row)),
                candidate.differs,
            )
        )

    def _show_notice(self) -> None:
        """What must be known before any candidate is looked at."""
        ranking = self._ranking
        said = []
        if ranking is not None and ranking.out_of_reach and ranking.nearest is not None:
            nearest = ranking.nearest
            said.append(f"out of reach: nearest ΔE {nearest.delta_e:.1f}, {nearest.differs}")
        if self._clipped_target():
            said.append("target outside sRGB, shown clipped")
        self.query_one("#notice", Static).update(Content(" " + " · ".join(said)), layout=False)

    def _show_facts(self, text: str) -> None:
        self.query_one("#facts", Static).update(Content(text), layout=False)

    def _say(self, text: str) -> None:
        if not text and self._ranking is not None and self._ranking.left_out:
            limit = self.palette.coverage_limit or 0
            text = f"{self._ranking.left_out} recipes above {limit:g} % coverage left out"
        self.query_one("#message", Static).update(Content(" " + text), layout=False)

    # Taking.

    @on(RankedList.Chosen)
    def action_take(self, rank: int = 0) -> None:
        """Take the candidate under the cursor, or the one of a rank."""
        if rank and self._ranking is not None and rank <= len(self._ranking.candidates):
            self.candidates.cursor = rank - 1
        candidate = self.candidates.candidate
        if self._ranking is None or candidate is None:
            return
        choice = self._choice(self._ranking, candidate)
        clipboard.send_to_terminal(self.app, choice.recipe)
        self._copy(choice.recipe)
        self._keep(choice)

    def _choice(self, ranking: Ranking, candidate: Candidate) -> Choice:
        recipes, row = ranking.recipes, candidate.row
        lab = cast(Triple, tuple(float(x) for x in recipes.lab[row]))
        return new_choice(
            self.palette,
            recipes.tints_of(row),
            project=self.project,
            target_text=ranking.target.text,
            target_lab=ranking.target.lab,
            lab=lab,
            srgb=recipes.rgb_of(row),
            delta_e=candidate.delta_e,
        )

    @work(thread=True, exclusive=True, group="copy")
    def _copy(self, text: str) -> None:
        self.post_message(self.Copied(clipboard.send_to_desktop(text)))

    @on(Copied)
    def _copied(self, message: Copied) -> None:
        kept = "kept in the log" if self._taken and self._taken[-1].id else "NOT kept in the log"
        self._say(f"recipe {message.where}, {kept}")

    def _keep(self, choice: Choice) -> None:
        if self._log is None:
            self._open_log()
        if self._log is None:
            return
        try:
            choice = self._log.keep(self.palette, choice)
        except LogError as error:
            self._say(str(error))
            return
        self._taken.append(choice)
        self.choices.show(self._taken)
        self._ask("label", "label, such as lamp glass: Enter keeps it, Esc leaves it blank")

    def _open_log(self) -> None:
        try:
            self._log = Log(self._log_path, patience=0.2)
            self._taken = self._log.choices(self.project, last=_REMEMBERED)
        except LogError as error:
            self._say(str(error))
            return
        self.choices.show(self._taken)

    # Questions.

    def _ask(self, what: str, question: str, answer: str = "", *, replace: bool = True) -> None:
        self._asking = what
        self.prompt.ask(question, answer, replace=replace)

    @on(Prompt.Submitted)
    def _answered(self, message: Prompt.Submitted) -> None:
        if self._asking == "target":
            if self._set_target(message.value):
                self._close_prompt()
            return
        if not message.value.strip() or self._label(message.value):
            self._close_prompt()

    def _label(self, label: str) -> bool:
        if self._log is None or not self._taken:
            return True
        try:
            self._log.relabel(self._taken[-1].id, label)
            self._taken = self._log.choices(self.project, last=_REMEMBERED)
        except LogError as error:
            self._say(str(error))
            return False
        self.choices.show(self._taken)
        return True

    @on(Prompt.Left)
    def _close_prompt(self) -> None:
        self._asking = ""
        self.prompt.close()
        self.candidates.focus()
