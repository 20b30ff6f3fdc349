"""`tuimatch page`: a page matched together on the command line."""

from __future__ import annotations

import json
import signal
from itertools import combinations
from math import inf
from signal import pthread_kill
from threading import Event, Thread, main_thread
from time import sleep

import comic_page
import numpy as np
import pytest
from command import interrupted
from hypothesis import given
from hypothesis import strategies as st
from page_by_trying import best_by_trying, breaks_of
from PIL import Image
from support import PATIENCE, costly

from tuimatch.cli.progress import searched
from tuimatch.colour import target
from tuimatch.colour.colorimetry import delta_e
from tuimatch.log import Log
from tuimatch.palette import file as palette_file
from tuimatch.planning.page_match import Wanted
from tuimatch.planning.relations import broken, relations
from tuimatch.recipe import recipes

ON = ("--palette", "newsprint-quarters")


@pytest.fixture
def flats(cli):
    """The page of the comic with its line art, and its labels, in the command's folder."""
    comic_page.draw(1000, line=3).save(cli.folder / "page.png")
    (cli.folder / "labels.txt").write_text(comic_page.labels_text(), encoding="utf-8")
    return ("page", "page.png", "--keep", "black", *ON)


def test_json_has_exactly_these_keys_and_they_are_true(cli, flats):
    (said,) = cli.lines(*flats, "--labels", "labels.txt", "--page", "10", "--json")
    assert list(said) == [
        *("palette", "intent", "page", "flats", "neighbours", "cost", "bound", "proved"),
        *("kept_out", "smoothed", "notes", "taken"),
    ]
    assert (said["page"], said["intent"], said["kept_out"]) == ("10", "relative-black", ["#000000"])
    assert (said["proved"], said["taken"], said["smoothed"]) == (True, 0, 0)
    assert said["bound"] <= said["cost"]
    assert {f["colour"]: f["label"] for f in said["flats"]} == comic_page.LABELS
    of = recipes.mix(palette_file.load("newsprint-quarters"))
    for flat in said["flats"]:
        assert list(flat) == [
            *("colour", "share", "label", "recipe", "tints", "lab", "srgb", "delta_e"),
            *("alone_delta_e", "verdict", "locked"),
        ]
        row = of.row_of(tuple(flat["tints"].values()))
        assert flat["lab"] == of.lab[row].tolist()
        assert flat["alone_delta_e"] <= flat["delta_e"] + 1e-9
        assert (flat["verdict"] == "within") == (flat["alone_delta_e"] <= 5)
    assert said["cost"] == pytest.approx(
        sum(np.sqrt(f["share"]) * f["delta_e"] for f in said["flats"])
    )
    given = [target.parse(f["colour"]).lab for f in said["flats"]]
    for pair in said["neighbours"]:
        assert list(pair) == ["of", "and", "border", "kept", "why_not"]
        assert pair["border"] > 0
        first, second = pair["of"], pair["and"]
        assert pair["kept"]
        if delta_e(given[first], given[second]) >= 5:
            assert delta_e(said["flats"][first]["lab"], said["flats"][second]["lab"]) >= 5


def test_the_table(cli, flats):
    said = cli(*flats, "--labels", "labels.txt")
    assert "page.png: 41 flats, Newsprint, quarter tints" in said
    assert "line art kept out: #000000" in said
    kept = next(line for line in said.splitlines() if "pairs of neighbours still differ" in line)
    number, _, of, *_ = kept.split()
    assert number == of
    assert kept.endswith("proved: no other choice is nearer")
    table = said[said.index("share") :]
    assert sum("Oda's" in line for line in table.splitlines()) == 9
    assert "; alone " in said
    # Before the table the page is judged as a whole, and the worst are named.
    (judged,) = (line for line in said.splitlines() if "far off" in line)
    (answer,) = cli.lines(*flats, "--json")
    off = [flat["delta_e"] for flat in answer["flats"] if flat["delta_e"] > 5]
    assert judged.startswith(f"{len(off)} of 41 far off (over ΔE 5): ")
    assert f" {max(off):.1f}, " in judged.partition("; worst: ")[2]


