"""Remake the README's pictures: ``python tests/pictures.py`` (needs the DejaVu Sans Mono font).

Each picture is the real program in a real pseudo-terminal, drawn cell by cell in exact colours.
``--all FOLDER`` draws every view at 60x24, 100x30 and 160x45, for looking at before a change lands.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import comic
import comic_page
from PIL import Image, ImageColor, ImageDraw, ImageFont
from terminal import ROOT, Terminal

from tuimatch.log import Log

CELL = (10, 20)
SIZES = ((60, 24), (100, 30), (160, 45))
# Also made for a pane of 36x12.
SMALL = {"start", "reach", "review", "page", "lay", "passes", "ticked", "economy", "wheel"}
PLAIN = {"default": "#d4d4d4", "black": "#000000", "white": "#e5e5e5", "brown": "#cdcd00"}

PAGE = "page.png"  # stands for the comic's page, drawn where the log is

# Each view: arguments, then what to wait for (">text") and what to press, in order.
VIEWS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "match": (
        ("#d9803f", "--palette", "newsprint-quarters", "--project", "ferrow"),
        (">ΔE", "enter", ">kept", "lamp glass", "enter", "down"),
    ),
    "dots": (("#6f9f8a", "--project", "ferrow"), (">ΔE", "d", "+", "m")),
    "held": (("#6a3fa0", "--palette", "newsprint-quarters"), (">ΔE", "h", "h", "i", "i", "x")),
    "nothing": (("#6a3fa0",), (">ΔE", "f", "u")),
    "start": ((), (">paste",)),
    "refused": ((), (">paste", "t", "lamp glass", "enter")),
    "zine": (("#a07888", "--palette", "zine-two-inks"), (">ΔE", "w", "shift+left")),
    "reach": (("#d9803f", "--palette", "newsprint-quarters"), (">ΔE", "r", ">Back")),
    "reach-cover": (("#2a5a48", "--palette", "coated-tenths"), (">ΔE", "r", ">Back")),
    "help": (("tomato",), (">ΔE", "?", ">This recipe")),
    "palettes": (("tomato",), (">ΔE", "p", ">Coated")),
    "apart": (
        ("#5a8a3a", "--project", "ferrow"),
        (
            ">ΔE",
            "3",
            "fog bank",
            "enter",
            "7",
            "quay",
            "enter",
            "4",
            "coat",
            "enter",
            "a",
            ">protan",
        ),
    ),
    "page-screen": (
        ("page", PAGE, "--keep", "black", "--palette", "newsprint-quarters"),
        (">differ", f"\x1b[200~{comic_page.labels_text()}\x1b[201~", *["down"] * 7, "d"),
    ),
    "lay": (
        ("#9a4a45", "--project", "ferrow", "--palette", "newsprint-quarters"),
        (">ΔE", "b", ">laid", "space", "space"),
    ),
    "passes": (
        ("--project", "ferrow"),
        (">paste", "n", ">area by area", *"gggggggggg", "down", "space"),
    ),
    "economy": (("--project", "ferrow"), (">paste", "e", ">passes")),
    "economy-page": (
        ("--project", "ferrow"),
        (">paste", "n", ">area by area", *"gggggggggg", "e", ">proved", "+", "+", ">proved"),
    ),
    "wheel": (("#d9803f",), (">ΔE", "c", ">Back")),
    "review": (
        ("--project", "ferrow"),
        (">paste", "v", ">newest", "down", " ", "down", "down", " ", "down"),
    ),
    "ticked": (
        ("--project", "ferrow"),
        (">paste", "v", ">newest", " ", "end", " ", "n", ">by passes"),
    ),
    "projects": (("--project", "ferrow"), (">paste", "P", ">Back")),
    "cover": (("#2a5a48", "--palette", "coated-tenths"), (">ΔE", "d", "down", "down")),
}
# These start from the invented comic's log.
WITH_COMIC = {"review", "ticked", "projects", "lay", "passes", "economy", "economy-page"}
README = (
    *(("match", (100, 30)), ("dots", (100, 30)), ("reach-cover", (100, 30))),
    ("page-screen", (100, 30)),
)


def draw(terminal: Terminal) -> Image.Image:
    """The screen as a picture."""
    columns, rows = terminal.size
    width, height = CELL
    image = Image.new("RGB", (columns * width, rows * height))
    pen = ImageDraw.Draw(image)
    font = ImageFont.truetype("DejaVuSansMono.ttf", 16)
    for y in range(rows):
        for x, cell in enumerate(terminal.row(y)):
            ink, ground = _colour(cell.fg, "#d4d4d4"), _colour(cell.bg, "#000000")
            if cell.reverse:
                ink, ground = ground, ink
            left, top = x * width, y * height
            box = (left, top, left + width - 1, top + height - 1)
            pen.rectangle(box, fill=ground)
            if cell.data == "▀":
                pen.rectangle((left, top, left + width - 1, top + height // 2 - 1), fill=ink)
            elif cell.data.strip():
                pen.text((left, top), cell.data, font=font, fill=ink)
    return image


def _colour(name: str, default: str) -> tuple[int, ...]:
    if name == "default":
        return ImageColor.getrgb(default)
    return ImageColor.getrgb(PLAIN.get(name) or (f"#{name}" if len(name) == 6 else name))


def shoot(view: str, size: tuple[int, int], env: dict[str, str] | None = None) -> Image.Image:
    """Run the program, play a view's keys, and draw what is there then."""
    arguments, steps = VIEWS[view]
    with tempfile.TemporaryDirectory() as folder:
        log = str(Path(folder) / "log.sqlite")
        if PAGE in arguments:
            page = str(Path(folder) / PAGE)
            comic_page.draw(800, line=4).save(page)
            arguments = tuple(page if one == PAGE else one for one in arguments)
        if view in WITH_COMIC:
            with Log(Path(log)) as opened:
                comic.make(opened)
        # The match wants 60x24; a view for a smaller pane is opened there and then made small.
        roomy = (max(size[0], 60), max(size[1], 24))
        with Terminal(*arguments, "--log", log, size=roomy, env=env) as terminal:
            for step in steps:
                if step.startswith(">"):
                    terminal.until(step[1:])
                    terminal.settle()
                else:
                    terminal.press(step)
            terminal.settle()
            if size != roomy:
                terminal.resize(*size)
            return draw(terminal)


