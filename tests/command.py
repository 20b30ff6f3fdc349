"""The command as a real process in a folder of its own, and on a terminal of its own."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from support import ROOT


class Cli:
    """Runs the command in a folder of its own, with a log of its own."""

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
        with self.start(*arguments, stdin=subprocess.PIPE) as process:
            out, err = process.communicate(stdin, timeout=60)
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