def test_line_art_that_is_not_kept_out_is_pointed_out(cli, flats):
    said = cli("page", "page.png", *ON)
    assert "#000000 looks like line art; --keep '#000000' leaves it out" in said
    assert "looks like line art" not in cli(*flats)


def test_a_lock_is_kept_and_the_neighbours_give_way(cli, flats):
    lock = ("--labels", "labels.txt", "--lock", "hull, light=yellow 75, magenta 75, cyan 25")
    (said,) = cli.lines(*flats, *lock, "--lock", "#964a36=magenta 100", "--json")
    by_label = {f["label"]: f for f in said["flats"]}
    assert by_label["hull, light"]["recipe"] == "yellow 75 %, magenta 75 %, cyan 25 %"
    assert by_label["hull, shade"]["recipe"] == "magenta 100 %"
    assert [f["label"] for f in said["flats"] if f["locked"]] == ["hull, light", "hull, shade"]
    lost = [p for p in said["neighbours"] if not p["kept"]]
    assert {p["why_not"] for p in lost} <= {
        "both are locked",
        "no recipe under the limits keeps it",
    }
    assert said["proved"]


def test_limits_and_passes(cli, flats):
    (said,) = cli.lines(*flats, "--max-inks", "2", "--max-passes", "6", "--json")
    used = {(i, t) for f in said["flats"] for i, t in f["tints"].items() if t}
    assert len(used) <= 6
    assert all(sum(t > 0 for t in f["tints"].values()) <= 2 for f in said["flats"])
    (near,) = cli.lines(*flats, "--tolerance", "1", "--json")
    assert all(f["delta_e"] <= f["alone_delta_e"] + 1 + 1e-9 for f in near["flats"])
    lost = [p for p in near["neighbours"] if not p["kept"]]
    assert lost
    assert all(p["why_not"] for p in lost)
    assert "not kept: " in cli(*flats, "--tolerance", "1")


def test_taken_in_one_step_and_read_again_with_its_labels(cli, flats):
    take = (*flats, "--project", "ferrow", "--page", "10", "--take")
    said = cli(*take, "--labels", "labels.txt")
    assert "taken into project 'ferrow': 41 recipes; `tuimatch log undo" in said
    with Log(cli.log) as log:
        choices = log.choices("ferrow")
    assert len(choices) == 41
    assert {c.page for c in choices} == {"10"}
    assert {c.label for c in choices} == set(comic_page.LABELS.values())
    assert {c.intent for c in choices} == {"relative-black"}
    # Without the file of labels they are known by their colours, and replace what was there.
    (again,) = cli.lines(*take, "--max-inks", "2", "--json")
    assert {f["label"] for f in again["flats"]} == set(comic_page.LABELS.values())
    assert again["taken"] == 41
    with Log(cli.log) as log:
        assert len(log.choices("ferrow")) == 41
    assert "undone: took 41 recipes of page 10" in cli("log", "undo", "--project", "ferrow")
    with Log(cli.log) as log:
        assert {c.identity for c in log.choices("ferrow")} == {c.identity for c in choices}
    cli("log", "undo", "--project", "ferrow")
    with Log(cli.log) as log:
        assert log.choices("ferrow") == []


def test_two_areas_of_one_label_are_refused_and_nothing_is_kept(cli, flats):
    (cli.folder / "twice.txt").write_text("#964a36 hull\n#b55a3e hull\n", encoding="utf-8")
    said = cli.refuses(*flats, "--labels", "twice.txt", "--take")
    assert "are both called 'hull'" in said
    with Log(cli.log) as log:
        assert log.choices() == []


def test_the_page_as_it_will_come_out(cli, flats):
    assert "out.png: the page as it will print" in cli(*flats, "--out", "out.png")
    (said,) = cli.lines(*flats, "--json")
    given = np.asarray(Image.open(cli.folder / "page.png"))
    out = np.asarray(Image.open(cli.folder / "out.png"))
    assert out.shape == given.shape
    for flat in said["flats"]:
        here = (given == np.frombuffer(bytes.fromhex(flat["colour"][1:]), np.uint8)).all(axis=2)
        assert (out[here] == np.frombuffer(bytes.fromhex(flat["srgb"][1:]), np.uint8)).all()
    assert (out[(given == 0).all(axis=2)] == 0).all()
    assert "already exists" in cli.refuses(*flats, "--out", "out.png")
    cli(*flats, "--out", "out.png", "--replace", "--beside")
    both = np.asarray(Image.open(cli.folder / "out.png"))
    assert np.array_equal(both, np.concatenate([given, out], axis=1))


