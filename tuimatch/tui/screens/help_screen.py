"""Help: the keys of the screen it was called from, and every number in a sentence."""

from __future__ import annotations

from typing import Any, ClassVar, NamedTuple

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from tuimatch.text import printable
from tuimatch.tui.widgets.foot import Foot

_DIGITS = "1…9"

NUMBERS: tuple[tuple[str, str], ...] = (
    (
        "ΔE",
        "How different two colours look (CIEDE2000): below 1 nobody sees it, below 2 only side by "
        "side, from 5 on it is another colour; the words are common practice, not a standard.",
    ),
    (
        "recipe",
        "The tint of each ink in the order of laying: 100 % is the solid, 50 % a screen of dots "
        "that covers half of the paper as drawn, and on press somewhat more.",
    ),
    (
        "coverage",
        "The tints of a recipe added up; too much ink dries badly and sets off, so a palette "
        "may have a limit, and recipes above it are left out.",
    ),
    ("rank", "The place in the order: 1 is nearest to the target under the limits that are on."),
    (
        "differs",
        "How the candidate looks beside the target, the most visible difference first: lighter or "
        "darker, more vivid or duller, and the hue it leans toward.",
    ),
    (
        "L a b",
        "The colour as CIELAB measures it under D50, the light of the print trade: L from black 0 "
        "to white 100, a from green to red, b from blue to yellow.",
    ),
    (
        "C and hue",
        "The same a and b in another form: C is how far from grey, hue is the angle: red near 20°, "
        "yellow at 90°, green near 165° and blue near 240°.",
    ),
    ("#rrggbb", "What the screen is told to show of a colour (sRGB)."),
    (
        "beyond screen",
        "No sRGB screen can show this colour: the screen shows the nearest it can, and the "
        "numbers are those of the true colour.",
    ),
    (
        "within reach",
        "The nearest recipe is at most ΔE 5 from your colour; above 5 it is another colour (common "
        "practice, no source).",
    ),
    (
        "between tints",
        "Your inks could make the colour, but not at the tints you have: you are told which tints "
        "would do it, and the one that would help most if you made a brush for it.",
    ),
    (
        "beyond inks",
        "No tints of these inks come nearer than ΔE 5: choose another ink, or live with the "
        "nearest and the way it leans.",
    ),
    (
        "as measured",
        "The colour is compared as it is (absolute, in the ICC's word), so the white of the screen "
        "is never found on newsprint, whose paper is grey beside it.",
    ),
    (
        "paper's white",
        "The white of your screen stands for the bare paper, and every colour moves with it "
        "(relative, in the ICC's word).",
    ),
    (
        "on this paper",
        "White stands for the paper and black for the darkest recipe, and all between moves to fit "
        "(relative with the black point compensation of ISO 18619); usual on measured palettes.",
    ),
    (
        "hold",
        "Keeps lightness, hue or chroma: differences in the other two count half when sorting; the "
        "held column shows the value that is sorted by, and ΔE stays the ordinary CIEDE2000.",
    ),
    (
        "lettering",
        "How strongly black, or the bare paper, stands out from the colour (contrast ratio of "
        "WCAG 2.2): from 7 clear, from 4.5 readable, from 3 only if large, else too faint.",
    ),
    (
        "alike",
        "Two colours that differ for most people, ΔE 10 or more, and hardly for someone who lacks "
        "one kind of cone: less than 5, by the model of Machado and others (2009).",
    ),
    (
        "lines per inch",
        "How fine the dot screens are: dots in a row, over one inch.",
    ),
    (
        "fusing distance",
        "From this distance on nobody sees single dots: one of them spans less than 1/60 of a "
        "degree (common practice).",
    ),
    (
        "n",
        "The Yule-Nielsen factor of the palette: how much light spreads in the paper between the "
        "dots; 1 means not at all.",
    ),
    (
        "± 1.4",
        "Beside the name of a palette: 95 % of its colours come out within that ΔE in print; the "
        "more swatches were measured, the less it is; `tuimatch palettes check` names the next.",
    ),
    (
        "estimated",
        "The palette lacks the measurement of an overprint, which was worked out from the single "
        "inks instead and may be some ΔE 10 off.",
    ),
    (
        "canvas, print",
        "A palette of print may say how its inks look in the drawing program; the build-up then "
        "shows the canvas after each ink, and beside it the print.",
    ),
    (
        "measured, screen",
        "A measured palette is made from colours of printed sheets; a screen palette describes "
        "layers that multiply in a drawing program and says nothing about print.",
    ),
)

