"""Reading a swatch against a plain mean by Pillow and numpy, in megapixels a second.

Run by hand: ``PYTHONPATH=.:tests python tests/bench/bench_swatch.py``.
"""

from __future__ import annotations

from time import perf_counter

import numpy as np
from PIL import Image
from rendered import tint

from tuimatch.own_palette import swatch
from tuimatch.picture.picture import Picture


def best(call: object, times: int = 5) -> float:
    """The least time of some calls, in seconds."""
    taken = []
    for _ in range(times):
        start = perf_counter()
        call()  # type: ignore[operator]
        taken.append(perf_counter() - start)
    return min(taken)


def main() -> None:
    """Print both speeds and their ratio."""
    pixels = np.tile(tint(edge="linear", size=(400, 400)), (5, 5, 1))
    image, picture = Image.fromarray(pixels), Picture("made", pixels)
    megapixels = pixels.shape[0] * pixels.shape[1] / 1e6
    plain = best(lambda: np.asarray(image).mean(axis=(0, 1)))
    reading = best(lambda: swatch.read(picture))
    mean = best(lambda: picture.mean((0, 0, picture.width, picture.height)))
    for name, seconds in (("plain mean", plain), ("mean in light", mean), ("swatch", reading)):
        print(f"{name:14} {megapixels / seconds:6.0f} MP/s   {seconds / plain:.2f} of a plain mean")


if __name__ == "__main__":
    main()
