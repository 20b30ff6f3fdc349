"""Start-up as ratios in one run: ``python tests/bench/bench_start.py``.

The first frame of the interface against a bare Textual app (a text, an input, an option list of 125
rows, a footer), both seen from a pseudo-terminal, and `tuimatch match` against importing
colour-science alone. Runs are interleaved; medians are compared.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from terminal import ROOT, Terminal

RUNS = 9
BARE = """
from textual.app import App
from textual.binding import Binding
from textual.widgets import Footer, Input, OptionList, Static

class Bare(App):
    BINDINGS = [Binding("f2", "quit", "Quit")]
    def compose(self):
        yield Static("text")
        yield Input()
        yield OptionList(*[f"row {n}" for n in range(125)])
        yield Footer()

Bare().run()
"""


def first_frame(*arguments: str, command: list[str] | None = None) -> float:
    """Seconds from the start to the last byte of the first frame, told by its footer."""
    start = time.perf_counter()
    with Terminal(*arguments, command=command) as terminal:
        while b"Quit" not in terminal.raw:
            if not terminal.read(20):
                raise SystemExit(f"no frame came:\n{terminal.text}")
        return time.perf_counter() - start


def command(*arguments: str) -> float:
    """Seconds that a command takes."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], capture_output=True, check=True, cwd=ROOT)
    return time.perf_counter() - start


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        # As installed: every module compiled once, ours and the libraries' alike.
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        os.environ["PYTHONPYCACHEPREFIX"] = str(Path(folder) / "compiled")
        log = ("--log", str(Path(folder) / "log.sqlite"))
        cases = {
            "bare Textual app": lambda: first_frame(command=[sys.executable, "-c", BARE]),
            "tuimatch": lambda: first_frame(*log),
            "tuimatch COLOUR": lambda: first_frame("#d94f2a", *log),
            "import colour": lambda: command("-W", "ignore", "-c", "import colour"),
            "tuimatch match": lambda: command("-m", "tuimatch", "match", "#d94f2a"),
        }
        for case in cases.values():
            case()
        times: dict[str, list[float]] = {name: [] for name in cases}
        for _ in range(RUNS):
            for name, case in cases.items():
                times[name].append(case())
    median = {name: statistics.median(found) for name, found in times.items()}
    for name, base in (
        ("bare Textual app", "bare Textual app"),
        ("tuimatch", "bare Textual app"),
        ("tuimatch COLOUR", "bare Textual app"),
        ("import colour", "import colour"),
        ("tuimatch match", "import colour"),
    ):
        ratio = median[name] / median[base]
        print(f"{name:<18} {median[name] * 1000:7.0f} ms   {ratio:5.2f} of {base}")


if __name__ == "__main__":
    main()
