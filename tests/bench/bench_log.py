"""The log at 100,000 choices against 1,000, as ratios: ``python tests/bench/bench_log.py``.

Opening, taking, listing the last and filtering by each text as it is typed. Runs are interleaved;
medians are compared. The filter's work at 100,000 is printed in milliseconds too, since it has a
limit of 50.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from kept import PALETTE, choice, fill

from tuimatch.log import Choice, Log

SMALL, LARGE = 1_000, 100_000
RUNS = 41
TYPED = ("l", "la", "lam", "lamp glass", "e", "7", "zz", "xyzzy", "yellow", '"magenta 50"', "#1f3")


def main() -> None:
    """Print a line for each measure."""
    with tempfile.TemporaryDirectory() as folder:
        logs = {}
        for size in (SMALL, LARGE):
            logs[size] = Log(Path(folder) / f"{size}.sqlite")
            fill(logs[size], size)
            logs[size].keep(PALETTE, choice("in a small project", project="small"))
            logs[size].database.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        megabytes = logs[LARGE].path.stat().st_size / 1e6
        print(f"{LARGE:,} choices take {megabytes:.0f} MB; ratios are to {SMALL:,} choices")

        def measure(name: str, work: Callable[[Log], list[Choice] | Choice | None]) -> None:
            times: dict[int, list[float]] = {SMALL: [], LARGE: []}
            for _ in range(RUNS):
                for size, log in logs.items():
                    start = time.perf_counter()
                    work(log)
                    times[size].append(time.perf_counter() - start)
            small, large = (statistics.median(times[size]) for size in (SMALL, LARGE))
            found = [len(r) for log in logs.values() if isinstance(r := work(log), list)]
            given = "" if not found else f"  {found[0]} and {found[1]} choices given"
            print(f"{name:32}{large / small:6.2f} {1000 * large:8.2f} ms{given}")

        measure("opening", lambda log: Log(log.path).close())
        measure("taking", lambda log: log.keep(PALETTE, choice()))
        measure("the last 12", lambda log: log.choices("ferrow", last=12))
        for text in TYPED:
            measure(f"filter {text}", lambda log, text=text: log.find(text, "ferrow"))
        for order in ("label", "page", "delta_e"):
            measure(f"sort by {order}", lambda log, order=order: log.find(order=order))
            measure(
                f"filter lamp, by {order}",
                lambda log, order=order: log.find("lamp", "ferrow", order=order),
            )
        measure("filter lamp, small project", lambda log: log.find("lamp", "small"))
        measure("filter lamp, all projects", lambda log: log.find("lamp"))


if __name__ == "__main__":
    main()