CAUTIONS: tuple[str, ...] = (
    "A preview on a screen is not a contract proof: screens differ, and paper in the hand is lit "
    "differently.",
    "The printer decides how much ink the paper takes, and which paper it will be: ask before "
    "you rely on a limit given here.",
    "A predicted colour is as good as the measurements its palette is made from, and no press "
    "prints two sheets quite alike.",
)


class Key(NamedTuple):
    """What a key does.

    Attributes:
        keys: As they are shown, such as ``t`` or ``↑ k``.
        says: What happens.
        group: Under which heading; may be empty.
    """

    keys: str
    says: str
    group: str = ""


def keys_of(screen: Screen[Any]) -> list[Key]:
    """The keys that are active on a screen, those of its footer first.

    Keys that do the same thing stand together, and so do numbers: ``1…9  Take 1…9``.
    """
    bindings = [
        (active.binding, active.tooltip or active.binding.description)
        for active in screen.active_bindings.values()
        if active.binding.id  # the others are the toolkit's own: focus, selection
    ]
    together: dict[tuple[str, str], list[str]] = {}
    for binding, says in sorted(bindings, key=lambda item: not item[0].show):
        group = binding.group.description if binding.group else ""
        key = screen.app.get_key_display(binding)
        if key.isdigit():
            says = says.replace(key, _DIGITS)
        keys = together.setdefault((group, says), [])
        if key not in keys:
            keys.append(key)
    return [Key(_listed(keys), says, group) for (group, says), keys in together.items() if says]


def _listed(keys: list[str]) -> str:
    digits = [key for key in keys if key.isdigit()]
    if len(digits) == 9:
        keys = [key for key in keys if key not in digits] + [_DIGITS]
    return " ".join(keys)


class HelpScreen(Screen[None]):
    """Keys, numbers and cautions, to scroll through."""

    DEFAULT_CSS = """
    HelpScreen {
        VerticalScroll { padding: 0 2 0 1; scrollbar-size-vertical: 1; }
        .help-title { text-style: bold; margin-top: 1; }
        Static { height: auto; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss(None)", "Close", id="help.back"),
        Binding("question_mark", "dismiss(None)", "Close", id="help.help", show=False),
        Binding("q", "app.quit", "Quit", id="help.quit", show=False),
        Binding("j", "scroll(1)", "Down", show=False, id="help.down"),
        Binding("k", "scroll(-1)", "Up", show=False, id="help.up"),
    ]

    def __init__(self, keys: list[Key]) -> None:
        super().__init__()
        self._keys = keys

    def compose(self) -> ComposeResult:
        """Keys by group, numbers, cautions."""
        with VerticalScroll():
            for group in dict.fromkeys(key.group for key in self._keys):
                yield Static(printable(group) or "Keys", classes="help-title", markup=False)
                yield _table([(k.keys, k.says) for k in self._keys if k.group == group])
            yield Static("The numbers", classes="help-title")
            yield _table(NUMBERS)
            yield Static("What the numbers cannot tell", classes="help-title")
            for caution in CAUTIONS:
                yield Static(Content(caution))
        yield Foot()

    def on_mount(self) -> None:
        """Let the keys scroll."""
        self.query_one(VerticalScroll).focus()

    def action_scroll(self, way: int) -> None:
        """Scroll by a line."""
        self.query_one(VerticalScroll).scroll_relative(y=way, animate=False)


def _table(rows: tuple[tuple[str, str], ...] | list[tuple[str, str]]) -> Static:
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=min(16, max(len(left) for left, _ in rows)))
    grid.add_column(ratio=1, max_width=90)
    for left, right in rows:
        grid.add_row(Text(printable(left), style="bold"), Text(printable(right)))
    return Static(grid)
