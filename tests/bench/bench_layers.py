"""Drawing the layers of a page of 35 megapixels, against Pillow writing the same files alone.

    python tests/bench/bench_layers.py

Prints ratios within one run, and the most memory that the command takes.
"""

from __future__ import annotations

import io
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import comic_page
import numpy as np
from PIL import Image

from tuimatch.colour import target
from tuimatch.palette import file as palette_file
from tuimatch.picture import flats, picture
from tuimatch.plates import layers, order, painting, proof
from tuimatch.plates.painting import no_progress
from tuimatch.plates.screening import Screening
from tuimatch.recipe import recipes

WIDTH = 5000  # with the page's shape about 35 megapixels
COMMAND = """
import sys
from tuimatch.cli import run
code = run(sys.argv[1:])
print(open("/proc/self/status").read().split("VmHWM:")[1].split()[0])
sys.exit(code)
"""


def seconds(work) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def most_memory(folder: Path, *wanted: str) -> float:
    """MB that `tuimatch layers` took at most, in a process of its own, from the file on."""
    arguments = ["layers", "page.png", "--keep", comic_page.INK, "--match", "--log", "none.sqlite"]
    done = subprocess.run(
        [sys.executable, "-c", COMMAND, *arguments, *wanted],
        capture_output=True, text=True, check=True, cwd=folder,
    )  # fmt: skip
    return int(done.stdout.split()[-1]) / 1000


def main() -> None:
    mixed = recipes.mix(palette_file.load("screen-quarters"))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        comic_page.draw(WIDTH, line=6, smooth=True).save(folder / "page.png")
        for wanted in (
            ("--out", "page.ora"), ("--out", "pngs"), ("--plates", "plates", "--marks"),
            ("--proof", "proof.png"),
        ):  # fmt: skip
            print(f"{' '.join(wanted):<24} {most_memory(folder, *wanted):5.0f} MB at most")
        read = picture.read(folder / "page.png")
        seen = flats.find(read, [target.parse(comic_page.INK)])
        rows = np.random.default_rng(0).integers(0, len(mixed), len(seen.flats)).tolist()
        page = painting.of_page(read, seen, mixed, rows)
        print(f"{page.width} x {page.height}, {len(page.rows)} flats, {len(page.lines)} line art")
        made = layers.Layers(page, layers.Colours.of(mixed), Screening(), no_progress)

        def pillow(*images: Image.Image) -> float:
            return sum(seconds(partial(image.save, io.BytesIO(), "PNG")) for image in images)

        def ratio(what: str, ours: float, theirs: float) -> None:
            print(f"{what:<12} {ours:6.2f} s, {ours / theirs:.2f} of Pillow's for the same files")

        def draw(wanted: order.Order) -> float:
            return seconds(lambda: order.draw(replace(wanted, replace=True), page, no_progress))

        ratio("OpenRaster", draw(order.Order(layers=folder / "page.ora")),
              pillow(*made.images(), made.merged()))  # fmt: skip
        ratio("proof", draw(order.Order(proof=folder / "proof.png")),
              pillow(proof.draw(page, Screening(), no_progress)))  # fmt: skip
        draw(order.Order(plates=folder / "grey", dots=False))
        grey = [Image.open(path) for path in (folder / "grey").iterdir()]
        for image in grey:
            image.load()
        ratio("grey plates", draw(order.Order(plates=folder / "greys", dots=False)), pillow(*grey))
        ours = draw(order.Order(plates=folder / "plates", ruling=65, dpi=600))
        print(f"{'1-bit plates':<12} {ours:6.2f} s, most of it the dots")


if __name__ == "__main__":
    main()
