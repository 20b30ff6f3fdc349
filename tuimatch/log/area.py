"""What an area is: a label on a page of a project; without a label, a colour as given.

It has one recipe. What stands on ``9, 10`` stands on both pages.
"""

from __future__ import annotations

from collections.abc import Iterable

from tuimatch.log.choice import Choice


def pages(text: str) -> list[str]:
    """The pages that a page text names, ``9, 10`` both; one empty page where it names none."""
    return [part.strip() for part in text.split(",") if part.strip()] or [""]


def folded_pages(text: str) -> set[str]:
    """The same in the form in which pages are compared: letter case does not count."""
    return {page.casefold() for page in pages(text)}


def folded_label(label: str) -> str:
    """A label in the form in which labels are compared: letter case and spaces do not count."""
    return " ".join(label.casefold().split())


def is_same(one: Choice, other: Choice) -> bool:
    """Whether two choices are for the same area."""
    return (
        one.project.casefold() == other.project.casefold()
        and folded_label(one.label) == folded_label(other.label)
        # A colour that came back from JSON is the same number; one mixed again may not be.
        and (bool(one.label) or _rounded(one) == _rounded(other))
        and not folded_pages(one.page).isdisjoint(folded_pages(other.page))
    )


def pages_of(choices: Iterable[Choice]) -> list[str]:
    """Each page of some choices once, as it was first written; empty for those without one."""
    found: dict[str, str] = {}
    for choice in choices:
        for page in pages(choice.page):
            found.setdefault(page.casefold(), page)
    return list(found.values())


def all_pages(choices: Iterable[Choice]) -> str:
    """The page text that names the pages of all."""
    return ", ".join(filter(None, pages_of(choices)))


def _rounded(choice: Choice) -> tuple[float, ...]:
    return tuple(round(value, 6) for value in choice.target_lab)
