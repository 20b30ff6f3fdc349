"""A question at the foot of a screen, as a value that is known before and after it is shown."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Asked:
    """A question at the foot.

    Attributes:
        what: What is asked for, such as ``label``.
        question: Shown where the answer will stand, or above it.
        answer: What stands there already.
        replace: Whether typing replaces that rather than adding to it.
        about: The identity of the choice that the answer is for.
        others: The identities of the choices that would be replaced.
        label: The label under which they would be replaced.
    """

    what: str
    question: str
    answer: str = ""
    replace: bool = True
    about: str = ""
    others: tuple[str, ...] = ()
    label: str = ""

    def replaced_by(self, answer: str) -> bool:
        """Whether an answer replaces what has the label: an empty one, or the same label again."""
        from tuimatch.log.area import folded_label

        return folded_label(answer) in ("", folded_label(self.label))


REPLACE = "Enter replaces it, a new label keeps both, Esc the old one"
