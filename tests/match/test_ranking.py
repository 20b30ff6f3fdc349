"""The order of the candidates: nearest first, total, repeatable, with its tie breaks."""

import numpy as np
import pytest
from coloraide import Color
from hypothesis import given
from hypothesis import strategies as st
from support import lab_triples, screen_palettes

from tuimatch.colour import target
from tuimatch.colour.colorimetry import delta_e, difference
from tuimatch.match.hold import Hold
from tuimatch.match.limits import Narrowing, allowed
from tuimatch.match.ranking import Ranking, rank
from tuimatch.palette import file as palette_file
from tuimatch.palette.model import Ink, Palette
from tuimatch.recipe.recipes import Recipes, mix

SCREEN = mix(palette_file.load("screen-quarters"))
COATED = mix(palette_file.load("coated-tenths"))
holds = st.sampled_from(Hold)
# The factors kL, kC, kH that order by each hold: 1 for what is held, 2 for the other two.
FACTORS = {
    Hold.NOTHING: (1, 1, 1),
    Hold.LIGHTNESS: (1, 2, 2),
    Hold.HUE: (2, 2, 1),
    Hold.CHROMA: (2, 1, 2),
}


def wanted(lab: tuple[float, float, float]) -> target.Target:
    return target.from_lab(lab, "a colour")


def own(recipes: Recipes, row: int) -> target.Target:
    lightness, a, b = (float(x) for x in recipes.lab[row])
    return wanted((lightness, a, b))


def rows(ranking: Ranking) -> list[int]:
    return [candidate.row for candidate in ranking.candidates]


def step(delta_e: float) -> float:
    """The whole fifths of a ΔE."""
    return float(np.floor(np.round(delta_e * 5, 9)))


@given(screen_palettes(), st.data(), holds)
def test_a_recipes_own_colour_ranks_it_first(
    palette: Palette, data: st.DataObject, hold: Hold
) -> None:
    """Or a recipe less than 0.2 away with fewer inks or less coverage: the documented tie."""
    recipes = mix(palette)
    row = data.draw(st.integers(0, len(recipes) - 1))
    ranking = rank(own(recipes, row), recipes, hold=hold)
    before = rows(ranking)[: rows(ranking).index(row)]
    off = difference(recipes.lab[row], recipes.lab[before]).weighted(*hold.factors)
    assert all(step(x) == 0 for x in off)
    sparing = [(recipes.inks[other], recipes.coverage[other]) for other in before]
    assert all(one <= (recipes.inks[row], recipes.coverage[row]) for one in sparing)
    assert ranking.beside(row).delta_e == pytest.approx(0, abs=1e-9)
    assert ranking.beside(row).differs == ""


