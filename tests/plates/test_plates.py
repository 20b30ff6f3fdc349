"""A painted page as layers, plates and proof: what is in the files, pixel by pixel."""

import io
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw
from support import costly

from tuimatch.colour import target
from tuimatch.colour.colorimetry import delta_e, srgb_to_xyz, xyz_to_lab
from tuimatch.palette import file as palette_file
from tuimatch.picture import flats, picture
from tuimatch.plates import layers, press, proof
from tuimatch.plates.painting import Line, Painting, no_progress, of_page
from tuimatch.plates.screening import SCREEN_PERIOD, Screening, dots
from tuimatch.recipe import recipes

LAYERS = recipes.mix(palette_file.load("screen-quarters"))
NEWSPRINT = recipes.mix(palette_file.load("newsprint-quarters"))
COLOURS = layers.Colours(
    paper=tuple(round(v) for v in LAYERS.palette.paper),
    inks=tuple(tuple(round(v) for v in ink.solid) for ink in LAYERS.palette.inks),
)
FLAT = Screening(None)


def page(recipes=LAYERS, rows=(0, 31, 62, 93, 124), side=120, line=False) -> Painting:
    """A row of squares, one for each recipe, with a line of ink art across them."""
    map_ = np.repeat(np.arange(len(rows), dtype=np.uint8), side)[None].repeat(side, axis=0)
    lines = ()
    if line:
        art = np.zeros(map_.shape, dtype=np.uint8)
        art[side // 2 - 2 : side // 2 + 2] = 255
        art[side // 2 + 2] = 100
        lines = (Line((20, 20, 40), art),)
    return Painting(recipes, map_, tuple(rows), lines)


def multiplied(images: list[Image.Image]) -> np.ndarray:
    """W3C Compositing and Blending Level 1 over an opaque backdrop; multiply, but the top normal.

    co = cs x αs x (1 - αb) + cb x αb x (1 - αs) + αs x αb x B(cb, cs), with αb = 1.
    """
    ground, *rest = [np.asarray(image.convert("RGBA")) / 255 for image in images]
    under = ground[..., :3]
    for number, layer in enumerate(rest):
        colour, alpha = layer[..., :3], layer[..., 3:]
        is_line = number == len(LAYERS.palette.inks)
        blended = colour if is_line else under * colour
        under = under * (1 - alpha) + alpha * blended
    return under * 255


@pytest.mark.parametrize("screening", [Screening(), FLAT, Screening(9.2)])
@pytest.mark.parametrize("line", [False, True])
def test_the_layers_multiplied_are_the_merged_image(screening: Screening, line: bool) -> None:
    made = layers.Layers(page(line=line), COLOURS, screening, no_progress)
    merged = np.asarray(made.merged(), dtype=float)
    # Half a step is the rounding of the colours; blending over a rounded one adds another.
    assert np.abs(multiplied(list(made.images())) - merged).max() <= (1.0 if line else 0.5 + 1e-9)


def test_fused_layers_are_the_predicted_colour_of_every_recipe() -> None:
    """Reduced in linear light, as the eye does, by Pillow's BOX filter on each channel."""
    side = 240
    rows = list(range(len(LAYERS)))
    for start in range(0, len(rows), 25):
        part = rows[start : start + 25]
        merged = layers.Layers(page(rows=part, side=side), COLOURS, Screening(), no_progress)
        pixels = np.asarray(merged.merged())
        for place, row in enumerate(part):
            square = srgb_to_xyz(pixels[:, place * side : (place + 1) * side] / 255)
            channels = [
                Image.fromarray(square[..., c].astype(np.float32)).resize(
                    (1, 1), Image.Resampling.BOX
                )
                for c in range(3)
            ]
            fused = [float(channel.getpixel((0, 0))) for channel in channels]
            assert float(delta_e(xyz_to_lab(fused), LAYERS.lab[row])) < 1, row


@costly
@given(
    period=st.floats(4, 20),
    ink=st.integers(0, 2),
    rows=st.lists(st.integers(0, 124), min_size=2, max_size=6, unique=True),
)
def test_each_tint_covers_its_share_and_a_solid_has_no_holes(period, ink, rows):
    painting = page(rows=rows, side=160)
    tints = painting.tints(ink)
    inked = dots(painting, ink, tints, period, no_progress)
    for tint in np.unique(tints[: len(rows)]):
        same = np.isin(painting.map, np.flatnonzero(tints[: len(rows)] == tint))
        assert inked[same].mean() == pytest.approx(tint, abs=0.002)
    if period <= 10:  # sixteen dots across: no more than the edges are left to chance
        for place in range(len(rows)):
            assert inked[painting.map == place].mean() == pytest.approx(tints[place], abs=0.02)


def test_a_flat_of_a_printed_page_covers_its_share_within_half_a_point() -> None:
    painting = page(rows=[31, 62, 93], side=900)
    for ink in range(3):
        tints = painting.tints(ink)
        inked = dots(painting, ink, tints, SCREEN_PERIOD, no_progress)
        for place in range(3):
            share = inked[:, place * 900 : (place + 1) * 900].mean()
            assert share == pytest.approx(tints[place], abs=0.005)


def test_dots_run_on_across_areas_of_one_tint() -> None:
    one, two = page(rows=[31], side=240), page(rows=[31, 31], side=120)
    whole = dots(one, 1, one.tints(1), 6.0, no_progress)[:120]
    parts = dots(two, 1, two.tints(1), 6.0, no_progress)
    assert np.mean(whole != parts) < 0.01  # a dot's last pixel may differ: other page, other rank


def test_openraster_is_what_the_specification_says(tmp_path: Path) -> None:
    """OpenRaster 0.0.5, freedesktop.org: mimetype, stack.xml, merged image, thumbnail."""
    path = tmp_path / "page.ora"
    painting = page(line=True)
    made = layers.Layers(painting, COLOURS, Screening(), no_progress)
    layers.write_openraster(path, made, 300, no_progress)
    raw = path.read_bytes()
    # The type can be told from the first bytes: stored, no extra field.
    assert raw[30:54] == b"mimetypeimage/openraster"
    with zipfile.ZipFile(path) as whole:
        assert whole.testzip() is None
        assert whole.infolist()[0].filename == "mimetype"
        assert whole.infolist()[0].compress_type == zipfile.ZIP_STORED
        stack = ElementTree.fromstring(whole.read("stack.xml"))
        size = painting.width, painting.height
        assert (stack.tag, stack.get("w"), stack.get("h")) == ("image", *map(str, size))
        assert [stack.get(name) for name in ("version", "xres", "yres")] == ["0.0.5", "300", "300"]
        (root,) = stack
        assert root.tag == "stack"
        found = root.findall("layer")
        assert [one.get("name") for one in found] == made.names[::-1]
        operations = [one.get("composite-op") for one in found]
        assert operations == ["svg:src-over", *["svg:multiply"] * 3, "svg:src-over"]
        for one in found:
            at = [one.get(name) for name in ("x", "y", "opacity", "visibility")]
            assert at == ["0", "0", "1.0", "visible"]
        images = [Image.open(io.BytesIO(whole.read(one.get("src")))) for one in found[::-1]]
        assert all((image.size, image.format) == (size, "PNG") for image in images)
        merged = Image.open(io.BytesIO(whole.read("mergedimage.png")))
        assert np.abs(multiplied(images) - np.asarray(merged.convert("RGB"), float)).max() <= 1
        thumbnail = Image.open(io.BytesIO(whole.read("Thumbnails/thumbnail.png")))
        assert (thumbnail.format, merged.format) == ("PNG", "PNG")
        assert max(thumbnail.size) <= 256
        assert merged.size == size


def test_pngs_are_the_same_layers(tmp_path: Path) -> None:
    made = layers.Layers(page(), COLOURS, Screening(), no_progress)
    layers.write_pngs(tmp_path, made, 300, no_progress)
    inks = ["1-yellow.png", "2-magenta.png", "3-cyan.png"]
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == ["0-warm-white.png", *inks, "merged.png"]
    for path, image in zip(sorted(tmp_path.glob("[0-9]*")), made.images(), strict=True):
        assert (np.asarray(Image.open(path)) == np.asarray(image)).all()


def test_plates_are_black_where_ink_goes(tmp_path: Path) -> None:
    painting = page(NEWSPRINT)
    found = press.write_plates(
        tmp_path, painting, Screening(9.2), dpi=600, marks=False, told=no_progress
    )
    assert [path.name for path in found] == ["1-yellow.tif", "2-magenta.tif", "3-cyan.tif"]
    for ink, path in enumerate(found):
        with Image.open(path) as plate:
            assert (plate.mode, plate.size) == ("1", (painting.width, painting.height))
            assert plate.info["compression"] == "group4"
            assert plate.info["dpi"] == (600, 600)
            inked = ~np.asarray(plate)
        assert (inked == dots(painting, ink, painting.tints(ink), 9.2, no_progress)).all()


def test_plates_without_dots_are_grey_as_the_tint(tmp_path: Path) -> None:
    painting = page(NEWSPRINT)
    found = press.write_plates(tmp_path, painting, FLAT, dpi=300, marks=False, told=no_progress)
    for ink, path in enumerate(found):
        grey = np.asarray(Image.open(path))
        wanted = np.rint(255 * (1 - painting.tints(ink)[painting.map]))
        assert (grey == wanted).all()


def test_marks_stand_outside_the_picture_and_name_the_ink(tmp_path: Path) -> None:
    painting = page(rows=[0, 124], side=400)
    plain, marked = tmp_path / "plain", tmp_path / "marked"
    for folder, marks in ((plain, False), (marked, True)):
        folder.mkdir()
        press.write_plates(folder, painting, Screening(), dpi=150, marks=marks, told=no_progress)
    for path in plain.iterdir():
        inner, outer = (np.asarray(Image.open(p)) for p in (path, marked / path.name))
        margin = (outer.shape[0] - inner.shape[0]) // 2
        assert margin == round(12 / 25.4 * 150)
        assert (outer[margin:-margin, margin:-margin] == inner).all()
        frame = outer.copy()
        frame[margin:-margin, margin:-margin] = True
        for side in (frame[:margin], frame[-margin:], frame[:, :margin], frame[:, -margin:]):
            assert (~side).sum() > 50
    for path in marked.iterdir():  # turned by a half turn, the crosses fall on each other
        outer = np.asarray(Image.open(path))
        margin = round(12 / 25.4 * 150)
        centre = outer.shape[1] // 2
        assert not outer[margin // 2, centre]
        assert not outer[-(margin // 2) - 1, centre - 3 : centre + 4].all()


def test_an_ink_that_is_not_used_has_no_plate(tmp_path: Path) -> None:
    only_cyan = next(r for r in range(125) if LAYERS.tints_of(r) == (0, 0, 50))
    painting = page(rows=[0, only_cyan])
    found = press.write_plates(tmp_path, painting, FLAT, dpi=300, marks=False, told=no_progress)
    assert [path.name for path in found] == ["1-cyan.png"]


def test_the_proof_fuses_to_the_predicted_print(tmp_path: Path) -> None:
    painting = page(NEWSPRINT, rows=[0, 30, 62, 93, 124], side=300)
    path = tmp_path / "proof.png"
    proof.write_proof(path, painting, Screening(), dpi=300, told=no_progress)
    assert b"sRGB\x00" in path.read_bytes()[:200]
    pixels = np.asarray(Image.open(path))
    for place, row in enumerate(painting.rows):
        square = srgb_to_xyz(pixels[:, place * 300 : (place + 1) * 300] / 255)
        assert float(delta_e(xyz_to_lab(square.mean(axis=(0, 1))), NEWSPRINT.lab[row])) < 1
    proof.write_proof(path, painting, FLAT, dpi=300, told=no_progress)
    flat = np.asarray(Image.open(path))
    assert (flat[150, 150::300] == NEWSPRINT.srgb[list(painting.rows)]).all()


def test_what_ends_the_work_comes_through(tmp_path: Path) -> None:
    class EnoughError(Exception):
        pass

    def told(done: float) -> None:
        if done > 0.3:
            raise EnoughError

    with pytest.raises(EnoughError):
        press.write_plates(tmp_path, page(), Screening(), dpi=300, marks=True, told=told)


def test_line_art_keeps_its_smoothed_edges(tmp_path: Path) -> None:
    """A black ring drawn large and made small over two flats; what lies under it is known."""
    large = Image.new("L", (1200, 1200), 0)
    ImageDraw.Draw(large).ellipse((200, 200, 1000, 1000), outline=255, width=40)
    alpha = np.asarray(large.resize((300, 300), Image.Resampling.BOX)) / 255
    ground = np.zeros((300, 300, 3))
    ground[:, :150], ground[:, 150:] = (240, 200, 90), (60, 110, 150)
    drawn = np.rint(ground * (1 - alpha[..., None])).astype(np.uint8)
    path = tmp_path / "page.png"
    Image.fromarray(drawn).save(path)
    page = picture.read(path)
    found = flats.find(page, [target.parse("#000000")])
    painting = of_page(page, found, LAYERS, [3, 50])
    (line,) = painting.lines
    assert line.colour == (0, 0, 0)
    beside = (line.cover > 0) & (line.cover < 255)
    assert (painting.map[beside] < 2).all()  # no paper shows through a smoothed edge
    away = np.abs(np.arange(300) - 149.5) > 3  # where the flats meet there are two grounds
    assert np.abs(line.cover / 255 - alpha)[:, away].max() < 0.06
