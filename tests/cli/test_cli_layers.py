"""`tuimatch layers`, as it is typed: from the flats and the log to layers, plates and a proof."""

from __future__ import annotations

import io
import zipfile
from contextlib import nullcontext

import comic_page
import numpy as np
import pytest
from command import Cli
from PIL import Image
from support import PATIENCE

KEEP = ("--keep", comic_page.INK)
PALETTE = ("--palette", "newsprint-quarters")
PAGE = ("--project", "ferrow", "--page", "9")


@pytest.fixture
def flats(cli: Cli) -> Cli:
    """The comic's page beside the log, smoothed line art on it."""
    comic_page.draw(700, line=6, smooth=True).save(cli.folder / "flats.png")
    return cli


@pytest.fixture
def taken(flats: Cli) -> Cli:
    """The same with its recipes in the log."""
    flats("page", "flats.png", *KEEP, *PALETTE, *PAGE, "--take")
    return flats


def names(cli: Cli, folder: str) -> list[str]:
    return sorted(path.name for path in (cli.folder / folder).iterdir())


def test_a_flat_finds_its_recipe_in_the_log(taken: Cli) -> None:
    said = taken(
        *("layers", "flats.png", *KEEP, *PAGE, "--out", "page9.ora"),
        *("--plates", "plates", "--proof", "proof.png", "--marks", "--no-dots"),
    )
    assert "the most ink on the page is" in said
    assert names(taken, "plates") == ["1-yellow.png", "2-magenta.png", "3-cyan.png"]
    (found,) = taken.lines("page", "flats.png", *KEEP, *PALETTE, "--json")
    with (
        Image.open(taken.folder / "proof.png") as proof,
        Image.open(taken.folder / "flats.png") as page,
    ):
        drawn, given = np.asarray(proof), np.asarray(page.convert("RGB"))
    # Every pixel of a flat that lies away from lines has the colour of its recipe.
    shown = {flat["colour"]: flat for flat in found["flats"]}
    largest = found["flats"][1]["colour"]
    rgb = tuple(int(largest[i : i + 2], 16) for i in (1, 3, 5))
    same = (given == rgb).all(axis=2)
    colours, counts = np.unique(drawn[same], axis=0, return_counts=True)
    assert counts.max() / counts.sum() > 0.95
    from tuimatch.colour.colorimetry import displayed, lab_to_xyz

    wanted = displayed(lab_to_xyz(shown[largest]["lab"])).srgb
    assert (colours[counts.argmax()] == wanted).all()
    with zipfile.ZipFile(taken.folder / "page9.ora") as whole:
        merged = Image.open(io.BytesIO(whole.read("mergedimage.png")))
        assert merged.size == (given.shape[1], given.shape[0])
        assert 'name="line art #000000"' in whole.read("stack.xml").decode()


def test_layers_into_a_folder(taken: Cli) -> None:
    taken("layers", "flats.png", *KEEP, *PAGE, "--out", "pngs", "--ruling", "50", "--dpi", "300")
    assert [name[2:] for name in names(taken, "pngs")][:4] == [
        *("newsprint.png", "yellow.png", "magenta.png", "cyan.png"),
    ]


def test_colours_without_a_recipe_are_named_or_matched(flats: Cli, taken: Cli) -> None:
    arguments = ("layers", "flats.png", *PAGE, "--out", "page9.ora")
    said = taken.refuses(*arguments)  # without --keep the line art is a flat like others
    assert f"no recipe of 'newsprint-quarters' in the log for {comic_page.INK}" in said
    assert not (taken.folder / "page9.ora").exists()
    taken(*arguments, "--match", "--no-dots")
    assert (taken.folder / "page9.ora").exists()


