"""The guide in all its forms, and in a real browser where there is one."""

from __future__ import annotations

import base64
import csv
import io
import json
import re
import shutil
import subprocess
from collections import Counter
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser
from itertools import combinations
from pathlib import Path
from typing import NamedTuple

import comic
import numpy as np
import pytest
from kept import NEWSPRINT, PALETTE, choice
from PIL import Image
from support import PATIENCE

from tuimatch import guide
from tuimatch.colour import target
from tuimatch.colour.colorimetry import delta_e, srgb_to_xyz, xyz_to_lab
from tuimatch.colour.intent import Intent
from tuimatch.errors import LogError, OutputError, UsageError
from tuimatch.files import csv_out, out_file
from tuimatch.guide import markdown, page, swatches, tables
from tuimatch.guide.sheet import NO_PROOF, gather
from tuimatch.log import Choice, Log, new_choice
from tuimatch.match import limits
from tuimatch.match.answer import Question, known, match
from tuimatch.match.verdict import Reached
from tuimatch.palette import file as palette_file
from tuimatch.planning.areas import on_page
from tuimatch.recipe import recipes

EVIL = '<script>alert("x")</script>&|`*[a](b)'


@pytest.fixture(scope="module")
def ferrow(tmp_path_factory):
    path = tmp_path_factory.mktemp("comic") / "log.sqlite"
    with Log(path) as log:
        comic.make(log)
        yield gather(log, "FERROW")


@pytest.fixture
def log(tmp_path):
    with Log(tmp_path / "log.sqlite") as opened:
        yield opened


