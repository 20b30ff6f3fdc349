"""The command as a real process in a folder of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
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
