"""Palette files: finding, reading and writing. What a file must hold is in `checks`."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from functools import partial
from pathlib import Path

from tuimatch.errors import PaletteError
from tuimatch.files import in_file
from tuimatch.palette.checks import Checks
from tuimatch.palette.model import Palette, Triple
from tuimatch.text import exact, hexed, printable

MAX_BYTES = 1_000_000
DEFAULT = "screen-quarters"
MOST_STEM = 255  # as the log takes it


def shipped_folder() -> Path:
    """Where the shipped palettes are: inside the wheel, or beside the package in a checkout."""
    package = Path(__file__).parent.parent
    inside = package / "palettes"
    return inside if inside.is_dir() else package.parent / "palettes"


def shipped_names() -> list[str]:
    """The names that `--palette` takes, the default first."""
    names = sorted(path.stem for path in shipped_folder().glob("*.toml"))
    return sorted(names, key=lambda name: name != DEFAULT)


def find(name: str) -> Path:
    """The file behind a shipped name or a path.

    Raises:
        PaletteError: It is neither.
    """
    if name in shipped_names():
        return shipped_folder() / f"{name}.toml"
    path = in_file.user_path(name)
    # A name too long for the disk is simply a wrong name.
    with suppress(OSError, ValueError):
        if path.suffix == ".toml" or path.exists():
            return path
    raise PaletteError(
        name,
        "",
        f"no such palette; shipped are {', '.join(shipped_names())}, or give a .toml file",
    )


def load(name: str) -> Palette:
    """Read the palette behind a shipped name or a path.

    Raises:
        PaletteError: There is no such file or it is not a correct palette.
    """
    return read(find(name))


def lying_here(stem: str) -> Palette | None:
    """The palette that goes by a name here: a shipped one, or a file in this folder; or None."""
    with suppress(PaletteError):
        return load(stem if stem in shipped_names() else f"{stem}.toml")
    return None


def read(path: Path) -> Palette:
    """Read and check one palette file.

    Raises:
        PaletteError: The file cannot be read or is not a correct palette.
    """
    refuse = partial(PaletteError, path, "")
    text = in_file.read_text(path, MAX_BYTES, "a palette file", refuse)
    return parse(text, file=str(path), stem=path.stem)


def parse(text: str, *, file: str, stem: str) -> Palette:
    """Check the text of a palette file.

    Args:
        text: The TOML.
        file: What to call the file in a refusal.
        stem: What the palette will be called; what is unsafe in a file's name is escaped.

    Raises:
        PaletteError: The text is not a correct palette.
    """
    document = in_file.toml(text, partial(PaletteError, file, ""))
    return Checks(file, printable(stem)[:MOST_STEM], text).palette(document)


def to_toml(palette: Palette) -> str:
    """The palette as the text of a file that reads back as the same palette."""
    return "\n".join(_lines(palette)) + "\n"


def with_text(palette: Palette, file: str) -> Palette:
    """A palette that was made, checked as every palette file is, with the text of its file.

    Args:
        palette: Its own text is not looked at.
        file: What a refusal calls it.

    Raises:
        PaletteError: It is not a correct palette.
    """
    return parse(to_toml(palette), file=file, stem=palette.stem)


def _lines(palette: Palette) -> Iterator[str]:
    colour = palette.rules.colour
    shown = _lab_text if colour == "lab" else _hex_text
    yield f"name = {_quoted(palette.name)}"
    if palette.about:
        yield f"about = {_quoted(palette.about)}"
    yield f"kind = {_quoted(palette.kind)}"
    if palette.source:
        yield f"source = {_quoted(palette.source)}"
    if palette.yule_nielsen is not None:
        yield f"yule_nielsen = {palette.yule_nielsen!r}"
    if palette.channels != "xyz":
        yield f"channels = {_quoted(palette.channels)}"
    if palette.fused != "eye":
        yield f"fused = {_quoted(palette.fused)}"
    if palette.coverage_limit is not None:
        yield f"coverage_limit = {palette.coverage_limit!r}"
    yield from ("", "[paper]", f"name = {_quoted(palette.paper_name)}")
    yield f"{colour} = {shown(palette.paper)}"
    if palette.paper_screen is not None:
        yield f"screen = {_hex_text(palette.paper_screen)}"
    for ink in palette.inks:
        yield from (
            "",
            "[[inks]]",
            f"name = {_quoted(ink.name)}",
            f"symbol = {_quoted(ink.symbol)}",
        )
        yield f"{colour} = {shown(ink.solid)}"
        if ink.screen is not None:
            yield f"screen = {_hex_text(ink.screen)}"
        if ink.angle is not None:
            yield f"angle = {ink.angle!r}"
        if ink.gain is not None:
            yield f"gain = {ink.gain!r}"
        yield f"tints = [{', '.join(map(exact, ink.tints))}]"
        if ink.labels:
            yield f"labels = [{', '.join(map(_quoted, ink.labels))}]"
        for key, labs in (("measured", ink.measured), ("ramp", ink.ramp)):
            if labs:
                pairs = (f"{_quoted(exact(t))} = {_lab_text(lab)}" for t, lab in labs)
                yield f"{key} = {{ {', '.join(pairs)} }}"
    for positions, lab in palette.overprints:
        names = ", ".join(_quoted(palette.inks[p].name) for p in positions)
        yield from ("", "[[overprints]]", f"inks = [{names}]", f"lab = {_lab_text(lab)}")
    if palette.mixtures:
        yield from ("", "[measured_mixtures]")
    for tints, lab in palette.mixtures:
        used = (f"{ink.name} {exact(t)}" for ink, t in zip(palette.inks, tints, strict=True) if t)
        yield f"{_quoted(', '.join(used))} = {_lab_text(lab)}"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _lab_text(lab: Triple) -> str:
    return "[" + ", ".join(repr(float(x)) for x in lab) + "]"


def _hex_text(srgb: Triple) -> str:
    return f'"{hexed(srgb)}"'
