"""The keys of the review: one key does each thing, and each can be remapped by its id."""

from __future__ import annotations

from functools import partial

from textual.binding import BindingType

from tuimatch.tui.screens.explained import own_binding

_key = partial(own_binding, "review")

REVIEW_KEYS: list[BindingType] = [
    _key("enter", "reuse", "Target", "Make its target the target again", "target", show=True),
    _key("t", "take", "Take", "Take it again under another label", "take", show=True),
    _key("slash", "filter", "Find", "Show only what holds the words typed", "find", show=True),
    _key("space", "tick", "Tick", "Tick it, to plan with others, or untick it", "tick", show=True),
    _key("escape", "back", "Back", "Take the filter off, or go back", "back", show=True),
    _key("question_mark", "help", "Help", "Every key and every number", "help", show=True),
    # At the foot of 60 cells there is room up to here.
    _key("u", "undo", "Undo", "Undo what was done last, also before a restart", "undo", show=True),
    _key("l", "edit('label')", "Label", "Change the label", "label", show=True),
    _key("p", "edit('page')", "Page", "Change the page", "page", show=True),
    _key("x,delete", "remove", "Remove", "Take it out of the log", "remove", show=True),
    _key("s", "sort", "Sort", "Another order: newest, oldest, label, page, ΔE", "sort", show=True),
    _key("a", "everyone", "All", "The choices of all projects, or of this one", "all", show=True),
    _key("g", "guide", "Guide", "Write the project's colour guide to a file", "guide", show=True),
    _key("m", "next_finding", "Mend", "On to the next choice that disagrees", "mend", show=True),
    _key("n", "edit('note')", "Note", "Change the note", "note", show=True),
    _key("y", "copy", "Copy", "Copy the recipe", "copy", show=True),
    _key("N", "passes", "Passes", "Plan the passes of what is ticked", "passes", show=True),
    _key("e", "economy", "Economy", "Save passes among what is ticked", "economy", show=True),
    _key("c", "clear", "Clear", "Untick all", "clear"),
    _key("r", "redo", "Redo", "Do again what was undone last", "redo"),
    _key("q", "dismiss(None)", "Back", "Go back", "close"),
]
