"""Every key of the interface: explained, and printed as a file that it reads."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from command import Cli
from support import ROOT
from textual.binding import Binding
from textual.screen import Screen

from tuimatch.tui import keys_file
from tuimatch.tui.all_keys import OWNERS, defaults, meanings
from tuimatch.tui.screens.explained import ExplainedScreen
from tuimatch.tui.screens.help_screen import HelpScreen


def test_the_keys_printed_are_the_keys_there_are(tmp_path: Path) -> None:
    own = tmp_path / "keys.toml"
    own.write_text('[keys]\nmatch.take = "enter,Y"')
    tuimatch = Cli(tmp_path)
    tuimatch.environment["TUIMATCH_KEYS"] = str(own)
    printed = tuimatch("keys")
    own.write_text(printed, encoding="utf-8")
    there = keys_file.load({"TUIMATCH_KEYS": str(own)}, defaults())
    assert there == defaults() | {"match.take": "enter,Y"}
    assert 'match.take = "enter,Y"' in printed
    assert "# Copy the recipe and keep it in the log" in printed
    assert len(tomllib.loads(printed)["keys"]["match"]) > 40


def test_every_key_says_what_it_does() -> None:
    assert all(meanings().values())


@pytest.mark.parametrize(
    "owner", [one for one in OWNERS if issubclass(one, Screen) and one is not ExplainedScreen]
)
def test_every_screen_explains_itself(owner: type[Screen[object]]) -> None:
    keys_bound = {key for b in owner.BINDINGS for key in getattr(b, "key", "").split(",")}
    # Where every key is typed into an answer, a function key helps.
    assert keys_bound & {"question_mark", "f1"}
    assert owner is HelpScreen or hasattr(owner, "action_help")


# One key, one meaning, on every screen that has a use for it. The words are the second parts of the
# ids. While an answer is typed every key is text, and Enter and Esc end it.
MOVES = "move the cursor, go to a recipe nearby, or change a value by one step"
MEANINGS: dict[str, tuple[str, str]] = {
    "enter": ("take what is under the cursor, or change it", "take match change"),
    "escape": ("back", "back"),
    "q": ("quit", "quit"),
    "question_mark": ("help", "help"),
    "f1": ("help, where letters are typed", "help"),
    "slash": ("find", "find"),
    "u": ("undo", "undo"),
    "backspace": ("undo", "undo"),
    "ctrl+z": ("undo, where letters are typed", "undo"),
    "U": ("redo", "redo"),
    "ctrl+r": ("redo", "redo"),
    "space": ("tick, or untick", "tick"),
    "0": ("clear: back to how it began", "clear"),
    "g": ("page", "page"),
    "P": ("project", "project"),
    "p": ("palette", "palette"),
    "v": ("review", "review"),
    "n": ("passes", "passes"),
    "e": ("economy", "economy"),
    "b": ("lay", "lay"),
    "r": ("chart of every recipe", "reach"),
    "c": ("colour wheel", "wheel"),
    "a": ("compare as colour-blind readers see it", "apart"),
    "z": ("pick from a picture", "picture"),
    "Z": ("make a palette", "make"),
    "o": ("follow the clipboard", "follow"),
    "t": ("target", "target"),
    "number_sign": ("target in hex", "target_hex"),
    "y": ("copy", "copy"),
    "w": ("wording of what is copied", "wording"),
    "d": ("how it looks: dots, or printed", "dots look"),
    "plus": ("more: nearer, larger, finer steps", "nearer more"),
    "equals_sign": ("the same, without shift", "nearer more"),
    "minus": ("less: further, smaller, fewer steps", "further less"),
    "full_stop": ("finer: the ruling, or a small step up", "finer finer_more"),
    "comma": ("coarser: the ruling, or a small step down", "coarser finer_less"),
    "right_square_bracket": ("larger square", "larger"),
    "left_square_bracket": ("smaller square", "smaller"),
    "m": ("out of register", "register"),
    "M": ("how far out of register", "shift"),
    "B": ("bring back what was left out", "bring_back"),
    "K": ("keep all recipes of a page", "take"),
    "D": ("draw into files", "draw"),
    "F": ("flats of a coloured page", "flats"),
    "E": ("one more tint", "tints"),
    "h": ("put lightness, hue or vividness first", "hold"),
    "I": ("the target as given, or fitted to this paper", "intent"),
    "i": ("limit: inks", "inks"),
    "X": ("limit: without an ink", "without"),
    "f": ("limit: the next ink is laid already", "fix"),
    "L": ("limit: coverage", "coverage"),
    "O": ("limit: only recipes in use", "used"),
    "S": ("start with these limits", "start"),
    "V": ("view it in the match", "show"),
    "l": ("label", "label"),
    "quotation_mark": ("note", "note"),
    "T": ("take again under another label", "again"),
    "x": ("remove, or leave out", "remove keep_out"),
    "delete": ("remove", "remove"),
    "s": ("sort", "sort order"),
    "A": ("all: every project, or the archived ones too", "all"),
    "G": ("colour guide", "guide"),
    "exclamation_mark": ("next conflict", "conflict"),
    "N": ("new", "new"),
    "R": ("rename", "rename"),
    "up": (MOVES, "up previous"),
    "down": (MOVES, "down next"),
    "k": (MOVES, "up previous"),
    "j": (MOVES, "down next"),
    "left": (MOVES, "left hue_back less_here split_back"),
    "right": (MOVES, "right hue_on more_here split_on"),
    "shift+up": (MOVES, "lighter far_up"),
    "shift+down": (MOVES, "darker far_down"),
    "shift+left": (MOVES, "duller far_left"),
    "shift+right": (MOVES, "vivid far_right"),
    "home": ("to the first, or the middle", "first nearest middle"),
    "end": ("to the last", "last"),
    "pageup": ("a screen up", "page_up"),
    "pagedown": ("a screen down", "page_down"),
    **{str(n): (f"take rank {n}", f"take_{n}") for n in range(1, 10)},
}


def uses() -> dict[str, list[str]]:
    """The ids that have each key, but for those of an answer that is typed."""
    found: dict[str, list[str]] = {}
    for identity, keys in defaults().items():
        if not identity.startswith("prompt."):
            for key in keys.split(","):
                found.setdefault(key, []).append(identity)
    return found


def table() -> str:
    """The rows of DEVELOPERS.md: a key, what it means, and where."""
    rows = []
    for key, (meaning, _) in MEANINGS.items():
        places = dict.fromkeys(identity.partition(".")[0] for identity in uses()[key])
        rows.append(f"| `{key}` | {meaning} | {', '.join(places)} |")
    return "\n".join(rows)


def test_one_key_has_one_meaning_everywhere() -> None:
    assert uses().keys() == MEANINGS.keys()
    for key, identities in uses().items():
        words = {identity.partition(".")[2] for identity in identities}
        assert words <= set(MEANINGS[key][1].split()), key


def test_one_meaning_has_its_keys_on_every_screen() -> None:
    """What is undo here is undo there, whatever else a screen may have for it."""
    for meaning, key in (("undo", "u"), ("help", "question_mark"), ("back", "escape")):
        for identity, keys in defaults().items():
            if identity.endswith(f".{meaning}") and not identity.startswith("make."):
                assert key in keys.split(","), identity


def test_one_key_is_shown_by_one_sign_everywhere() -> None:
    for owner in OWNERS:
        for binding in owner.BINDINGS:
            assert isinstance(binding, Binding) and binding.key_display is None, binding


def test_the_table_of_keys_is_that_of_developers() -> None:
    assert table() in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
