"""A few rounds of each attack on the log, with a fixed seed; `attack_log` runs them for hours."""

from __future__ import annotations

import random

import pytest
from attack_log import ATTACKS

# Whatever is flipped, nothing is lost or altered silently but where SQLite itself cannot see it.
NEVER = {
    "lost",
    "lost silently",
    "edits lost",
    "altered silently",
    "there though refused",
    "back though gone",
    "not opened",
}


@pytest.mark.parametrize("attack", ATTACKS)
def test_nothing_is_lost_or_altered_silently(attack):
    counts = ATTACKS[attack](random.Random(20261127), 12)
    assert counts["rounds"] == 12
    assert {what: counts[what] for what in NEVER if counts[what]} == {}


def test_what_is_only_beside_a_log_survives_a_garbled_first_page():
    counts = ATTACKS["first-page"](random.Random(1), 8)
    assert counts["lost and said so"] == counts["altered and said so"] == 0


def test_changes_of_another_log_are_never_applied():
    counts = ATTACKS["foreign"](random.Random(2), 8)
    assert counts["set aside"] == counts["said so"] == 8
    assert not counts["lost and said so"]
