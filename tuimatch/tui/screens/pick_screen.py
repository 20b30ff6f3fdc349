"""Choosing the target in a picture: the mean of a small square, in linear light."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len
from textual import getters, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.message import Message

from tuimatch.errors import PictureError
from tuimatch.text import hexed, printable
from tuimatch.tui.screens.explained import ExplainedScreen, help_key
from tuimatch.tui.widgets.block_list import fitted
from tuimatch.tui.widgets.foot import Foot
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.picture_view import PictureView
from tuimatch.tui.widgets.seam import Seam

if TYPE_CHECKING:
    from tuimatch.colour.target import Target
    from tuimatch.picture.picture import Picture


class PickScreen(ExplainedScreen[str | None]):
    """Answers the colour as a text that reads back as it, or None."""

    DEFAULT_CSS = """
    PickScreen {
        #pick-head { height: 1; }
        #pick-foot { height: 5; padding-top: 1; }
        #pick-swatch { width: 1fr; height: 100%; }
        #pick-facts { width: 2fr; max-width: 64; height: 100%; padding: 0 1; }
    }
    """
    WORDS = (
        "#rrggbb",
        "lab(L a b)",
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "pick", "Pick", tooltip="Make it the target", id="pick.take"),
        help_key("pick"),
        Binding("escape", "dismiss(None)", "Back", tooltip="Back without", id="pick.back"),
    ]

    view = getters.query_one(PictureView)

    class Read(Message):
        """The picture is read, or refused with the reason."""

        def __init__(self, path: Path, picture: Picture | None, refusal: str) -> None:
            super().__init__()
            self.path, self.picture, self.refusal = path, picture, refusal

    def __init__(self, path: Path, picture: Picture | None = None) -> None:
        """Open on a picture.

        Args:
            path: The file.
            picture: What is in it, where it has been read already.
        """
        super().__init__()
        self._path, self._picture = path, picture
        self._target: Target | None = None

    def compose(self) -> ComposeResult:
        """Head, picture, the colour that Enter picks, keys."""
        yield Lines(id="pick-head")
        yield PictureView()
        with Horizontal(id="pick-foot"):
            yield Seam(id="pick-swatch")
            yield Lines(id="pick-facts")
        yield Foot()

    def on_mount(self) -> None:
        """Read the picture without holding up the first frame."""
        self.view.focus()
        for attribute in ("cursor", "area", "zoom"):
            self.watch(self.view, attribute, self._show, init=False)
        if self._picture is None:
            self._say(f"reading {self._path.name}")
            self._read(self._path)

    def needs(self, work: str, deed: str) -> bool:
        """Every key but leaving waits until the picture is read; none waits for its drawing."""
        return work == "read" and deed != "dismiss"

    def on_resize(self) -> None:
        """Set the head to the new width, once there is something to show."""
        if self._picture is not None:
            if self._target is None:
                self.view.show(self._picture)
            self._show()

    @work(thread=True, exclusive=True, group="read")
    def _read(self, path: Path) -> None:
        from tuimatch.picture import picture

        try:
            self.post_message(self.Read(path, picture.read(path), ""))
        except PictureError as error:
            self.post_message(self.Read(path, None, str(error)))

    @on(Read)
    def _was_read(self, message: Read) -> None:
        if message.path != self._path:
            return
        self._picture = message.picture
        if message.picture is None:
            self._say(message.refusal)
        else:
            self.view.show(message.picture)
            self._show()

    def _show(self) -> None:
        picture = self._picture
        if picture is None:
            return
        (x, y), size, scale = self.view.cursor, self.view.area, self.view.zoom
        seen = f"1 : {1 / scale:.3g}" if scale < 1 else f"{scale:g} : 1"
        right = f"{picture.width} × {picture.height}, seen {seen} "
        left = " ".join([printable(self._path.name), *(f"({note})" for note in picture.notes)])
        room = max(0, self.app.size.width - 2 - cell_len(right))
        self._say(fitted(left, room).text + right)
        around = f"mean of {size} × {size} pixels around {x}, {y}"
        try:
            self._target = picture.target(x, y, size)
        except PictureError as error:
            self._target = None
            self.query_one("#pick-swatch", Seam).show(None, None)
            self._facts("", str(error).removeprefix(f"{picture.file}: "), around)
            return
        rgb = self._target.srgb
        self.query_one("#pick-swatch", Seam).show(rgb, rgb)
        self._facts(*dict.fromkeys((hexed(rgb), self._target.text)), around)

    def _say(self, text: str) -> None:
        self.query_one("#pick-head", Lines).show(printable(text))

    def _facts(self, *lines: str) -> None:
        self.query_one("#pick-facts", Lines).show("\n".join(map(printable, lines)))

    @on(PictureView.Chosen)
    def action_pick(self) -> None:
        """Close with the colour, where there is one."""
        if self._target is not None:
            self.dismiss(self._target.text)
