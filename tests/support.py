"""What several test modules share: reference figures, fresh interpreters, random palettes."""

from __future__ import annotations

import csv
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from hypothesis import is_hypothesis_test, settings
from hypothesis import strategies as st

from tuimatch.palette.model import Ink, Palette, Triple

ROOT = Path(__file__).parent.parent
# Seconds that nothing needs, however slow or busy the machine is; only what hangs waits so long.
PATIENCE = 180.0
REFERENCE = Path(__file__).parent / "reference"

# Correct palette files to start from.
MEASURED = """\
name = "Test sheet"
about = "for tests"
kind = "measured"
source = "a report"
yule_nielsen = 1.5
coverage_limit = 240

[paper]
name = "newsprint"
lab = [80.11, 0.02, 3.54]

[[inks]]
name = "yellow"
symbol = "Y"
lab = [76.52, -4.10, 54.38]
angle = 0
gain = 0.20
tints = [25, 50, 100]
labels = ["pale", "half", "solid"]
measured = { 25 = [78.57, -2.60, 22.57] }

[[inks]]
name = "magenta"
symbol = "M"
lab = [52.57, 44.34, -0.95]
tints = [50, 100]

[[overprints]]
inks = ["yellow", "magenta"]
lab = [50.91, 40.81, 22.09]
"""
SCREEN = """\
name = "Test layers"
kind = "screen"

[paper]
name = "white"
srgb = "#ffffff"

[[inks]]
name = "yellow"
symbol = "Y"
srgb = "#ffe800"
tints = [50, 100]

[[inks]]
name = "cyan"
symbol = "C"
srgb = "#009ee0"
tints = [50, 100]
"""


def costly(law: Callable[..., None]) -> Callable[..., None]:
    """For a law whose single case is slow: a quarter of the cases of the profile in use.

    Asked for where the law is written and not before: `settings` of an earlier moment know nothing
    of the profile that `conftest` loads, nor of the one named on the command line.
    """
    return settings(max_examples=settings().max_examples // 4)(law)


def of_profile(test: object) -> bool:
    """Whether a test, if it is a law, runs as the profile in use says, but for how many cases."""
    if not is_hypothesis_test(test):
        return True
    own, usual = test._hypothesis_internal_use_settings, settings()
    names = ("deadline", "derandomize", "database", "print_blob", "suppress_health_check")
    return all(getattr(own, name) == getattr(usual, name) for name in names)


def reference_rows(name: str) -> list[dict[str, str]]:
    """The rows of a reference table, without its comments."""
    with (REFERENCE / f"{name}.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def reference_labs(name: str) -> dict[tuple[float, float, float, float], Triple]:
    """Absolute Lab of a characterisation by percent of yellow, magenta, cyan and black."""
    return {
        (float(row["y"]), float(row["m"]), float(row["c"]), float(row["k"])): (
            float(row["L"]),
            float(row["a"]),
            float(row["b"]),
        )
        for row in reference_rows(name)
    }


def in_fresh_interpreter(
    code: str, *, first_on_path: Path | None = None
) -> subprocess.CompletedProcess[str]:
    """Run code where nothing is imported yet, in the checkout, with every warning shown."""
    path = [str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    if first_on_path is not None:
        path.insert(0, str(first_on_path))
    return subprocess.run(
        [sys.executable, "-W", "always", "-c", code],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(path)},
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
    )


def plain_text(most: int) -> st.SearchStrategy[str]:
    """Any text a palette file may hold: printable and not blank."""
    unsafe = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
    characters = st.characters(exclude_categories=unsafe)
    return st.text(characters, min_size=1, max_size=most).filter(lambda text: bool(text.strip()))


tint_ladders = st.lists(
    st.one_of(st.integers(1, 100).map(float), st.integers(100, 10_000).map(lambda x: x / 100)),
    min_size=1,
    max_size=4,
    unique=True,
).map(lambda tints: tuple(sorted(tints)))
gains = st.none() | st.floats(-0.25, 0.4)
factors = st.none() | st.floats(1, 10)
srgb_triples = st.tuples(*[st.integers(0, 255)] * 3)
lab_triples = st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))


@st.composite
def screen_palettes(draw: st.DrawFn, most_inks: int = 3) -> Palette:
    """Random inks of a drawing program, on layers that multiply."""
    inks = tuple(
        Ink(f"ink {i}", str(i), draw(srgb_triples), draw(tint_ladders), gain=draw(gains))
        for i in range(draw(st.integers(1, most_inks)))
    )
    return Palette(
        stem="random",
        name="Random",
        about="",
        kind="screen",
        source="",
        paper_name="paper",
        paper=draw(srgb_triples),
        inks=inks,
        yule_nielsen=draw(factors),
    )
