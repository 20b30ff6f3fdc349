"""What disagrees in a project is found, each with a way to fix it."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st
from kept import COAT, LAMP, NEWSPRINT, PALETTE, SEA, choice

from tuimatch.colour import ciede2000_bounds, colorimetry
from tuimatch.palette import file as palette_file
from tuimatch.planning import consistency
from tuimatch.planning.consistency import check
from tuimatch.recipe import recipes

GREY, NEAR, FAR = (50.0, 0.0, 0.0), (51.0, 0.0, 0.0), (60.0, 0.0, 0.0)


def numbered(*choices):
    return [replace(c, id=number) for number, c in enumerate(choices, 1)]


def shipped(stem):
    return {PALETTE.stem: PALETTE, NEWSPRINT.stem: NEWSPRINT}.get(stem)


def test_nothing_disagrees_in_an_orderly_project():
    assert check(numbered(choice("a", lab=GREY), choice("b", SEA, lab=FAR)), shipped) == []
    assert check([], shipped) == []


def test_one_label_with_two_recipes_whatever_its_case():
    choices = numbered(
        choice("Oda's coat", COAT, lab=GREY),
        choice("lamp", LAMP, lab=FAR),
        choice("oda's  COAT", SEA, lab=(20.0, 0.0, 0.0)),
        choice("Oda's coat", COAT, lab=GREY),
    )
    (finding,) = check(choices, shipped)
    assert finding.kind == "recipes"
    assert [c.id for c in finding.choices] == [1, 3, 4]
    assert "Oda's coat has 2 recipes" in finding.problem
    assert PALETTE.recipe_text(COAT) + " (1, 4," in finding.problem
    assert "tuimatch log remove" in finding.fix


def test_choices_without_a_label_are_not_compared():
    assert check(numbered(choice("", COAT, lab=GREY), choice("", SEA, lab=GREY)), shipped) == []


def test_two_labels_too_near_each_other():
    choices = numbered(
        choice("lamp", LAMP, lab=GREY), choice("sea", SEA, lab=NEAR), choice("coat", COAT, lab=FAR)
    )
    (finding,) = check(choices, shipped)
    difference = float(colorimetry.delta_e(GREY, NEAR))
    assert difference < ciede2000_bounds.CLOSE < float(colorimetry.delta_e(GREY, FAR))
    assert finding.kind == "colours"
    assert [c.id for c in finding.choices] == [1, 2]
    assert f"lamp (1) and sea (2) are only ΔE {difference:.2f} apart" in finding.problem
    assert finding.fix


def test_labels_that_share_one_colour_are_one_finding():
    choices = numbered(*(choice(name, lab=GREY) for name in ("lamp", "sun", "moon", "lamp")))
    (finding,) = check(choices, shipped)
    assert finding.problem == "lamp (1), sun (2), moon (3) have the same colour: yellow 100 %"


def test_a_label_is_not_too_near_itself():
    choices = numbered(choice("lamp", lab=GREY), choice("lamp", lab=NEAR))
    assert check(choices, shipped) == []


def test_two_labels_that_share_two_colours_too_near_each_other_are_told_of_all():
    lamps = [choice("lamp", lab=GREY), choice("lamp", lab=NEAR)]
    suns = [choice("sun", lab=GREY), choice("sun", lab=NEAR)]
    found = check(numbered(*lamps, *suns), shipped)
    assert [[c.id for c in finding.choices] for finding in found] == [[1, 3], [1, 3, 2, 4], [2, 4]]
    assert "lamp (1), sun (3) and lamp (2), sun (4) are only ΔE" in found[1].problem


@given(
    st.lists(st.tuples(st.floats(0, 100), st.floats(-9, 9), st.floats(-9, 9)), max_size=12),
)
def test_every_close_pair_is_found_and_no_other(colours):
    choices = numbered(*(choice(f"label {n}", lab=lab) for n, lab in enumerate(colours)))
    found = {
        frozenset((a.id, b.id))
        for finding in check(choices, shipped)
        for a in finding.choices
        for b in finding.choices
        if a.lab < b.lab
    }
    close = {
        frozenset((a.id, b.id))
        for a in choices
        for b in choices
        if a.lab < b.lab and float(colorimetry.delta_e(a.lab, b.lab)) < ciede2000_bounds.CLOSE
    }
    # Labels that share a colour stand in one finding with those near it.
    assert close <= found
    assert all(
        float(colorimetry.delta_e(choices[a - 1].lab, choices[b - 1].lab)) < ciede2000_bounds.CLOSE
        for a, b in map(sorted, found)
    )


def changed(old: str, new: str):
    text = NEWSPRINT.text
    assert text.count(old) == 1
    return palette_file.parse(text.replace(old, new), file="x", stem=NEWSPRINT.stem)


def taken_from(palette, tints):
    mixed = recipes.mix(palette)
    lab = tuple(float(x) for x in mixed.lab[mixed.row_of(tints)])
    return replace(
        choice("coat", tints, lab=lab), palette=palette.stem, palette_digest=palette.digest
    )


def test_a_palette_that_has_changed_since_is_told_with_how_far_its_colours_moved():
    yellower = changed("lab = [80.11, 0.02, 3.54]", "lab = [80.11, 0.02, 9.54]")
    bare = replace(taken_from(NEWSPRINT, (0.0, 0.0, 0.0)), label="")
    (finding,) = check(numbered(bare), lambda stem: yellower)
    moved = float(colorimetry.delta_e(*(recipes.mix(p).lab[0] for p in (NEWSPRINT, yellower))))
    assert finding.kind == "palette"
    assert finding.problem == (
        "palette newsprint-quarters has changed since 1 recipe was made with it (1): "
        f"the same recipes now come out up to ΔE {moved:.1f} off"
    )
    assert "take each of them again" in finding.fix
    assert check(numbered(bare), lambda stem: NEWSPRINT) == []
    assert check(numbered(bare), lambda stem: None) == []


def test_a_recipe_that_is_no_longer_in_the_palette_is_told():
    (finding,) = check(numbered(taken_from(NEWSPRINT, COAT)), lambda stem: PALETTE_WITH_OTHER_INKS)
    assert "1 of the recipes are no longer in it" in finding.problem
    assert "off" not in finding.problem


PALETTE_WITH_OTHER_INKS = palette_file.load("zine-two-inks")


def test_palettes_are_found_by_the_name_they_went_by(tmp_path, monkeypatch):
    (tmp_path / "mine.toml").write_text(NEWSPRINT.text, encoding="utf-8")
    (tmp_path / "broken.toml").write_text("?", encoding="utf-8")
    find = consistency.palette_finder(palette_file.load(str(tmp_path / "mine.toml")))
    assert find("mine").digest == NEWSPRINT.digest
    assert find("newsprint-quarters") == NEWSPRINT
    assert find("lost") is None
    monkeypatch.chdir(tmp_path)
    here = consistency.palette_finder(palette_file.load("screen-quarters"))
    assert here("mine").digest == NEWSPRINT.digest
    assert here("broken") is None


def test_a_finding_as_json():
    (finding,) = check(numbered(choice("a", lab=GREY), choice("b", lab=GREY)), shipped)
    assert finding.as_json() == {
        "kind": "colours",
        "ids": [1, 2],
        "problem": finding.problem,
        "fix": finding.fix,
    }
