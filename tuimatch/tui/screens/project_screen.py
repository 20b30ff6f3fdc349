"""The projects: switched between, made, renamed, archived and brought back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from rich.segment import Segment
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from tuimatch.log import Choice, Log, Project
from tuimatch.text import local_day, printable, rgb_of_hex
from tuimatch.tui.screens.explained import help_key
from tuimatch.tui.screens.log_screen import LogScreen
from tuimatch.tui.widgets.block_list import DIM, HERE, PLAIN, BlockList, fitted
from tuimatch.tui.widgets.lines import Lines
from tuimatch.tui.widgets.paint import block

_SWATCH = 3


class ProjectList(BlockList):
    """Name, choices and the newest colours of each project."""

    HIGH = 3

    def __init__(self, newest: Callable[[str, int], list[Choice]]) -> None:
        """Show nothing yet.

        Args:
            newest: Gives the newest choices of a project, so many at most.
        """
        super().__init__()
        self._newest = newest
        self._projects: list[Project] = []
        self._current = ""
        self._colours: dict[str, list[Choice]] = {}

    @property
    def project(self) -> Project | None:
        """The project under the cursor."""
        return self._projects[self.cursor] if self._projects else None

    def show(self, projects: list[Project], current: str, at: str) -> None:
        """Show projects, the cursor on one of them, or where it was if that one is not there."""
        self._projects, self._current = projects, current
        self._colours.clear()
        names = [project.name for project in projects]
        stay = min(self.cursor, max(0, len(projects) - 1))
        self.show_blocks(len(projects), names.index(at) if at in names else stay)

    def prepare(self, places: range) -> None:
        """Fetch the colours of what is in view and not there yet."""
        for place in places:
            name = self._projects[place].name
            if name not in self._colours:
                self._colours[name] = self._newest(name, self.size.width // _SWATCH)[::-1]

    def block_line(self, place: int, part: int, width: int) -> list[Segment]:
        """A line of words, one of swatches, and one between the projects."""
        project, here = self._projects[place], place == self.cursor
        if part == 2:
            return []
        if part == 1:
            colours = self._colours.get(project.name, [])[: (width - 2) // _SWATCH]
            return [Segment("  "), *(block(rgb_of_hex(c.srgb), _SWATCH) for c in colours)]
        style = HERE if here else PLAIN
        used = "  in use" if project.name == self._current else ""
        count = f"{project.choices:,} recipe{'s' * (project.choices != 1)}"
        since = f", since {local_day(project.created_at)}" if width >= 80 else ""
        archived = f", archived {local_day(project.archived_at)}" if project.archived_at else ""
        right = f"  {count}{since}{archived}"
        room = width - 2 - len(right)
        return [
            Segment("▸ " if here else "  ", style),
            fitted(printable(project.name) + used, room, style),
            Segment(right, DIM),
        ]


class ProjectScreen(LogScreen[str | None]):
    """Answers the name of the project to use; after a renaming also that of the one in use."""

    DEFAULT_CSS = """
    ProjectScreen {
        #project-head { margin-bottom: 1; padding: 0 1; }
        ProjectList { padding-right: 1; }
    }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "use", "Use", tooltip="Go on in this project", id="project.take"),
        Binding("N", "create", "New", tooltip="Make a project and use it", id="project.new"),
        Binding("R", "rename", "Rename", tooltip="Give it another name", id="project.rename"),
        Binding(
            "x",
            "archive",
            "Archive",
            tooltip="Archive it, or bring it back; its recipes stay",
            id="project.remove",
        ),
        Binding(
            "A",
            "archived",
            "Archived",
            tooltip="Show or hide the archived projects",
            id="project.all",
        ),
        Binding(
            "u",
            "undo",
            "Undo",
            tooltip="Undo the project's last change, even from an earlier session",
            id="project.undo",
        ),
        Binding(
            "U,ctrl+r",
            "redo",
            "Redo",
            tooltip="Redo the change that was undone last",
            id="project.redo",
            show=False,
        ),
        help_key("project"),
        Binding("escape", "back", "Back", tooltip="Go back", id="project.back"),
    ]

    def __init__(self, log_path: Path, current: str) -> None:
        """Open on the project in use.

        Args:
            log_path: The log's file.
            current: The name of the project in use.
        """
        super().__init__(log_path)
        self._current = self._opened_on = current
        self._archived = False

    @property
    def projects(self) -> ProjectList:
        """The list."""
        return self.query_one(ProjectList)

    def compose(self) -> ComposeResult:
        """Head, projects, message, keys or question."""
        yield Lines(id="project-head")
        yield ProjectList(self._newest)
        yield from self.foot()

    def on_mount(self) -> None:
        """Read the projects after the first frame."""
        self.projects.focus()
        self.call_after_refresh(self._show, self._current)

    def _newest(self, name: str, most: int) -> list[Choice]:
        return self.with_log(lambda log: log.choices(name, last=most)) or []

    def _show(self, at: str = "") -> None:
        projects = self.with_log(lambda log: log.projects.all(archived=True)) or []
        away = sum(project.archived_at is not None for project in projects)
        listed = [p for p in projects if self._archived or p.archived_at is None]
        self.projects.show(listed, self._current, at)
        said = "projects" if listed else "no projects here: N makes one"
        if away:
            said += f", {away} archived {'among them' if self._archived else 'not shown: A'}"
        self.query_one("#project-head", Lines).show(said)

    # Keys.

    @on(BlockList.Chosen)
    def action_use(self) -> None:
        """Close with the project under the cursor, remembered as the one in use."""
        project = self.projects.project
        if project is not None:
            name = self.with_log(lambda log: log.projects.use(project.name))
            if name is not None:
                self.dismiss(name)

    def action_create(self) -> None:
        """Type the name of a new project."""
        self.ask("create", "the name of a new project")

    def action_rename(self) -> None:
        """Type another name."""
        if self.projects.project is not None:
            name = self.projects.project.name
            self.ask("rename", f"another name for {name}", name)

    def action_archive(self) -> None:
        """Leave the project out of the list, or bring it back."""
        project = self.projects.project
        if project is None:
            return
        if project.archived_at is None:
            self._do(
                lambda log: (
                    f"{log.projects.archive(project.name)} is archived; its recipes stay,"
                    " A shows it and x brings it back"
                )
            )
        else:
            self._do(lambda log: f"{log.projects.restore(project.name)} is back in the list")

    def action_archived(self) -> None:
        """Show the archived projects too, or not."""
        self._archived = not self._archived
        here = self.projects.project
        self._show(here.name if here else "")

    def action_undo(self) -> None:
        """Undo the last change of the project under the cursor."""
        self._turn(lambda log, name: log.undo(name) or "nothing to undo")

    def action_redo(self) -> None:
        """Redo the change that was undone last."""
        self._turn(lambda log, name: log.redo(name) or "nothing to redo")

    def _turn(self, way: Callable[[Log, str], str]) -> None:
        project = self.projects.project
        if project is None:
            return

        def turn(log: Log) -> tuple[str, str]:
            with log.database.reading():
                number = log.projects.find_id(project.name)
            said = way(log, project.name)
            return said, project.name if number is None else log.projects.name_of(number)

        done = self.with_log(turn)
        if done is not None:
            said, name = done
            if project.name == self._current:
                self._current = name
            self.say(said)
            self._show(name)

    def action_back(self) -> None:
        """Close; the project in use may have another name now."""
        self.dismiss(None if self._current == self._opened_on else self._current)

    def _do(self, work: Callable[[Log], str]) -> None:
        said = self.with_log(work)
        here = self.projects.project
        if said is not None:
            self.say(said)
        self._show(here.name if here else "")

    # Answers.

    def answered(self, what: str, answer: str) -> bool:
        """Take the name of a project; whether it will do."""
        return self._made(answer) if what == "create" else self._renamed(answer)

    def _made(self, name: str) -> bool:
        made = self.with_log(lambda log: log.projects.create(name))
        if made is not None:
            self.dismiss(made)
        return made is not None

    def _renamed(self, name: str) -> bool:
        project = self.projects.project
        assert project is not None
        new = self.with_log(lambda log: log.projects.rename(project.name, name))
        if new is None:
            return False
        if project.name == self._current:
            self._current = new
        self.say(f"{project.name} is now {new}")
        self._show(new)
        return True
