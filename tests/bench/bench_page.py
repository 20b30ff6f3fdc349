"""A page matched together: what stays apart, and the time beside Pillow's `quantize`.

Run by hand: ``PYTHONPATH=.:tests python tests/bench/bench_page.py``. It draws page 10 of the comic
at 600 dpi (34.8 million pixels) and prints

- the neighbours that differ and would not any more, matched one by one and together, by palette;
- opening the file, reading its flats, matching them and painting the page as it will come out, as a
  part of the time in which Pillow opens the same file, reduces it to the same recipes (`quantize`
  to a palette) and saves it: without dithering, which gives flat colours, and with it, as Pillow
  does unless told otherwise;
- the peak of the memory that this process took.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter
from typing import Any

import comic_page
import numpy as np
from PIL import Image

from tuimatch.colour import target
from tuimatch.match.limits import start
from tuimatch.palette import file as palette_file
from tuimatch.picture import flats, picture
from tuimatch.planning import page as pages
from tuimatch.planning.page_match import Wanted, match_page
from tuimatch.planning.relations import broken, relations
from tuimatch.recipe import recipes

PALETTES = ("screen-quarters", "newsprint-quarters", "newsprint-sixty-four", "coated-tenths")
LINE_ART = [target.parse("black")]


def timed(call: Callable[[], Any], times: int = 3) -> tuple[Any, float]:
    """An answer, and the least time of some calls in seconds."""
    taken, answer = [], None
    for _ in range(times):
        begun = perf_counter()
        answer = call()
        taken.append(perf_counter() - begun)
    return answer, min(taken)


def collapsed(found: flats.Flats) -> None:
    """The table of what stays apart."""
    print(
        "palette               differ  lost one by one  same recipe  lost together    ΔE   proved"
    )
    for name in PALETTES:
        palette = palette_file.load(name)
        mixed = recipes.mix(palette)
        page = pages.of_flats(found, mixed, None, {})
        answer, seconds = timed(lambda page=page, p=palette: pages.solve(page, start(p)), 1)
        alone = mixed.lab[list(answer.alone)]
        lost = sum(bool(broken(r, alone[r.first], alone[r.second])) for r in answer.relations)
        same = sum(answer.alone[r.first] == answer.alone[r.second] for r in answer.relations)
        weights = np.sqrt([one.share for one in answer.wanted])
        more = answer.cost / float(weights @ answer.alone_delta_e) - 1
        print(
            f"{name:22}{len(answer.relations):6}{lost:17}{same:13}{len(answer.why_not):15}"
            f"{more:+7.0%}   {answer.proved}, {seconds:.2f} s"
        )


def made_up(seed: int = 1) -> tuple[list[Wanted], list[tuple[int, int]]]:
    """30 lights with their shades, 6 to 14 L darker, and the 119 pairs that lie nearest."""
    random = np.random.default_rng(seed)
    lights = random.uniform([20, -40, -40], [90, 50, 60], (30, 3))
    shades = lights - np.stack([random.uniform(6, 14, 30), *random.normal(0, 2, (2, 30))], axis=1)
    labs = np.stack([lights, shades], axis=1).reshape(-1, 3)
    places = random.uniform(0, 1, (30, 2)).repeat(2, axis=0) + random.normal(0, 0.03, (60, 2))
    first, second = np.triu_indices(60, 1)
    nearest = np.argsort(np.hypot(*(places[first] - places[second]).T))[:119]
    shares = random.lognormal(-4.5, 1, 60)
    page = [Wanted(tuple(lab), tuple(lab), share) for lab, share in zip(labs, shares, strict=True)]
    return page, list(zip(first[nearest].tolist(), second[nearest].tolist(), strict=True))


def main() -> None:
    """Print it all."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.png"
        drawn = comic_page.draw(comic_page.FULL_SIZE, line=3)
        drawn.save(path, compress_level=1)
        print(f"{drawn.width} × {drawn.height}: {drawn.width * drawn.height / 1e6:.1f} megapixels")
        shown, opening = timed(lambda: picture.read(path))
        found, finding = timed(lambda: flats.find(shown, LINE_ART))
        mixed = recipes.mix(palette_file.load("newsprint-quarters"))
        page = pages.of_flats(found, mixed, None, {})
        _, matching = timed(lambda: pages.solve(page, start(mixed.palette)))
        of_recipes = Image.new("P", (1, 1))
        of_recipes.putpalette(mixed.srgb.tobytes())
        answer = pages.solve(page, start(mixed.palette))
        colours = [mixed.rgb_of(row) for row in answer.rows]
        _, painting = timed(lambda: found.painted(colours))

        def by_pillow(dither: Image.Dither) -> None:
            with Image.open(path) as opened:
                opened.quantize(palette=of_recipes, dither=dither).save(path.with_name("q.png"))

        _, plain = timed(lambda: by_pillow(Image.Dither.NONE))
        _, usual = timed(lambda: by_pillow(Image.Dither.FLOYDSTEINBERG))
        for name, seconds in (
            ("opening the file", opening),
            ("its flats", finding),
            ("matching them", matching),
            ("painting the page", painting),
            ("opened and matched", opening + finding + matching),
            ("Pillow, no dither", plain),
            ("Pillow as it is", usual),
        ):
            print(f"{name:20} {seconds:6.2f} s   {seconds / plain:5.2f}   {seconds / usual:5.2f}")
        collapsed(found)
    for name in PALETTES:
        wanted, pairs = made_up()
        mixed = recipes.mix(palette_file.load(name))
        answer, seconds = timed(
            lambda w=wanted, m=mixed, p=pairs: match_page(
                w, m, relations([one.given for one in w], p)
            ),
            1,
        )
        print(f"60 flats, {len(mixed):6,} recipes: {seconds:.2f} s, {answer.certainty()}")
    if sys.platform != "win32":
        import resource

        peaks = (resource.getrusage(who).ru_maxrss // 1000 for who in (0, -1))
        print("peak {} MB, of the process that decodes {} MB".format(*peaks))


if __name__ == "__main__":
    main()
