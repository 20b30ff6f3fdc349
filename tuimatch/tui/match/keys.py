"""The keys of the match screen: one key does each thing, and each can be remapped by its id."""

from __future__ import annotations

from functools import partial

from textual.binding import BindingType

from tuimatch.tui.screens.explained import own_binding

_key = partial(own_binding, "match")

MATCH_KEYS: list[BindingType] = [
    _key("enter", "take", "Take", "Copy the recipe and keep it in the log", "take", show=True),
    *(
        _key(str(n), f"take({n})", f"Take {n}", f"Take the recipe of rank {n}", f"take_{n}")
        for n in range(1, 10)
    ),
    _key("y", "copy", "Copy", "Copy the recipe without keeping it", "copy"),
    _key("w", "next_wording", "Wording", "Change how a recipe is written when copied", "wording"),
    _key("t", "edit_target", "Target", "Type another target colour", "target", show=True),
    _key("number_sign", "edit_target('#')", "Hex", "Type a target in hex", "target_hex"),
    _key("d", "dots", "Dots", "From afar or close up, as dots", "dots", show=True),
    _key("plus,equals_sign", "zoom(1)", "Nearer", "Larger dots", "nearer"),
    _key("minus", "zoom(-1)", "Further", "Smaller dots", "further"),
    _key("full_stop", "ruling(1)", "Finer", "A finer ruling", "finer"),
    _key("comma", "ruling(-1)", "Coarser", "A coarser ruling", "coarser"),
    _key("m", "misregister", "Register", "Put the next ink out of register", "register"),
    _key("M", "shift_more", "Shift", "Change how far it is out of register", "shift"),
    _key("h", "hold", "Hold", "Hold lightness, hue or chroma when ranking", "hold", show=True),
    _key("i", "limit_inks", "Inks", "At most so many inks", "inks"),
    _key("x", "limit_without", "Without", "Leave an ink out", "without"),
    _key("f", "limit_fix", "Fix", "The next ink is down already, as in this recipe", "fix"),
    _key("l", "limit_coverage", "Coverage", "Change the coverage limit", "coverage"),
    _key("u", "limit_used", "Used", "Only recipes the project already uses", "used"),
    _key("0", "clear_limits", "Clear", "Clear every limit and the hold", "clear"),
    _key("shift+up", "walk('LIGHTER')", "Lighter", "The neighbour that is lighter", "lighter"),
    _key("shift+down", "walk('DARKER')", "Darker", "The neighbour that is darker", "darker"),
    _key("shift+right", "walk('MORE_VIVID')", "Vivid", "The neighbour that is more vivid", "vivid"),
    _key("shift+left", "walk('DULLER')", "Duller", "The neighbour that is duller", "duller"),
    _key("right", "walk('HUE_ON')", "Hue on", "The neighbour turned on in hue", "hue_on"),
    _key("left", "walk('HUE_BACK')", "Hue back", "The neighbour turned back in hue", "hue_back"),
    _key("r", "reach", "Reach", "Everything the ink set reaches, on one map", "reach", show=True),
    _key("question_mark", "help", "Help", "Every key and every number", "help", show=True),
    _key("q", "app.quit", "Quit", "Leave", "quit", show=True),
    _key("v", "review", "Review", "Review what was chosen", "review", show=True),
    _key("b", "lay", "Lay", "Lay this recipe, ink by ink, in a small pane", "lay", show=True),
    _key("n", "passes", "Passes", "Plan the fewest changes of brush", "passes", show=True),
    _key("p", "palette", "Palette", "Change the palette", "palette", show=True),
    _key("P", "project", "Project", "Change the project", "project"),
    _key("g", "page", "Page", "Say which page the choices to come are of", "page"),
    _key("e", "economy", "Economy", "Let areas bear a neighbour, to save passes", "economy"),
    _key("c", "wheel", "Wheel", "The most vivid recipe of each hue", "wheel"),
    _key("z", "picture", "Picture", "Pick a target from a picture file", "picture"),
    _key("Z", "make", "Make", "Make a palette of your own, step by step", "make"),
    _key("a", "apart", "Apart", "Compare with the project's choices, as dichromats see", "apart"),
    _key("o", "follow", "Follow", "Follow the clipboard, or stop", "follow"),
]
