"""A page matched together: what stays apart, and the time beside Pillow's `quantize`.

Run by hand: ``PYTHONPATH=.:tests python tests/bench/bench_page.py``. It draws page 10 of the comic
at 600 dpi (34.8 million pixels) and prints

- the neighbours that differ and would not any more, matched one by one and together, by palette;
- opening the file, reading its flats, matching them and painting the page as it will come out, as a
  part of the time in which Pillow opens the same file, reduces it to the same recipes (`quantize`
  to a palette) and saves it: without dithering, which gives flat colours, and with it, as Pillow
  does unless told otherwise; with the peak of the memory taken;
- how long 60 made up flats take, with any number of passes and with few.
"""

from __future__ import annotations

import json
import subprocess
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
PASSES = (4, 6, 8, 10)
ROUNDS = 5
LINE_ART = [target.parse("black")]


def timed(call: Callable[[], Any]) -> tuple[Any, float]:
    """An answer, and the seconds that it took."""
    begun = perf_counter()
    return call(), perf_counter() - begun


def collapsed(found: flats.Flats) -> None:
    """The table of what stays apart."""
    print(
        "palette               differ  lost one by one  same recipe  lost together    ΔE   proved"
    )
    for name in PALETTES:
        palette = palette_file.load(name)
        mixed = recipes.mix(palette)
        page = pages.of_flats(found, mixed, None, {})
        answer, seconds = timed(lambda page=page, p=palette: pages.solve(page, start(p)))
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


def ours(path: Path) -> dict[str, float]:
    """Open, read the flats, match and paint; the seconds of each."""
    mixed = recipes.mix(palette_file.load("newsprint-quarters"))
    shown, opening = timed(lambda: picture.read(path))
    found, finding = timed(lambda: flats.find(shown, LINE_ART))
    page = pages.of_flats(found, mixed, None, {})
    answer, matching = timed(lambda: pages.solve(page, start(mixed.palette)))
    _, painting = timed(lambda: found.painted([mixed.rgb_of(row) for row in answer.rows]))
    return {
        "opening the file": opening,
        "its flats": finding,
        "matching them": matching,
        "painting the page": painting,
        "opened and matched": opening + finding + matching,
    }


def by_pillow(path: Path, dither: Image.Dither) -> dict[str, float]:
    """Open, reduce to the recipes and save, as an artist would otherwise; the seconds of it."""
    of_recipes = Image.new("P", (1, 1))
    mixed = recipes.mix(palette_file.load("newsprint-quarters"))
    of_recipes.putpalette(mixed.srgb.tobytes())

    def reduce() -> None:
        with Image.open(path) as opened:
            opened.quantize(palette=of_recipes, dither=dither).save(path.with_name("q.png"))

    return {f"Pillow, {dither.name.lower()}": timed(reduce)[1]}


WAYS: dict[str, Callable[[Path], dict[str, float]]] = {
    "ours": ours,
    "plain": lambda path: by_pillow(path, Image.Dither.NONE),
    "usual": lambda path: by_pillow(path, Image.Dither.FLOYDSTEINBERG),
}


def one_way(name: str, path: Path) -> None:
    """Print what a way takes in this process: seconds, its processor time, its peak in MB."""
    import resource

    before = sum(sum(resource.getrusage(who)[:2]) for who in (0, -1))
    taken = WAYS[name](path)
    after = sum(sum(resource.getrusage(who)[:2]) for who in (0, -1))
    peaks = [resource.getrusage(who).ru_maxrss // 1000 for who in (0, -1)]
    print(json.dumps({"seconds": taken, "processor": after - before, "peaks": peaks}))


def beside_pillow(path: Path) -> None:
    """The table of times: the ways in turn, each time in a process of its own; the least counts."""
    seconds: dict[str, float] = {}
    processor: dict[str, float] = {}
    for _ in range(ROUNDS):
        for name in WAYS:
            command = [sys.executable, __file__, name, str(path)]
            said = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
            for what, taken in said["seconds"].items():
                seconds[what] = min(taken, seconds.get(what, taken))
            processor[name] = min(said["processor"], processor.get(name, said["processor"]))
            if name == "ours":
                peaks = said["peaks"]
    plain, usual = seconds["Pillow, none"], seconds["Pillow, floydsteinberg"]
    for what, taken in seconds.items():
        print(f"{what:24} {taken:6.2f} s   {taken / plain:5.2f}   {taken / usual:5.2f}")
    print("processor time, painting or saving and all that is imported included:", end=" ")
    print(", ".join(f"{name} {taken:.2f} s" for name, taken in processor.items()))
    print("peak {} MB, of the process that decodes {} MB".format(*peaks))


def main() -> None:
    """Print it all."""
    if sys.argv[1:]:
        one_way(sys.argv[1], Path(sys.argv[2]))
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.png"
        drawn = comic_page.draw(comic_page.FULL_SIZE, line=3)
        drawn.save(path, compress_level=1)
        print(f"{drawn.width} × {drawn.height}: {drawn.width * drawn.height / 1e6:.1f} megapixels")
        beside_pillow(path)
        collapsed(flats.read(path, LINE_ART))
    for name in PALETTES:
        wanted, pairs = made_up()
        mixed = recipes.mix(palette_file.load(name))
        kept = relations([one.given for one in wanted], pairs)
        for most in (None, *PASSES) if name != "coated-tenths" else (None,):
            answer, seconds = timed(
                lambda w=wanted, m=mixed, k=kept, p=most: match_page(w, m, k, max_passes=p)
            )
            passes = "any" if most is None else f"{most:3}"
            print(
                f"60 flats, {len(mixed):6,} recipes, {passes} passes: {seconds:.2f} s, "
                f"{answer.certainty()}"
            )


if __name__ == "__main__":
    main()