def test_a_page_is_drawn_without_a_log(flats: Cli) -> None:
    arguments = ("layers", "flats.png", *KEEP, *PALETTE, "--proof", "proof.png", "--no-dots")
    assert "there is no log yet" in flats.refuses(*arguments)
    flats(*arguments, "--match")
    assert (flats.folder / "proof.png").exists()
    assert not flats.log.exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "give --out FILE.ora or FOLDER, --plates FOLDER or --proof FILE.png"),
        (("--out", "page.psd"), "layers are .ora, or PNGs in a folder"),
        (("--proof", "proof.jpg"), "a proof is PNG"),
        (("--out", "page.ora", "--marks"), "--marks go with --plates"),
        (("--out", "page.ora", "--dpi", "0"), "give pixels to the inch from 36 to 4800"),
        (("--out", "page.ora", "--ruling", "fine"), "give dots to the inch"),
        (("--out", "flats.png/page.ora"), "cannot be written"),
    ],
)
def test_bad_input_is_refused_in_a_line(taken: Cli, arguments: tuple[str, ...], said: str) -> None:
    before = names(taken, ".")
    assert said in taken.refuses("layers", "flats.png", *KEEP, *PAGE, *arguments)
    assert names(taken, ".") == before


def test_nothing_is_written_over_unasked(taken: Cli) -> None:
    (taken.folder / "plates").mkdir()
    (taken.folder / "plates" / "mine.txt").write_text("mine")
    arguments = ("layers", "flats.png", *KEEP, *PAGE, "--plates", "plates", "--no-dots")
    assert "plates: already exists; give --replace to overwrite it" in taken.refuses(*arguments)
    assert names(taken, "plates") == ["mine.txt"]
    taken(*arguments, "--replace")
    assert "mine.txt" in names(taken, "plates")
    assert "1-yellow.png" in names(taken, "plates")


@pytest.mark.parametrize(
    ("wanted", "named"),
    [
        (("--out", "page9.ora", "--proof", "proof.png"), "page9.ora"),
        (("--out", "pngs"), "pngs"),
        (("--plates", "plates", "--no-dots", "--marks"), "plates"),
        (("--proof", "proof.png"), "proof.png"),
    ],
)
def test_a_disk_that_is_full_leaves_nothing_half_written(
    flats: Cli, wanted: tuple[str, ...], named: str
) -> None:
    resource = pytest.importorskip("resource")

    def little_room() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (4_000, 4_000))

    arguments = ("flats.png", *KEEP, *PALETTE, "--match", *wanted)
    before = names(flats, ".")
    with flats.start("layers", *arguments, preexec_fn=little_room) as run:
        out, err = run.communicate(timeout=PATIENCE)
    assert (run.returncode, out) == (2, "")
    assert err == f"tuimatch: {named}: cannot be written (File too large); give another name\n"
    assert names(flats, ".") == before


@pytest.mark.parametrize("moment", [0, 1, 3, 8, 15, 30, 45])
def test_an_interrupt_at_any_moment_leaves_nothing_half_written(
    taken: Cli, monkeypatch: pytest.MonkeyPatch, moment: int
) -> None:
    left = moment

    def told(_: float) -> None:
        nonlocal left
        left -= 1
        if left < 0:
            raise KeyboardInterrupt

    monkeypatch.setattr("tuimatch.cli.layers.progress", lambda _: nullcontext(told))
    before = names(taken, ".")
    done = taken.run(
        *("layers", "flats.png", *KEEP, *PAGE, "--out", "page9.ora"),
        *("--plates", "plates", "--proof", "proof.png"),
    )
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "")
    assert names(taken, ".") == before


def test_a_folder_that_is_not_there_and_a_page_that_is_no_picture(taken: Cli) -> None:
    before = names(taken, ".")
    said = taken.refuses("layers", "flats.png", *KEEP, *PAGE, "--plates", "nowhere/plates")
    assert "nowhere/plates: cannot be written (No such file or directory)" in said
    assert "log.sqlite" in taken.refuses("layers", "log.sqlite", *KEEP, *PAGE, "--out", "p.ora")
    assert names(taken, ".") == before
