"""A recipe that is being laid, over the log: each ink that is ticked off is a step of the log."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from tuimatch.errors import LogError
from tuimatch.recipe.laying import Laying, Step, laying
from tuimatch.tui.match.pending_choices import Keeper

if TYPE_CHECKING:
    from tuimatch.log import Choice
    from tuimatch.recipe.dots import Picture, Press
    from tuimatch.recipe.recipes import Recipes


class BeingLaid:
    """How far a recipe is laid. Each method returns what there is to say about it.

    Attributes:
        laying: The recipe and what of it is laid, as it was read last.
    """

    laying: Laying

    def __init__(
        self,
        keeper: Keeper,
        recipes: Recipes,
        row: int,
        find: Callable[[], Choice | None],
        keep: Callable[[], Choice] | None = None,
    ) -> None:
        """Look how far it is laid.

        Args:
            keeper: Has the log.
            recipes: Of the palette.
            row: The recipe.
            find: Gives the choice that it is laid for; None where the log has none.
            keep: Keeps the recipe, which the first tick does where the log has none; None where it
                must be there.
        """
        self._keeper, self._recipes, self._row = keeper, recipes, row
        self._find, self._keep = find, keep
        self._press: Press | None = None
        self._look()

    def dots(self, step: Step, width: int, height: int, period: float) -> Picture:
        """The dots of a step alone on its paper; see `Press`."""
        from tuimatch.recipe.dots import Press, View

        self._press = self._press or Press(self._recipes)
        return self._press.alone(step.ink, step.tint, View(height, width, period))

    def tick(self) -> str:
        """The next ink is laid."""
        step = self.laying.next
        return "every ink is laid" if step is None else self._lay([step], True)

    def clear(self) -> str:
        """Start again: no ink is laid."""
        laid = [step for step in self.laying.steps if step.name in self.laying.laid]
        return self._lay(laid, False) if laid else "no ink is laid yet"

    def undo(self) -> str:
        """Undo the last change of the project, even from an earlier session."""
        return self._turned(self._keeper.undo)

    def redo(self) -> str:
        """Redo what was undone last."""
        return self._turned(self._keeper.redo)

    def _lay(self, steps: Sequence[Step], on: bool) -> str:
        choice, is_new = self._find(), False
        if choice is None:
            if self._keep is None:
                return "that choice was undone or removed meanwhile"
            choice, is_new = self._keep(), True
        inks = [(step.name, step.tint) for step in steps]
        problem = self._keeper.lay(choice, inks, on, with_taking=is_new)
        self._look()
        return problem or "kept in the log, because you are laying it" * is_new

    def _turned(self, way: Callable[[], str]) -> str:
        try:
            said = way()
        except LogError as error:
            said = str(error)
        self._look()
        return said

    def _look(self) -> None:
        choice = self._find()
        laid = () if choice is None else self._keeper.laid(choice)
        self.laying = laying(self._recipes, self._row, laid)