def page() -> Image.Image:
    """The comic's page as given, as layers, as it prints, and its magenta plate, side by side."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        flats, log = folder / "page.png", folder / "log.sqlite"
        comic_page.draw(800, line=4, smooth=True).save(flats)
        shared = ("--palette", "newsprint-quarters", "--log", str(log), "--project", "ferrow")
        keep = ("--keep", comic_page.INK)
        _command("page", str(flats), *keep, *shared, "--page", "10", "--take", "--json")
        _command(
            *("layers", str(flats), *keep, *shared, "--page", "10", "--out", str(folder / "inks")),
            *("--plates", str(folder / "plates"), "--proof", str(folder / "proof.png")),
        )
        paths = (flats, folder / "inks/merged.png", folder / "proof.png")
        drawn = [Image.open(path).convert("RGB") for path in paths]
        drawn.append(Image.open(folder / "plates/2-magenta.tif").convert("RGB"))
    return _beside([one.crop((0, 0, one.width, one.height * 39 // 100)) for one in drawn], 480)


def chart() -> Image.Image:
    """The first sheet of a small palette's chart."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "chart.png"
        _command("chart", "--palette", "zine-two-inks", "--order", "ink", "--out", str(path))
        sheet = Image.open(path).convert("RGB")
    return _beside([sheet.crop((0, 0, sheet.width, sheet.height * 52 // 100))], 800)


def _command(*arguments: str) -> None:
    subprocess.run(
        [sys.executable, "-m", "tuimatch", *arguments], check=True, stdout=subprocess.DEVNULL
    )


def _beside(images: Sequence[Image.Image], width: int) -> Image.Image:
    small = [
        one.resize((width, one.height * width // one.width), Image.Resampling.BOX) for one in images
    ]
    whole = Image.new("RGB", ((width + 12) * len(small) - 12, small[0].height), "#808080")
    for place, one in enumerate(small):
        whole.paste(one, ((width + 12) * place, 0))
    return whole


def main(argv: Sequence[str] | None = None) -> None:
    """Draw the README's pictures, or every view at every size."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--all", metavar="FOLDER", type=Path, help="every view at every size")
    parser.add_argument("--fewer-colours", action="store_true", help="as with 256 colours")
    parser.add_argument("--only", metavar="VIEW", choices=sorted(VIEWS))
    arguments = parser.parse_args(argv)
    if arguments.all:
        env = {"COLORTERM": ""} if arguments.fewer_colours else None
        arguments.all.mkdir(parents=True, exist_ok=True)
        for view in [arguments.only] if arguments.only else VIEWS:
            for size in (*SIZES, (36, 12)) if view in SMALL else SIZES:
                path = arguments.all / f"{view}-{size[0]}x{size[1]}.png"
                shoot(view, size, env).save(path)
                print(path)
        return
    for view, size in README:
        path = ROOT / ".pictures" / f"{view}.png"
        shoot(view, size).save(path, optimize=True)
        print(path)
    for name, image in (("page", page()), ("chart", chart())):
        path = ROOT / ".pictures" / f"{name}.png"
        image.quantize(256).save(path, optimize=True)
        print(path)


if __name__ == "__main__":
    main()
