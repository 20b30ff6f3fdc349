"""What the project knows of a target: the choice it comes back to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from kept import COAT, LAMP, PALETTE, SEA, choice

from tuimatch.colour.colorimetry import delta_e
from tuimatch.colour.target import from_lab
from tuimatch.match.answer import Question, known, match
from tuimatch.recipe.recipes import mix

RECIPES = mix(PALETTE)
WANTED = (60.0, 20.0, -10.0)


def taken(label, tints, target=WANTED):
    lab = tuple(float(x) for x in RECIPES.lab[RECIPES.row_of(tints)])
    return replace(choice(label, tints, lab=lab), target_lab=target)


def before(*choices, wanted=WANTED):
    return match(RECIPES, Question(from_lab(wanted, "wanted")), known(RECIPES, choices)).before


def test_of_equals_the_newest_choice_is_the_one_that_the_target_comes_back_to():
    found = before(taken("old", LAMP), taken("new", SEA), taken("off", COAT, (90.0, 0.0, 0.0)))
    assert (found.label, found.delta_e) == ("new", 0.0)
    assert found.row == RECIPES.row_of(SEA)


def test_a_nearer_choice_goes_before_a_newer_one():
    found = before(taken("near", LAMP), taken("newer", SEA, (60.5, 20.0, -10.0)))
    assert found.label == "near"


def test_a_target_comes_back_to_the_colour_that_was_given_too():
    (given,) = (taken("given", SEA, (90.0, 0.0, 0.0)),)
    assert before(given, wanted=given.lab).label == "given"
    assert before() is None


def test_a_target_comes_back_to_what_is_hard_to_tell_apart_from_it():
    """Which ends at 2 ΔE; common practice, no source."""
    lightness = np.linspace(WANTED[0], 100, 4001)[:, None]
    labs = np.concatenate([lightness, np.full((len(lightness), 2), WANTED[1:])], axis=1)
    for off, found in ((1.99, True), (2.01, False), (2.19, False)):
        near = labs[np.searchsorted(delta_e(np.array(WANTED), labs), off)]
        assert (before(taken("off", SEA, tuple(near.tolist()))) is not None) is found, off
