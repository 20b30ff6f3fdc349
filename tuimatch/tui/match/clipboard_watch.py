"""The widget that looks at the clipboard from time to time, while it is followed."""

from __future__ import annotations

from collections.abc import Callable

from textual import on, work
from textual.message import Message
from textual.widget import Widget

from tuimatch.tui.match import clipboard_follower
from tuimatch.tui.match.clipboard_follower import Follower

_POLL_SECONDS = 0.25


class ClipboardWatch(Widget):
    """Posts each colour that is copied elsewhere; nothing is read while following is off."""

    DEFAULT_CSS = "ClipboardWatch { display: none; }"

    class Colour(Message):
        """A colour was copied."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class Said(Message):
        """Following began or ended, or cannot begin."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class Seen(Message):
        """What was on the clipboard at one look."""

        def __init__(self, text: str | None) -> None:
            super().__init__()
            self.text = text

    class Began(Message):
        """Whether the clipboard can be followed, and what will follow it."""

        def __init__(self, problem: str, follower: Follower) -> None:
            super().__init__()
            self.problem, self.follower = problem, follower

    def __init__(self, wanted: Callable[[], bool]) -> None:
        """Follow nothing yet.

        Args:
            wanted: Whether a colour would be of use now; what is copied meanwhile comes later.
        """
        super().__init__()
        self._wanted = wanted
        self._follower = Follower()
        self._following = self._looking = False

    def on_mount(self) -> None:
        """Look from time to time."""
        self.set_interval(_POLL_SECONDS, self._poll)

    def ours(self, text: str) -> None:
        """Tell what is about to be copied from here: that is not a colour to follow."""
        self._follower.ours(text)

    def toggle(self) -> None:
        """Follow, or stop."""
        if self._following:
            self._following = False
            self.post_message(self.Said("no longer following the clipboard"))
        else:
            self._start()

    @work(thread=True, exclusive=True, group="follow")
    def _start(self) -> None:
        problem = clipboard_follower.unavailable()
        follower = Follower()
        follower.seen(clipboard_follower.read_desktop_clipboard())  # what is there is not news
        self.post_message(self.Began(problem, follower))

    @on(Began)
    def _began(self, message: Began) -> None:
        self._following, self._follower = not message.problem, message.follower
        said = "following the clipboard: what you copy is matched; o stops"
        self.post_message(self.Said(message.problem or said))

    def _poll(self) -> None:
        # One look at a time: a clipboard that answers slowly is not asked again meanwhile.
        if self._following and self._wanted() and not self._looking:
            self._looking = True
            self._look()

    @work(thread=True, group="follow")
    def _look(self) -> None:
        self.post_message(self.Seen(clipboard_follower.read_desktop_clipboard()))

    @on(Seen)
    def _seen(self, message: Seen) -> None:
        self._looking = False
        if self._following and self._wanted():
            colour = self._follower.seen(message.text)
            if colour is not None:
                self.post_message(self.Colour(colour))
