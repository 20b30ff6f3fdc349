"""The keys of the match screen: one key does each thing, and each can be remapped by its id."""

from __future__ import annotations

from functools import partial

from textual.binding import BindingType

from tuimatch.tui.screens.explained import help_key, own_binding

_key = partial(own_binding, "match")

# As they stand together at the foot.
_recipe = partial(_key, show=True, group="This recipe")
_where = partial(_key, show=True, group="Project, page and palette")
_work = partial(_key, show=True, group="Pages and plans")
_search = partial(_key, show=True, group="Look further")

# In the order in which they stand at the foot, as far as it has room: what is used most is first.
MATCH_KEYS: list[BindingType] = [
    _recipe("enter", "do('take')", "Take", "Copy the recipe and keep it in the log", "take"),
    _recipe("escape", "to_page", "Back", "Back to the page, which stays as it was", "back"),
    _recipe("t", "do('edit_target')", "Colour", "Type another colour, or a recipe", "target"),
    _recipe("d", "do('next_preview')", "Dots", "From afar, or close up as dots", "dots"),
    _recipe(
        "u", "do('undo')", "Undo", "Undo the last change, even from an earlier session", "undo"
    ),
    _where("g", "do('edit_page')", "Page", "Set the page of what you take next", "page"),
    _where("P", "project", "Project", "Change the project", "project"),
    _where("p", "palette", "Palette", "Change the palette", "palette"),
    _work("b", "lay", "Lay", "Lay this recipe, ink by ink, in a small pane", "lay"),
    _work("v", "review", "Review", "See, find and change what you kept", "review"),
    _work("F", "page", "Flats", "Match all flats of a coloured page together", "flats"),
    _work("n", "passes", "Passes", "Plan the fewest changes of brush", "passes"),
    _work("e", "economy", "Economy", "Accept slightly worse matches to save passes", "economy"),
    _search("r", "reach", "Chart", "Every recipe of these inks on one chart", "reach"),
    _search("h", "do('hold')", "Put first", "Put lightness, hue or vividness first", "hold"),
    _search("c", "wheel", "Wheel", "The most vivid recipe of each hue", "wheel"),
    _search("y", "do('copy')", "Copy", "Copy the recipe without keeping it", "copy"),
    _search("o", "follow", "Follow", "Follow the clipboard, or stop", "follow"),
    help_key("match"),
    _key("q", "app.quit", "Quit", "Quit tuimatch", "quit", show=True),
    *(
        _key(str(n), f"do('take', {n})", f"Take {n}", f"Take the recipe of rank {n}", f"take_{n}")
        for n in range(1, 10)
    ),
    _key(
        "w",
        "do('next_wording')",
        "Wording",
        "Change how a recipe is written when copied",
        "wording",
    ),
    _key("number_sign", "do('edit_target', '#')", "Hex", "Type a colour in hex", "target_hex"),
    _key("plus,equals_sign", "do('zoom', 1)", "Nearer", "Larger dots", "nearer"),
    _key("minus", "do('zoom', -1)", "Further", "Smaller dots", "further"),
    _key("full_stop", "do('ruling', 1)", "Finer", "A finer ruling", "finer"),
    _key("comma", "do('ruling', -1)", "Coarser", "A coarser ruling", "coarser"),
    _key("m", "do('misregister')", "Register", "Print the next ink out of register", "register"),
    _key("M", "do('shift_more')", "Shift", "Change how far it is out of register", "shift"),
    _key(
        "I",
        "do('next_intent')",
        "Paper",
        "Take the colour as given, or fitted to this paper",
        "intent",
    ),
    _key("i", "do('limit_inks')", "Inks", "At most so many inks", "inks"),
    _key("X", "do('limit_without')", "Without", "Leave an ink out", "without"),
    _key("f", "do('limit_fix')", "Laid", "The next ink is laid already, as in this recipe", "fix"),
    _key(
        "L",
        "do('limit_coverage')",
        "Coverage",
        "Limit the coverage: the tints of all inks added up",
        "coverage",
    ),
    _key("O", "do('limit_used')", "Used", "Only recipes this project already uses", "used"),
    _key(
        "S",
        "do('keep_limits')",
        "Start",
        "Let the project start with these limits, or without",
        "start",
    ),
    _key("0", "do('clear_limits')", "Clear", "Clear every limit, and put nothing first", "clear"),
    _key(
        "shift+up", "do('walk', 'LIGHTER')", "Lighter", "Go to a lighter recipe nearby", "lighter"
    ),
    _key("shift+down", "do('walk', 'DARKER')", "Darker", "Go to a darker recipe nearby", "darker"),
    _key(
        "shift+right",
        "do('walk', 'MORE_VIVID')",
        "Vivid",
        "Go to a more vivid recipe nearby",
        "vivid",
    ),
    _key("shift+left", "do('walk', 'DULLER')", "Duller", "Go to a duller recipe nearby", "duller"),
    _key("right", "do('walk', 'HUE_ON')", "Next hue", "Go to the next hue nearby", "hue_on"),
    _key(
        "left", "do('walk', 'HUE_BACK')", "Hue before", "Go to the hue before, nearby", "hue_back"
    ),
    _key("U,ctrl+r", "do('redo')", "Redo", "Redo the change that was undone last", "redo"),
    _key("E", "tints", "Tints", "Which one more tint would help this project most", "tints"),
    _key("z", "do('ask_picture')", "Picture", "Pick a colour from a picture file", "picture"),
    _key("Z", "make", "Make", "Make a palette of your own, step by step", "make"),
    _key(
        "a", "apart", "Compare", "Compare with the project as colour-blind readers see it", "apart"
    ),
]
