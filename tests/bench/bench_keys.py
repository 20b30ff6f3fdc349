"""Keys as ratios in one run: ``python tests/bench/bench_keys.py``.

From a key to the last byte of the frame it causes, seen from a pseudo-terminal, against a stock app
whose option list of 125 rows has no preview at all. Medians; the cases take turns.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bench_start import BARE
from terminal import Terminal

KEYS = 40
QUIET = 0.08
STOCK = BARE.replace("Bare().run()", "").replace(
    "        yield Footer()",
    "        yield Footer()\n    def on_mount(self):\n        self.query_one(OptionList).focus()",
)
STOCK += "\nBare().run()\n"


def frame(terminal: Terminal, act: str, *, paste: bool = False) -> float:
    """Milliseconds from a key or a paste to the last byte before the program is quiet."""
    start = last = time.perf_counter()
    terminal.send(f"\x1b[200~{act}\x1b[201~" if paste else act)
    while terminal.take(QUIET):
        last = time.perf_counter()
    return (last - start) * 1000


def held(terminal: Terminal, key: str, count: int = 40, gap: float = 1 / 30) -> float:
    """Milliseconds that the screen is behind after a key was held at 30 a second."""
    for _ in range(count):
        terminal.send(key)
        end = time.perf_counter() + gap
        while (left := end - time.perf_counter()) > 0:
            terminal.take(left)
    start = last = time.perf_counter() - gap
    while terminal.take(QUIET):
        last = time.perf_counter()
    return max(0.0, (last - start) * 1000)


def main() -> None:
    """Measure and print."""
    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory())

        def ours(*arguments: str) -> Terminal:
            log = ("--log", str(Path(folder) / f"{len(arguments)}{arguments[-1]}.sqlite"))
            terminal = stack.enter_context(Terminal("#6f9f8a", *log, *arguments))
            terminal.until("ΔE")
            terminal.settle(1)
            return terminal

        stock = stack.enter_context(Terminal(command=[sys.executable, "-c", STOCK]))
        stock.until("row 3")
        stock.settle(1)
        afar, close = ours("--project", "afar"), ours("--project", "close")
        large = ours("--palette", "coated-tenths")
        close.press("d")
        close.settle()
        up, down = "\x1b[A", "\x1b[B"
        times: dict[str, list[float]] = {}
        for n in range(KEYS):
            key = up if n // 10 % 2 else down  # ten down, ten up: the list need not scroll
            times.setdefault("stock list", []).append(frame(stock, key))
            times.setdefault("list and seam", []).append(frame(afar, key))
            times.setdefault("list, seam and dots", []).append(frame(close, key))
            times.setdefault("14,641 recipes", []).append(frame(large, key))
            colour = f"#{40 + 5 * n:02x}8060"
            times.setdefault("125 recipes, new target", []).append(frame(afar, colour, paste=True))
            times.setdefault("14,641 recipes, new target", []).append(
                frame(large, colour, paste=True)
            )
        base = statistics.median(times["stock list"])
        for name, found in times.items():
            median = statistics.median(found)
            print(f"{name:<28} {median:6.1f} ms   {median / base:5.2f} of the stock list")
        print(f"{'list, seam, held down':<28} {held(afar, down):6.1f} ms behind")
        print(f"{'dots, held down':<28} {held(close, down):6.1f} ms behind")
        print(f"{'stock list, held down':<28} {held(stock, down):6.1f} ms behind")


if __name__ == "__main__":
    main()