class Page(HTMLParser):
    """The tags, the texts and the attributes of an HTML file."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: Counter[str] = Counter()
        self.texts: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags[tag] += 1
        self.attributes += [(name, value or "") for name, value in attrs]
        if tag not in ("meta", "br", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.texts.append(data)


def own_colour(mixed: recipes.Recipes, row: int) -> Choice:
    """A recipe taken for exactly its own colour."""
    lightness, a, b = mixed.lab[row].tolist()
    return new_choice(
        mixed.palette,
        mixed.tints_of(row),
        project="ferrow",
        target_text="a colour",
        target_lab=(lightness, a, b),
        lab=(lightness, a, b),
        srgb=mixed.rgb_of(row),
        delta_e=0.0,
    )


# What the guide says.


def test_the_guide_holds_every_choice_by_page(ferrow):
    assert ferrow.project == "ferrow"
    assert len(ferrow.entries) == len(comic.ENTRIES) >= 60
    assert [name for name, _ in ferrow.pages] == ["cover", *"123456789"]
    assert [used.stem for used in ferrow.palettes] == [
        "screen-quarters",
        "newsprint-quarters",
        "zine-two-inks",
    ]
    assert sum(used.choices for used in ferrow.palettes) == len(comic.ENTRIES)


def test_pages_stand_in_the_order_of_the_book(log):
    for name in ("10", "2", "", "cover", "2b", "back cover", "1"):
        log.keep(PALETTE, choice(name, page=name))
    pages = [name for name, _ in gather(log, "ferrow").pages]
    assert pages == ["back cover", "cover", "1", "2", "2b", "10", ""]


def test_what_is_on_two_pages_stands_on_both_as_in_the_passes(log):
    for name, where in (
        ("sea", "9, 10"),
        ("sail", "10"),
        ("quay", "9,9"),
        ("gull", "Cover, cover"),
    ):
        log.keep(PALETTE, choice(name, page=where))
    sheet = gather(log, "ferrow")
    on = {name: [entry.choice.label for entry in entries] for name, entries in sheet.pages}
    assert on == {"Cover": ["gull"], "9": ["sea", "quay"], "10": ["sea", "sail"]}
    for name, labels in on.items():
        assert [one.label for one in on_page(log.choices("ferrow"), name)] == labels
    assert len(sheet.entries) == 4


def test_inks_are_laid_in_the_order_of_the_palette_with_the_artists_labels(ferrow):
    by_label = {entry.choice.label: entry for entry in ferrow.entries}
    coat = by_label["Oda's coat"]
    assert [lay.ink for lay in coat.laying] == ["yellow", "magenta", "cyan"]
    for entry in ferrow.entries:
        assert [(lay.ink, lay.tint) for lay in entry.laying] == [
            (ink, tint) for ink, tint in entry.choice.tints.items() if tint
        ]
    zine = by_label["ledger, red mark"]
    labels = {ink.name: ink.label for ink in palette_file.load("zine-two-inks").inks}
    assert [lay.label for lay in zine.laying] == [labels[x.ink](x.tint) for x in zine.laying]
    assert all(lay.label for lay in zine.laying)


def said_of(entry):
    """What the guide says of a colour that is not reached."""
    return [said for said in entry.cautions if said.startswith(("Between", "Beyond"))]


def test_what_is_not_within_reach_is_marked(ferrow):
    for entry in ferrow.entries:
        within = entry.verdict.reached is Reached.WITHIN
        # Each is the nearest of its palette, or one that nobody sees to be further.
        assert within == (entry.choice.delta_e <= 5) or 4.8 <= entry.choice.delta_e <= 5.2
        assert bool(said_of(entry)) is not within
    kinds = {entry.verdict.reached for entry in ferrow.entries}
    assert {Reached.WITHIN, Reached.BETWEEN} <= kinds


def test_the_verdict_of_the_guide_is_that_of_the_match(log):
    """One colour of newsprint needs more ink than it allows, so a match does not reach it."""
    mixed = recipes.mix(NEWSPRINT)
    for row in range(len(mixed)):
        log.keep(NEWSPRINT, own_colour(mixed, row))
    black = target.parse("#000")
    narrowed = Question(black, narrowing=limits.start(NEWSPRINT), intent=Intent.ABSOLUTE)
    marked = 0
    for entry in gather(log, "ferrow").entries:
        wanted = target.from_lab(entry.choice.target_lab, "a colour")
        judged = match(mixed, replace(narrowed, target=wanted), known(mixed)).verdict
        assert entry.verdict == judged
        if judged.reached is not Reached.WITHIN:
            marked += 1
            (said,) = said_of(entry)
            assert said.endswith("within the coverage limit.")
            assert f"the best is ΔE {judged.delta_e:.1f}" in said
    assert marked == 1


def test_what_a_screen_cannot_show_is_said(log):
    mixed = recipes.mix(palette_file.load("coated-tenths"))
    for row in (0, int(mixed.clipped.argmax())):
        log.keep(mixed.palette, own_colour(mixed, row))
    paper, beyond = gather(log, "ferrow").entries
    assert beyond.cautions == (
        "Beyond the screen (outside sRGB): it is shown as near as a screen can.",
    )
    assert paper.cautions == ()


def test_an_estimate_is_called_one_in_every_form(log):
    text, _, overprint = NEWSPRINT.text.rpartition("[[overprints]]")
    assert "lab" in overprint
    guessed = palette_file.parse(text, file="x", stem="guessed")
    for palette in (NEWSPRINT, guessed):
        log.keep(palette, own_colour(recipes.mix(palette), 1))
    sheet = gather(log, "ferrow")
    measured, estimated = sheet.palettes
    assert measured.cautions == ()
    (said,) = estimated.cautions
    assert said == "Estimated: overprints were not measured, colours may be about 10 ΔE off."
    for form in (page.to_html, markdown.to_markdown, tables.to_json, swatches.to_cgats):
        assert form(sheet).count("Estimated") == 1


def test_the_dots_have_the_colour_of_the_recipe(ferrow):
    for entry in ferrow.entries[::7]:
        light = (entry.dots / 255.0) ** 2.2
        shown = np.array([int(entry.choice.srgb[i : i + 2], 16) for i in (1, 3, 5)])
        assert np.abs(255 * light.mean(axis=(0, 1)) ** (1 / 2.2) - shown).max() < 8


def one_ink(log, palette):
    """The entries of every tint of every ink laid alone, by ink and tint."""
    mixed = recipes.mix(palette)
    alone = [row for row in range(len(mixed)) if np.count_nonzero(mixed.tints_of(row)) == 1]
    for row in alone:
        log.keep(palette, own_colour(mixed, row))
    return {entry.laying[0]: entry for entry in gather(log, "ferrow").entries}


def test_the_dots_cover_the_share_of_the_tint(log):
    """On a screen without gain it is the tint itself, to the pixel; they stand 13 pixels apart."""
    angles = dict(zip((ink.name for ink in PALETTE.inks), PALETTE.angles, strict=True))
    for lay, entry in one_ink(log, PALETTE).items():
        bare = srgb_to_xyz(entry.dots / 255)[..., 1]
        if lay.tint == 100:
            assert np.ptp(bare) == 0
            continue
        inked = bare < bare.mean()
        assert inked.sum() == pytest.approx(lay.tint / 100 * inked.size, abs=1), lay
        # An inked pixel is nearer to the centre of a dot than any bare one.
        turn = np.radians(angles[lay.ink])
        y, x = (np.indices(inked.shape).T - (np.array(inked.shape) - 1) / 2).T / 13
        u, v = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
        distance = np.hypot(u - np.rint(u), v - np.rint(v))
        assert distance[inked].max() <= distance[~inked].min() + 1e-6, lay


def test_the_dots_of_real_paper_are_scaled_to_the_colour_of_the_tint(log):
    """Hard dots cannot carry the light that spreads in paper; unscaled they are up to 4 ΔE off."""
    for lay, entry in one_ink(log, NEWSPRINT).items():
        mean = xyz_to_lab(srgb_to_xyz(entry.dots / 255).mean(axis=(0, 1)))
        if "outside sRGB" not in " ".join(entry.cautions):
            assert delta_e(mean, np.array(entry.choice.lab)) < 0.5, lay


def test_above_the_coverage_limit_and_a_lost_palette_are_said(log):
    limited = palette_file.parse("coverage_limit = 120\n" + PALETTE.text, file="x", stem="limited")
    tints = (100.0, 50.0, 0.0)
    log.keep(limited, replace(choice("over", tints), palette_digest=limited.digest))
    log.keep(PALETTE, choice("lost"))
    log.database.db.execute("UPDATE palette SET text = '' WHERE digest = ?", (PALETTE.digest,))
    sheet = gather(log, "ferrow")
    over, lost = sheet.entries
    assert "Above the coverage limit of 120 %." in over.cautions
    assert lost.dots is None
    assert [lay.text for lay in lost.laying] == ["yellow 100 %"]
    assert "is lost" in sheet.palettes[1].cautions[0]
    for form in guide.FORMS.values():
        assert "lost" in form(sheet)


def test_two_texts_of_one_palette_are_told_apart(log):
    other = palette_file.parse(PALETTE.text + "# later\n", file="x", stem=PALETTE.stem)
    log.keep(PALETTE, choice("a"))
    log.keep(other, replace(choice("b"), palette_digest=other.digest))
    sheet = gather(log, "ferrow")
    assert all("Another version" in used.cautions[0] for used in sheet.palettes)
    assert swatches.to_cgats(sheet).count("BEGIN_DATA\n") == 2


def test_a_project_without_choices_has_a_guide(log):
    log.projects.create("empty")
    sheet = gather(log, "empty")
    for form in guide.FORMS.values():
        assert form(sheet)
    with pytest.raises(LogError, match="no project 'lost'"):
        gather(log, "lost")


# Hostile texts.


@pytest.fixture
def evil(log):
    log.keep(
        PALETTE, replace(choice(EVIL, page=EVIL, note="=cmd()|'x'!A1", project="<b>"), palette=EVIL)
    )
    log.keep(PALETTE, choice("-2+3", note="@SUM(A1)", project="<b>"))
    log.keep(PALETTE, choice("+1", note=" =1+1", project="<b>", target="=2"))
    return gather(log, "<b>")


def test_html_escapes_everything_and_loads_nothing(evil):
    text = page.to_html(evil)
    read = Page(text)
    assert read.open == []
    assert not read.tags.keys() & {"script", "b", "a", "link", "iframe"}
    assert any(EVIL in said for said in read.texts)
    for name, value in read.attributes:
        assert not name.startswith("on")
        if name == "src":
            assert value.startswith("data:image/png;base64,")
    assert "url(" not in text
    assert "default-src 'none'" in text


def test_markdown_keeps_foreign_text_text(evil):
    text = markdown.to_markdown(evil)
    assert "<script" not in re.sub(r"\\.", "", text)
    for line in text.splitlines():
        if line.startswith("| "):
            assert len(re.findall(r"(?<!\\)\|", line)) == 8


def test_no_cell_of_the_csv_becomes_a_formula(evil):
    for text in (tables.to_csv(evil), tables.choices_csv([e.choice for e in evil.entries])):
        rows = list(csv.reader(io.StringIO(text, newline="")))
        assert len({len(row) for row in rows}) == 1
        for cell in (cell for row in rows for cell in row):
            if not re.fullmatch(r"-?\d+(\.\d+)?(e-?\d+)?", cell):
                assert not cell.lstrip(" ").startswith(tuple("=+-@\t\r＝＋－＠")), cell
        assert "'-2+3" in text


def test_csv_leaves_numbers_and_plain_text_alone():
    text = csv_out.to_csv(["a"], [[-1.5], ["x=y"], [None], ["a,b"], ["=1"]])
    assert text == 'a\r\n-1.5\r\nx=y\r\n""\r\n"a,b"\r\n\'=1\r\n'


def test_swatches_keep_foreign_text_in_its_line(evil):
    assert len(swatches.to_gpl(evil).splitlines()) == 4 + 3
    assert '"' + EVIL.replace('"', '""') in swatches.to_cgats(evil)


# The forms.


def test_html_says_all_and_embeds_the_dots(ferrow):
    read = Page(page.to_html(ferrow))
    said = " ".join(read.texts)
    assert NO_PROOF in said
    assert read.tags["article"] == read.tags["img"] == len(ferrow.entries)
    for entry in ferrow.entries:
        assert entry.choice.label in said
        assert f"ΔE {entry.choice.delta_e:.2f}" in said
    assert "ANSI CGATS/SNAP TR 002-2007" in said
    assert said.count(": the best is ΔE") == sum(bool(said_of(e)) for e in ferrow.entries)
    pictures = [value for name, value in read.attributes if name == "src"]
    for entry, picture in zip(ferrow.entries, pictures, strict=True):
        data = base64.b64decode(picture.removeprefix("data:image/png;base64,"))
        assert np.array_equal(np.asarray(Image.open(io.BytesIO(data))), entry.dots)
    alts = [value for name, value in read.attributes if name == "alt"]
    assert alts == [f"dots of {entry.choice.recipe}" for entry in ferrow.entries]


def test_markdown_has_a_row_for_each_choice(ferrow):
    text = markdown.to_markdown(ferrow)
    assert len(re.findall(r"^\| (?!label)", text, re.M)) == len(ferrow.entries)
    assert "## Cover" in text
    assert "## Page 8" in text
    assert "1. yellow 100 %, 2. magenta 100 %, 3. cyan 25 %" in text


def test_csv_has_the_tints_of_every_ink(ferrow):
    rows = list(csv.DictReader(io.StringIO(tables.to_csv(ferrow), newline="")))
    assert len(rows) == len(ferrow.entries)
    for row, entry in zip(rows, ferrow.entries, strict=True):
        tints = {k[:-2]: float(v) for k, v in row.items() if k.endswith(" %") and v}
        assert tints == entry.choice.tints
        assert float(row["delta E"]) == entry.choice.delta_e
        assert row["verdict"] == entry.verdict.reached.value
        assert NO_PROOF in row["cautions"]


def test_json_holds_each_choice_as_the_log_prints_it(ferrow):
    document = json.loads(tables.to_json(ferrow))
    for found, entry in zip(document["entries"], ferrow.entries, strict=True):
        expected = json.loads(json.dumps(entry.choice.as_json()))
        assert {key: found[key] for key in expected} == expected
        assert [lay["ink"] for lay in found["laying"]] == [lay.ink for lay in entry.laying]
    assert [p["source"] for p in document["palettes"]] == [
        None,
        "ANSI CGATS/SNAP TR 002-2007",
        None,
    ]


def test_the_palette_of_painting_programs_holds_each_colour(ferrow):
    head, *rest = swatches.to_gpl(ferrow).splitlines()
    assert head == "GIMP Palette"
    colours = [line.split("\t") for line in rest if re.match(r"[\d ]+\t", line)]
    assert len(colours) == len(ferrow.entries)
    for (numbers, name), entry in zip(colours, ferrow.entries, strict=True):
        assert "#{:02x}{:02x}{:02x}".format(*map(int, numbers.split())) == entry.choice.srgb
        assert entry.choice.label in name


def test_cgats_predicts_what_the_palette_predicts(ferrow):
    text = swatches.to_cgats(ferrow)
    assert text.startswith("CGATS.17\n")
    tables_ = re.findall(
        r'^PALETTE "(.*?)"$.*?^NUMBER_OF_FIELDS (\d+)\nBEGIN_DATA_FORMAT\n(.*?)\n'
        r"END_DATA_FORMAT\nNUMBER_OF_SETS (\d+)\nBEGIN_DATA\n(.*?)\nEND_DATA$",
        text,
        re.M | re.S,
    )
    assert [name for name, *_ in tables_] == [used.stem for used in ferrow.palettes]
    count = 0
    for name, fields, columns, sets, data in tables_:
        names = columns.split()
        rows = [re.findall(r'"(?:[^"]|"")*"|\S+', line) for line in data.splitlines()]
        assert len(names) == int(fields)
        assert len(rows) == int(sets)
        mixed = recipes.mix(palette_file.load(name))
        inks = ["2CLR_1", "2CLR_2"] if name == "zine-two-inks" else ["CMY_Y", "CMY_M", "CMY_C"]
        for row in rows:
            cell = dict(zip(names, row, strict=True))
            lab = mixed.lab[mixed.row_of(tuple(float(cell[ink]) for ink in inks))]
            assert [float(cell[f"LAB_{x}"]) for x in "LAB"] == pytest.approx(lab, abs=1e-4)
            count += 1
    assert count == len(ferrow.entries)


# Files.


def test_the_extension_says_which_form(ferrow, tmp_path):
    for extension, form in guide.FORMS.items():
        file = tmp_path / f"guide{extension.upper()}"
        guide.write(file, ferrow)
        assert file.read_bytes().decode("utf-8") == form(ferrow)
    with pytest.raises(UsageError, match=r"guide\.pdf: no guide .* \.html, \.md"):
        guide.write(tmp_path / "guide.pdf", ferrow)
    assert len(list(tmp_path.iterdir())) == len(guide.FORMS)


def test_a_file_that_cannot_be_written_is_refused_and_the_old_one_stays(tmp_path):
    out_file.write(tmp_path / "guide.md", "old")
    (tmp_path / "guide.md").chmod(0o640)
    with pytest.raises(OutputError, match="cannot be written"):
        out_file.write(tmp_path / "lost" / "guide.md", "new")
    with pytest.raises(OutputError, match="cannot be written"):
        out_file.write(tmp_path / "guide.md", "\ud800", replace=True)
    assert [p.read_text() for p in tmp_path.iterdir()] == ["old"]


# A real browser.

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-sync "
    "--disable-background-networking --disable-component-update --hide-scrollbars"
)


def browse(folder: Path, *arguments: str) -> str:
    """Run the browser without a window; what it prints."""
    command = [str(CHROMIUM), *FLAGS.split(), f"--user-data-dir={folder / 'user'}", *arguments]
    run = subprocess.run(command, check=True, capture_output=True, timeout=PATIENCE)
    return run.stdout.decode("utf-8")


@pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium")
def test_a_browser_shows_the_colours(ferrow, tmp_path):
    file = tmp_path / "guide.html"
    guide.write(file, ferrow)
    shot = tmp_path / "shot.png"
    browse(tmp_path, "--window-size=1000,1400", f"--screenshot={shot}", file.as_uri())
    shown = Counter(map(tuple, np.asarray(Image.open(shot).convert("RGB")).reshape(-1, 3).tolist()))
    for entry in ferrow.entries[:8]:
        rgb = tuple(int(entry.choice.srgb[i : i + 2], 16) for i in (1, 3, 5))
        assert shown[rgb] > 2000, entry.choice.label


# Longer than a column in every way a text can be, each with a last word to look for.
CROWD = (
    "Lit from behind here: lay the yellow first and let it dry before the next ink. finis",
    "Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichenverordnung finis",
    "港町フェロウの九つの灯が霧を遠ざける四番目の灯が暗くなるまで finis",
    "finis",
)


@pytest.fixture(scope="module")
def crowded(ferrow):
    """The comic with long labels and notes, beside each other in every way."""

    def crowd(number, entry):
        label = CROWD[number // 4 % 4].removesuffix("finis") or entry.choice.label
        wide = replace(entry.choice, lab=(100.0, -100.5, -100.5), target_text="color(srgb 0.1 0.2")
        return replace(entry, choice=replace(wide, label=label, note=CROWD[number % 4]))

    entries = [crowd(number, entry) for number, entry in enumerate(ferrow.entries)]
    return replace(ferrow, entries=tuple(entries))


@pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium")
@pytest.mark.parametrize("width", [500, 680, 800, 1280])
def test_on_a_screen_no_text_leaves_its_place(crowded, tmp_path, width):
    """The browser itself measures which elements hold more than their width."""
    measure = """<script>
        const all = [...document.querySelectorAll("body, body :not(br, img, span, script)")];
        const wide = all.filter(e => e.scrollWidth > e.clientWidth);
        document.title = `${innerWidth}, ${all.length} measured: `
            + wide.map(e => e.tagName + " " + e.textContent.slice(0, 40)).join();
    </script></body>"""
    text = page.to_html(crowded).replace("default-src", "script-src 'unsafe-inline'; default-src")
    file = tmp_path / "guide.html"
    file.write_text(text.replace("</body>", measure), encoding="utf-8")
    seen = browse(tmp_path, f"--window-size={width},900", "--dump-dom", file.as_uri())
    found = re.search(r"<title>(\d+), (\d+) measured: (.*?)</title>", seen, re.S)
    assert found is not None
    assert int(found[1]) == width
    assert int(found[2]) > 10 * len(crowded.entries)
    assert found[3] == ""


class Word(NamedTuple):
    """A printed word and its box, in points from the left and upper edge of its sheet."""

    text: str
    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Word) -> bool:
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across > 1 and down > 3  # the boxes of lines one below the other may touch


def printed(folder: Path, sheet: guide.Sheet, paper: str) -> list[tuple[float, float, list[Word]]]:
    """Width and height of each sheet of paper in points, and the words on it."""
    file, pdf = folder / "guide.html", folder / "guide.pdf"
    text = page.to_html(sheet)
    file.write_text(text.replace("@page {", f"@page {{ size: {paper};", 1), encoding="utf-8")
    browse(folder, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", file.as_uri())
    boxes = subprocess.run(
        ["pdftotext", "-bbox", str(pdf), "-"], check=True, capture_output=True, timeout=PATIENCE
    ).stdout.decode()
    number = r'"([\d.-]+)"'
    word = re.compile(
        rf"<word xMin={number} yMin={number} xMax={number} yMax={number}>(.*?)</word>"
    )
    return [
        (
            *map(float, size),
            [Word(unescape(said), *map(float, box)) for *box, said in word.findall(words)],
        )
        for *size, words in re.findall(
            rf"<page width={number} height={number}>(.*?)</page>", boxes, re.S
        )
    ]


@pytest.mark.skipif(
    CHROMIUM is None or shutil.which("pdftotext") is None, reason="needs Chromium and pdftotext"
)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("texts", ["short", "long"])
def test_a_printed_guide_cuts_nothing(ferrow, crowded, tmp_path, paper, texts):
    """A cut word is still in the PDF, but beyond the margin; a hidden one is under another."""
    guided = ferrow if texts == "short" else crowded
    sheets = printed(tmp_path, guided, paper)
    assert 6 <= len(sheets) <= (12 if texts == "short" else 16)
    side, ends = (72 / 25.4 * mm - 1 for mm in (12, 13))  # the margins of the page, rounded
    counts = Counter[str]()
    for width, height, words in sheets:
        assert width == pytest.approx(595 if paper == "A4" else 612, abs=1)
        for word in words:
            assert side <= word.left < word.right <= width - side, word
            assert ends <= word.top < word.bottom <= height - ends, word
        for one, other in combinations(words, 2):
            assert not one.overlaps(other), (one, other)
        # The target, the difference and the end of the note are on one sheet.
        here = Counter(word.text for word in words)
        assert here["wanted"] == here["ΔE"] - here["best"]
        assert texts == "short" or here["wanted"] == here["finis"]
        counts += here
    assert counts["wanted"] == len(guided.entries)