def test_a_list_is_matched_so_that_all_that_differ_stay_apart(cli):
    text = 'colour,label\n#b9855f,skin\n"#c48f30","scarf, shade"\n#b3957a house\n'
    (cli.folder / "list.csv").write_text(text, encoding="utf-8")
    (said,) = cli.lines("page", "list.csv", *ON, "--json")
    assert [f["label"] for f in said["flats"]] == ["skin", "scarf, shade", "house"]
    assert [(p["of"], p["and"]) for p in said["neighbours"]] == [(0, 1), (0, 2), (1, 2)]
    assert all(p["kept"] for p in said["neighbours"])
    assert cli.lines("page", "-", *ON, "--json", stdin=text) == [said]
    assert "3 colours" in cli("page", "-", *ON, stdin=text)
    assert "line 2: " in cli.refuses("page", "-", stdin="#fff paper\nnonsense\n")
    assert "holds no colour" in cli.refuses("page", "-", stdin="\n")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("none.png",), "cannot be read"),
        (("page.png", "--keep", "nonsense"), "is not a colour"),
        (("page.png", "--lock", "sky"), "give COLOUR=RECIPE"),
        (("page.png", "--lock", "#123456=cyan 25"), "the page has no colour '#123456'"),
        (("page.png", "--lock", "#964a36=gold 25"), "is not a recipe of these inks"),
        (("page.png", "--flats", "1"), "from 2 to 240"),
        (("page.png", "--least", "x"), "a share of the page in percent"),
        (("page.png", "--tolerance", "-1"), "a ΔE from 0"),
        (("page.png", "--beside"), "--beside goes with --out"),
        (("page.png", "--out", "a.jpg"), "give a name such as own.png"),
        (("list.txt", "--keep", "black"), "go with a picture, not a list"),
        (("page.png", "--labels", "none.txt"), "cannot be read"),
        (("page.png", "--max-coverage", "0", "--with", "cyan=25"), "leave out every recipe"),
    ],
)
def test_refusals(cli, flats, arguments, said):
    assert said in cli.refuses("page", *arguments, *ON)


PALETTE = """\
name = "Small"
kind = "screen"
[paper]
name = "white"
srgb = "#ffffff"
[[inks]]
name = "one"
symbol = "A"
srgb = "#{:06x}"
tints = {}
[[inks]]
name = "other"
symbol = "B"
srgb = "#{:06x}"
tints = {}
"""
codes = st.integers(0, (1 << 24) - 1)
ladders = st.sampled_from(([100], [50, 100], [30, 60]))


