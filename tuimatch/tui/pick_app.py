"""The interface opened on a picture: what is picked there becomes the target."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from tuimatch.tui.app import TuimatchApp
from tuimatch.tui.screens.pick_screen import PickScreen

if TYPE_CHECKING:
    from tuimatch.picture.picture import Picture


class PickApp(TuimatchApp):
    """Opens on a picture that lies over the match screen."""

    def __init__(self, path: Path, picture: Picture, **opening: Any) -> None:
        super().__init__(**opening)
        self._path, self._picture = path, picture

    def on_ready(self) -> None:
        """Lay the picture over the match; Textual calls the other app's handler as well."""
        self.push_screen(PickScreen(self._path, self._picture), self._picked)

    def _picked(self, text: str | None) -> None:
        if text is not None:
            self._match.set_target(text)