@pytest.mark.parametrize("name", palette_file.shipped_names())
def test_own_colours_of_shipped_palettes_rank_first(name: str) -> None:
    recipes = mix(palette_file.load(name))
    for row in range(0, len(recipes), max(1, len(recipes) // 60)):
        ranking = rank(own(recipes, row), recipes, top=3)
        first = ranking.candidates[0]
        assert step(first.delta_e) == 0
        assert first.row == row or recipes.inks[first.row] <= recipes.inks[row]


def test_an_ink_saved_beats_what_nobody_sees() -> None:
    """What is first has the fewest inks of all within its fifth of ΔE."""
    recipes = mix(palette_file.load("newsprint-quarters"))
    rng = np.random.default_rng(5)
    saved = 0
    for lab in rng.uniform((20, -40, -40), (80, 60, 60), (300, 3)).tolist():
        first = rank(wanted((lab[0], lab[1], lab[2])), recipes, top=1).candidates[0]
        off = delta_e(lab, recipes.lab)
        nearest = int(off.argmin())
        assert step(first.delta_e) == step(off.min())
        alike = [row for row in range(len(recipes)) if step(off[row]) == step(off.min())]
        assert recipes.inks[first.row] == min(recipes.inks[alike])
        saved += int(recipes.inks[nearest] > recipes.inks[first.row])
    assert saved  # it happens


@given(screen_palettes(), lab_triples, holds)
def test_the_order_is_total_and_repeatable(
    palette: Palette, lab: tuple[float, float, float], hold: Hold
) -> None:
    recipes = mix(palette)
    ranking = rank(wanted(lab), recipes, hold=hold)
    assert sorted(rows(ranking)) == list(range(len(recipes)))
    assert [c.rank for c in ranking.candidates] == list(range(1, len(recipes) + 1))
    assert rank(wanted(lab), mix(palette), hold=hold).candidates == ranking.candidates


@given(lab_triples, holds, st.integers(1, 60))
def test_the_first_few_are_the_head_of_the_whole_order(
    lab: tuple[float, float, float], hold: Hold, top: int
) -> None:
    whole = rank(wanted(lab), SCREEN, hold=hold)
    head = rank(wanted(lab), SCREEN, hold=hold, top=top)
    assert head.candidates == whole.candidates[:top]
    assert head.nearest is not None and whole.nearest is not None
    assert (head.nearest.row, head.nearest.delta_e) == (whole.nearest.row, whole.nearest.delta_e)
    assert head.nearest.rank == (whole.nearest.rank if whole.nearest.rank <= top else 0)


def test_the_first_few_of_many_are_the_head_too() -> None:
    whole = rank(wanted((50, 10, -20)), COATED)
    assert rank(wanted((50, 10, -20)), COATED, top=12).candidates == whole.candidates[:12]
    assert len(rank(wanted((50, 10, -20)), SCREEN, top=1000).candidates) == 125


@given(lab_triples, holds)
def test_the_order_is_ciede2000_with_the_factors_of_the_hold(
    lab: tuple[float, float, float], hold: Hold
) -> None:
    """Against coloraide; what is held keeps factor 1, the other two get 2; ΔE shown is plain."""
    ranking = rank(wanted(lab), SCREEN, hold=hold)
    factors = dict(zip(("kl", "kc", "kh"), FACTORS[hold], strict=True))
    given_lab, keys = Color("lab", lab), []
    for candidate in ranking.candidates[::7]:
        sample = Color("lab", [float(x) for x in SCREEN.lab[candidate.row]])
        plain = given_lab.delta_e(sample, method="2000", space="lab")
        assert candidate.delta_e == pytest.approx(plain, abs=1e-6)
        keys.append(given_lab.delta_e(sample, method="2000", space="lab", **factors))
    steps = [step(key) for key in keys if abs(key * 5 - round(key * 5)) > 1e-5]
    assert steps == sorted(steps)


def test_a_hold_brings_its_attribute_nearer() -> None:
    """Over many targets, the first candidate under a hold differs less in what is held."""
    rng = np.random.default_rng(11)
    targets = [
        wanted((float(lightness), float(a), float(b)))
        for lightness, a, b in rng.uniform((25, -60, -60), (90, 60, 60), (60, 3))
    ]

    def off(hold: Hold, attribute: str) -> float:
        total = 0.0
        for colour in targets:
            row = rank(colour, SCREEN, hold=hold, top=1).candidates[0].row
            total += abs(float(getattr(difference(colour.lab, SCREEN.lab[row]), attribute)))
        return total

    for hold, attribute in zip(
        (Hold.LIGHTNESS, Hold.HUE, Hold.CHROMA), ("lightness", "hue", "chroma"), strict=True
    ):
        assert off(hold, attribute) < off(Hold.NOTHING, attribute)


def same_colour(*inks: Ink) -> Recipes:
    """A palette of inks that all look alike on white paper."""
    return mix(Palette("p", "p", "", "screen", "", "white", (255, 255, 255), inks))


def test_ties_go_to_fewer_inks_then_less_coverage_then_laying_order() -> None:
    # Black over anything is black, so every recipe with a solid of black looks the same.
    recipes = same_colour(
        Ink("red", "R", (200, 0, 0), (20, 100)),
        Ink("blue", "B", (0, 0, 200), (20, 100)),
        Ink("black", "K", (0, 0, 0), (100,)),
    )
    ranking = rank(wanted((0, 0, 0)), recipes)
    black = [recipes.tints_of(c.row) for c in ranking.candidates if c.delta_e < 1e-9]
    assert black == [
        (0, 0, 100),
        # two inks: 120 %, then 200 %; red is laid first, so less red comes first
        (0, 20, 100),
        (20, 0, 100),
        (0, 100, 100),
        (100, 0, 100),
        (100, 100, 0),  # solid red over solid blue multiplies to black too
        (20, 20, 100),
        (20, 100, 100),
        (100, 20, 100),
        (100, 100, 100),
    ]


def test_ties_hold_for_the_first_few_as_well() -> None:
    recipes = same_colour(*(Ink(f"k{i}", str(i), (0, 0, 0), (50, 100)) for i in range(3)))
    whole = rank(wanted((0, 0, 0)), recipes)
    for top in range(1, len(recipes) + 1):
        assert rank(wanted((0, 0, 0)), recipes, top=top).candidates == whole.candidates[:top]
    assert recipes.tints_of(whole.candidates[0].row) == (0, 0, 100)


@given(screen_palettes(), lab_triples, st.floats(0, 300))
def test_limits_leave_out_what_they_say_and_the_rest_keeps_its_order(
    palette: Palette, lab: tuple[float, float, float], most: float
) -> None:
    recipes = mix(palette)
    mask = allowed(recipes, Narrowing(max_coverage=most))
    ranking = rank(wanted(lab), recipes, allowed=mask)
    assert ranking.left_out == sum(recipes.coverage > most)
    assert all(recipes.coverage[row] <= most for row in rows(ranking))
    whole = rows(rank(wanted(lab), recipes))
    assert rows(ranking) == [row for row in whole if mask[row]]


def test_a_coverage_limit_lets_its_own_value_through() -> None:
    mask = allowed(SCREEN, Narrowing(max_coverage=200))
    assert mask[SCREEN.row_of((100.0, 100.0, 0.0))]
    assert not mask[SCREEN.row_of((100.0, 100.0, 25.0))]
    assert allowed(SCREEN, Narrowing()).all()


def test_nothing_allowed_is_an_empty_answer() -> None:
    ranking = rank(wanted((50, 0, 0)), SCREEN, allowed=np.zeros(len(SCREEN), dtype=np.bool_))
    assert ranking.candidates == ()
    assert ranking.nearest is None
    assert ranking.left_out == 125


def test_a_candidate_says_how_it_differs_from_the_target() -> None:
    lightness, a, b = own(SCREEN, 0).lab
    darker = rank(wanted((lightness - 12, a, b)), SCREEN).candidates
    paper = next(c for c in darker if c.row == 0)
    assert paper.differs.endswith("lighter")
