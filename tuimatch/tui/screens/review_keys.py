"""The keys of the review: one key does each thing, and each can be remapped by its id.

What the state does is called by ``do``, or by ``change`` where choices may conflict differently
after it; the rest are actions of the screen.
"""

from __future__ import annotations

from functools import partial

from textual.binding import BindingType

from tuimatch.tui.screens.explained import own_binding

_key = partial(own_binding, "review")

REVIEW_KEYS: list[BindingType] = [
    _key("enter", "reuse", "Target", "Make its target the target again", "take", show=True),
    _key("T", "do('take')", "Again", "Take it again under another label", "again", show=True),
    _key("slash", "do('find')", "Find", "Show only what holds the words typed", "find", show=True),
    _key("space", "do('tick')", "Tick", "Tick it to plan it, or untick it", "tick", show=True),
    _key("escape", "back", "Back", "Take the filter off, or go back", "back", show=True),
    _key("question_mark", "help", "Help", "Every key and every number", "help", show=True),
    # At the foot of 60 cells there is room up to here.
    _key(
        "u",
        "change('undo')",
        "Undo",
        "Undo the last change, even from an earlier session",
        "undo",
        show=True,
    ),
    _key("l", "do('edit', 'label')", "Label", "Change the label", "label", show=True),
    _key("g", "do('edit', 'page')", "Page", "Change the page", "page", show=True),
    _key("x,delete", "change('remove')", "Remove", "Take it out of the log", "remove", show=True),
    _key("s", "do('sort')", "Sort", "Sort by newest, oldest, label, page or ΔE", "sort", show=True),
    _key("A", "change('show_everyone')", "All", "All projects, or only this one", "all", show=True),
    _key("G", "do('guide')", "Guide", "Write the project's colour guide", "guide", show=True),
    _key(
        "exclamation_mark",
        "do('next_finding')",
        "Conflict",
        "On to the next choice that conflicts with another",
        "conflict",
        show=True,
    ),
    _key("quotation_mark", "do('edit', 'note')", "Note", "Change the note", "note", show=True),
    _key("y", "do('copy')", "Copy", "Copy the recipe", "copy", show=True),
    _key("n", "passes", "Passes", "Plan the passes of what is ticked", "passes", show=True),
    _key("e", "economy", "Economy", "Save passes among what is ticked", "economy", show=True),
    _key(
        "p",
        "palette",
        "Palette",
        "Match what is ticked, or all that is shown, again on another palette",
        "palette",
        show=True,
    ),
    _key("0", "do('clear')", "Clear", "Untick all", "clear"),
    _key("U,ctrl+r", "change('redo')", "Redo", "Redo what was undone last", "redo"),
    _key("q", "app.quit", "Quit", "Quit tuimatch", "quit"),
]
