"""A binding as ours are: with an id, to remap it by, and a tooltip, for help."""

from __future__ import annotations

from textual.binding import Binding


def own_binding(
    owner: str, key: str, action: str, name: str, says: str, identity: str, *, show: bool = False
) -> Binding:
    """One key of a screen.

    Args:
        owner: The screen's word, the first part of the id.
        key: The key, or several with commas between them.
        action: What it does.
        name: One word for the foot.
        says: What it does in a sentence, for help.
        identity: The second part of the id.
        show: Whether it stands at the foot.
    """
    return Binding(key, action, name, tooltip=says, id=f"{owner}.{identity}", show=show)
