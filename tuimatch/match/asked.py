"""What a text asks for, a colour or a recipe of the inks, and how it is meant on the paper."""

from __future__ import annotations

from tuimatch.colour.intent import Intent, adapted
from tuimatch.colour.target import Target, from_lab, parse
from tuimatch.log import Choice
from tuimatch.recipe import typed_recipe
from tuimatch.recipe.recipes import Recipes


def of_recipe(recipes: Recipes, row: int, text: str) -> Target:
    """A recipe's own colour as a target, named by a text."""
    lightness, a, b = recipes.lab[row].tolist()
    return from_lab((lightness, a, b), text, Intent.ABSOLUTE)


def asked(recipes: Recipes, text: str) -> tuple[Target, int | None]:
    """What a text asks for: a colour, or a recipe of these inks by its tints.

    Returns:
        The target, and the recipe's row where it is one.

    Raises:
        TargetError: It is neither.
    """
    tints = typed_recipe.read(recipes.palette, text)
    row = None if tints is None else recipes.row_of(tints)
    if row is None:
        return parse(text), None
    return of_recipe(recipes, row, " ".join(text.split())), row


def of_choice(choice: Choice) -> Target:
    """The target of an earlier choice, taken as it was then."""
    return from_lab(choice.target_lab, choice.target_text, Intent(choice.intent))


def meant(recipes: Recipes, target: Target, intent: Intent) -> Target:
    """A target as it is meant on the paper of a palette: what the recipes are compared with."""
    if intent is Intent.ABSOLUTE:
        return target
    xyz = recipes.xyz
    return from_lab(adapted(target.lab, intent, xyz[0], xyz[recipes.darkest]), target.text)