@costly
@given(st.data())
def test_cost_bound_and_what_is_kept_are_what_trying_every_choice_gives(cli, data) -> None:
    """Of `page` on a list, and of `rematch` on what it took into the log."""
    cli.log.unlink(missing_ok=True)
    made = PALETTE.format(*(data.draw(one) for one in (codes, ladders, codes, ladders)))
    (cli.folder / "small.toml").write_text(made, encoding="utf-8")
    of = recipes.mix(palette_file.load(str(cli.folder / "small.toml")))
    flats = [f"#{c:06x}" for c in data.draw(st.lists(codes, min_size=3, max_size=5, unique=True))]
    given_ = [target.parse(flat).lab for flat in flats]
    lock = {}
    if data.draw(st.booleans()):
        lock = {0: data.draw(st.integers(0, len(of) - 1))}
    page = [Wanted(lab, lab, 1 / len(flats), lock.get(i)) for i, lab in enumerate(given_)]
    kept = relations(given_, combinations(range(len(flats)), 2))
    most_inks = data.draw(st.sampled_from((None, 1)))
    tolerance = data.draw(st.sampled_from((None, 0, 5, 20)))
    most_passes = data.draw(st.sampled_from((None, 2, 3)))
    allowed = of.inks <= (2 if most_inks is None else most_inks)
    least_breaks, least = best_by_trying(page, of, kept, allowed, tolerance, most_passes)
    asked = ["page", "-", "--palette", "small.toml", "--page", "1", "--json", "--take"]
    for name, value in (("inks", most_inks), ("passes", most_passes)):
        asked += [] if value is None else [f"--max-{name}", str(value)]
    asked += [] if tolerance is None else ["--tolerance", str(tolerance)]
    locks = [f"{flats[i]}={of.palette.recipe_text(of.tints_of(row))}" for i, row in lock.items()]
    asked += [part for text in locks for part in ("--lock", text)]
    text = "".join(f"{flat} area {i}\n" for i, flat in enumerate(flats))
    if least == inf:
        assert "too few" in cli.refuses(*asked, stdin=text)
        return
    (said,) = cli.lines(*asked, stdin=text)
    assert said["proved"]
    assert least - 1e-4 <= said["cost"] <= least + 1e-4
    assert said["cost"] - 1e-4 <= said["bound"] <= said["cost"]
    rows = tuple(of.row_of(tuple(flat["tints"].values())) for flat in said["flats"])
    assert breaks_of(of, kept, rows) == least_breaks
    lost = {
        (r.first, r.second)
        for r in kept
        if broken(r, of.lab[rows[r.first]], of.lab[rows[r.second]])
    }
    assert {(p["of"], p["and"]) for p in said["neighbours"] if not p["kept"]} == lost

    again = ("rematch", "--palette", "small.toml", "--page", "1", "--json")
    free = [Wanted(lab, lab, 1 / len(flats)) for lab in given_]
    every = np.ones(len(of), dtype=bool)
    least_breaks, least = best_by_trying(free, of, kept, every, None, None)
    (said,) = cli.lines(*again)
    assert said["proved"]
    assert least - 1e-4 <= said["cost"] <= least + 1e-4
    assert said["cost"] - 1e-4 <= said["bound"] <= said["cost"]
    rows = tuple(of.row_of(tuple(area["new"]["tints"].values())) for area in said["areas"])
    assert breaks_of(of, kept, rows) == least_breaks
    lost = {
        (f"area {r.first}", f"area {r.second}")
        for r in kept
        if broken(r, of.lab[rows[r.first]], of.lab[rows[r.second]])
    }
    assert {(pair["of"], pair["and"]) for pair in said["not_kept"]} == lost


def test_what_is_json_is_one_line(cli, flats):
    assert json.loads(cli(*flats, "--json"))


def hard(cli) -> tuple[str, ...]:
    """A search that takes until it is told to stop: few passes for many colours."""
    random = np.random.default_rng(1)
    colours = random.integers(0, 256, (60, 3)).tolist()
    lines = "".join("#{:02x}{:02x}{:02x}\n".format(*colour) for colour in colours)
    (cli.folder / "many.txt").write_text(lines, encoding="utf-8")
    return ("page", "many.txt", *ON, "--max-passes", "6", "--json")


def test_an_interrupt_takes_the_best_found_so_far(cli):
    code, out, shown = interrupted(cli, *hard(cli))
    assert code == 0
    said = json.loads(out)
    assert not said["proved"]
    assert said["bound"] <= said["cost"]
    assert len({(i, t) for f in said["flats"] for i, t in f["tints"].items() if t}) <= 6
    assert "matching 60 colours, 1 s" in shown


def test_a_second_interrupt_is_not_caught():
    """Of a search that does not look whether it is to stop."""
    begun = Event()

    def search(go_on):
        begun.set()
        while go_on(None):
            sleep(0.01)
        main = main_thread().ident
        pthread_kill(main, signal.SIGINT)  # the second one
        Event().wait(PATIENCE)

    def first() -> None:
        begun.wait(PATIENCE)
        pthread_kill(main_thread().ident, signal.SIGINT)

    Thread(target=first).start()
    with pytest.raises(KeyboardInterrupt):
        searched("looking", search)


def test_what_a_search_raises_is_raised():
    with pytest.raises(ZeroDivisionError):
        searched("dividing", lambda _: 1 / 0)
