"""Drawing the layers of a page of 35 megapixels, against Pillow writing the same files alone.

    python tests/bench/bench_layers.py

Prints ratios within one run, and the most memory the process took.
"""

from __future__ import annotations

import io
import resource
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import comic_page
import numpy as np

from tuimatch.colour import target
from tuimatch.palette import file as palette_file
from tuimatch.picture import flats, picture
from tuimatch.plates import layers, painting, press, proof
from tuimatch.plates.painting import no_progress
from tuimatch.plates.screening import Screening
from tuimatch.recipe import recipes

WIDTH = 5000  # with the page's shape about 35 megapixels


def taken(what: str, work) -> float:
    start = time.perf_counter()
    work()
    seconds = time.perf_counter() - start
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    print(f"{what:<44} {seconds:7.2f} s   {most:5.0f} MB at most so far")
    return seconds


def main() -> None:
    mixed = recipes.mix(palette_file.load("screen-quarters"))
    inks = tuple(tuple(round(v) for v in ink.solid) for ink in mixed.palette.inks)
    colours = layers.Colours(tuple(round(v) for v in mixed.palette.paper), inks)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        comic_page.draw(WIDTH, line=6, smooth=True).save(folder / "page.png")
        found = []

        def read() -> None:
            page = picture.read(folder / "page.png")
            seen = flats.find(page, [target.parse(comic_page.INK)])
            rows = np.random.default_rng(0).integers(0, len(mixed), len(seen.flats)).tolist()
            found.append(painting.of_page(page, seen, mixed, rows))

        taken("reading the flats and the line art", read)
        page = found[0]
        print(f"{page.width} x {page.height}, {len(page.rows)} flats, {len(page.lines)} line art")

        def ora() -> None:
            made = layers.Layers(page, colours, Screening(), no_progress)
            layers.write_openraster(folder / "page.ora", made, 300, no_progress)

        def plates() -> None:
            press.write_plates(folder, page, Screening(9.2), dpi=600, marks=True, told=no_progress)

        ours = taken("OpenRaster, with dots", ora)
        taken("plates", plates)
        taken("proof", lambda: proof.write_proof(
            folder / "proof.png", page, Screening(), dpi=300, told=no_progress))  # fmt: skip
        made = layers.Layers(page, colours, Screening(), no_progress)

        def pillow() -> float:
            total = 0.0
            for image in (*made.images(), made.merged()):
                start = time.perf_counter()
                image.save(io.BytesIO(), "PNG")
                total += time.perf_counter() - start
            return total

        print(f"OpenRaster: {ours / pillow():.2f} of the time Pillow takes to write the same PNGs")


if __name__ == "__main__":
    main()
