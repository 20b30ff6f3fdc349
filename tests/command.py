"""The command in a folder of its own: in this process, as a real one, and on a terminal."""

from __future__ import annotations

import io
import json
import os
import pty
import signal
import subprocess
import sys
from contextlib import chdir, closing
from pathlib import Path
from unittest.mock import patch

from support import PATIENCE, ROOT

from tuimatch import cli


class Cli:
    """Runs the command in a folder of its own, with a log of its own.

    It runs in this process, which takes a fifth of the time of a new one: streams, folder and
    environment are the command's while it runs, and what they were again after it. `start` and
    `real` run it as a process, for what only a process has: a descriptor, a signal, an encoding.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.log = folder / "log.sqlite"
        kept = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLORTERM")}
        self.environment = {
            **kept,
            "PYTHONPATH": str(ROOT),
            "PYTHONWARNINGS": "default",
            "PYTHONIOENCODING": "utf-8",
            "TUIMATCH_LOG": str(self.log),
        }

    def start(self, *arguments: str, **options) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-m", "tuimatch", *arguments],
            env=self.environment,
            cwd=self.folder,
            text=True,
            encoding="utf-8",
            **{"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **options},
        )

    def run(self, *arguments: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
        streams = {"stdin": _stream(stdin), "stdout": _stream(), "stderr": _stream()}
        with (
            chdir(self.folder),
            patch.dict(os.environ, self.environment, clear=True),
            patch.multiple(sys, **streams),
        ):
            try:
                code = cli.run(list(arguments))
            except SystemExit as end:  # --help and --version
                code = end.code
        out, err = (_said(streams[name]) for name in ("stdout", "stderr"))
        return subprocess.CompletedProcess(arguments, code, out, err)

    def real(self, *arguments: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
        """The same as a process of its own."""
        with self.start(*arguments, stdin=subprocess.PIPE) as process:
            out, err = process.communicate(stdin, timeout=PATIENCE)
            return subprocess.CompletedProcess(arguments, process.returncode, out, err)

    def __call__(self, *arguments: str, stdin: str = "") -> str:
        """What it prints when all goes well, which is with nothing on standard error."""
        done = self.run(*arguments, stdin=stdin)
        assert (done.returncode, done.stderr) == (0, "")
        return done.stdout

    def refuses(self, *arguments: str, stdin: str = "") -> str:
        """The one line it refuses with."""
        done = self.run(*arguments, stdin=stdin)
        assert (done.returncode, done.stdout) == (2, ""), done
        assert done.stderr.startswith("tuimatch: ")
        assert done.stderr.endswith("\n")
        assert done.stderr.count("\n") == 1, done.stderr
        return done.stderr

    def lines(self, *arguments: str, stdin: str = "") -> list:
        return [json.loads(line) for line in self(*arguments, stdin=stdin).splitlines()]


def _stream(text: str = "") -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8", newline="\n")


def _said(stream: io.TextIOWrapper) -> str:
    stream.flush()
    written = stream.buffer
    assert isinstance(written, io.BytesIO)
    return written.getvalue().decode()


def interrupted(cli: Cli, *arguments: str) -> tuple[int, str, str]:
    """A long search, interrupted once it shows the time: its code, what it printed and showed."""
    ours, theirs = pty.openpty()
    shown = b""
    with cli.start(*arguments, stderr=theirs) as process:
        os.close(theirs)
        while b"Ctrl-C takes the best so far" not in shown:
            shown += os.read(ours, 1000)
        process.send_signal(signal.SIGINT)
        assert process.stdout is not None
        out = process.stdout.read()
        os.close(ours)
        return process.wait(), out, shown.decode()


def in_terminal(cli: Cli, *arguments: str, **environment: str) -> str:
    """What a command prints on a terminal; `match` for one colour unless another is given."""
    arguments = arguments or ("match", "tomato", "--top", "2")
    leader, follower = pty.openpty()
    cli.environment |= {"TERM": "xterm-256color", "COLORTERM": "truecolor", **environment}
    with cli.start(*arguments, stdout=follower, stderr=follower) as process:
        os.close(follower)
        said = b""
        with closing(os.fdopen(leader, "rb", buffering=0)) as terminal:
            while True:
                try:
                    part = terminal.read(4096)
                except OSError:
                    break
                if not part:
                    break
                said += part
        assert process.wait(60) == 0
    return said.decode()
