"""The keys of the review: one key does each thing, and each can be remapped by its id.

What the state does is called by ``do``, or by ``change`` where choices may conflict differently
after it; the rest are actions of the screen.
"""

from __future__ import annotations

from functools import partial

from textual.binding import BindingType

from tuimatch.tui.screens.explained import help_key, own_binding

_key = partial(own_binding, "review")

# As they stand together at the foot.
_main = partial(_key, show=True, group="This entry")
_edit = partial(_key, show=True, group="Change it")
_plan = partial(_key, show=True, group="Pages and plans")
_more = partial(_key, show=True, group="The list")

# In the order in which they stand there, as far as it has room: what is used most is first.
REVIEW_KEYS: list[BindingType] = [
    _main("enter", "reuse", "Match", "Match its colour again", "take"),
    _main("slash", "do('find')", "Find", "Show only what has the words you type", "find"),
    _main("space", "do('tick')", "Tick", "Tick it to plan it, or untick it", "tick"),
    _edit("l", "do('edit', 'label')", "Label", "Change the label", "label"),
    _edit("g", "do('edit_page')", "Page", "Set its page, or that of what is ticked", "page"),
    _edit("quotation_mark", "do('edit', 'note')", "Note", "Change the note", "note"),
    _edit("x,delete", "change('remove')", "Remove", "Take it out of the log", "remove"),
    _edit(
        "u", "change('undo')", "Undo", "Undo the last change, even from an earlier session", "undo"
    ),
    _plan("n", "passes", "Passes", "Plan the passes of what is ticked", "passes"),
    _plan("e", "economy", "Economy", "Save passes for what is ticked", "economy"),
    _plan(
        "p",
        "palette",
        "Palette",
        "Match what is ticked, or all that is shown, again on another palette",
        "palette",
    ),
    _more("T", "do('take')", "Reuse", "Use this recipe again under another label", "again"),
    _more("y", "do('copy')", "Copy", "Copy the recipe", "copy"),
    _more("s", "do('sort')", "Sort", "Sort by newest, oldest, label, page or ΔE", "sort"),
    _more("A", "change('show_everyone')", "All", "Show all projects, or only this one", "all"),
    _more("G", "do('guide')", "Guide", "Write the project's colour guide", "guide"),
    _more(
        "exclamation_mark",
        "do('next_finding')",
        "Conflict",
        "Go to the next conflict",
        "conflict",
    ),
    _key("escape", "back", "Back", "Take the filter off, or go back", "back", show=True),
    help_key("review"),
    _key("0", "do('clear')", "Clear", "Untick all", "clear"),
    _key("U,ctrl+r", "change('redo')", "Redo", "Redo the change that was undone last", "redo"),
    _key("q", "app.quit", "Quit", "Quit tuimatch", "quit"),
]
