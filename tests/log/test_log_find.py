"""Finding: every way to an entry gives the same as reading everything."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kept import COAT, PALETTE, SEA, choice, fill, keep, labels

from tuimatch.log import Log, search
from tuimatch.log.search import ORDERS, folded, words


@pytest.fixture
def log(tmp_path: Path):
    with Log(tmp_path / "log.sqlite") as opened:
        yield opened


def test_find_looks_in_every_text_and_every_word_must_occur(log):
    log.keep(PALETTE, choice("Oda's coat", COAT, page="12", note="wet side", target="#8c3b3f"))
    log.keep(PALETTE, choice("Ölzeug", SEA, page="cover", target="tomato"))
    for text in (
        "coat",
        "COAT oda",
        "wet",
        "12",
        "#8c3b",
        '"magenta 100"',
        '"et si',
        "#ffe800 wet",
    ):
        assert labels(log.find(text)) == ["Oda's coat"], text
    for text in ("olz", "ÖLZEUG", "toma", "cover", '"cyan 100'):
        assert labels(log.find(text)) == ["Ölzeug"], text
    assert labels(log.find("")) == ["Ölzeug", "Oda's coat"]
    assert log.find("coat tomato") == log.find("xyzzy") == log.find("zz") == []
    assert log.find("coat", "other") == []
    assert labels(log.find("coat", "FERROW")) == ["Oda's coat"]


def test_a_page_is_found_as_it_is_said(log):
    for label, page in (("a", "9"), ("b 4", "9, 10"), ("c", ""), ("page turner", "Cover É")):
        log.keep(PALETTE, choice(label, page=page))
    for text, found in (
        ("page 9", ["b 4", "a"]),
        ("PAGE 10", ["b 4"]),
        ("page 1", []),  # not 10; and no words of an entry either
        ("page 9 b", ["b 4"]),
        ("page 9 page 10", ["b 4"]),
        ("page 9 no page", []),
        ("no page", ["c"]),
        ("No Page yellow", ["c"]),
        ('page "cover e"', ["page turner"]),
        ("page", ["page turner"]),
        ("page turner", ["page turner"]),  # there is no such page, so these are words
        ('"no page"', []),
        ("page 4", []),  # the 4 of a label is not a page
    ):
        for order in ORDERS:
            assert sorted(labels(log.find(text, order=order))) == sorted(found), (text, order)
            assert log.count(text, "ferrow") == len(found), (text, order)


def test_find_does_not_take_the_text_for_a_query_language(log):
    keep(log, 'say"ay" AND')
    for text in ("AND", "NOT", "*", "(", "NEAR(", "'", "_", "\ue000", 'y" OR "a', "folded:say"):
        assert len(log.find(text)) == (text == "AND"), text
    for text in ('y"ay"', '""', '"', '" AND"'):
        assert len(log.find(text)) == 1, text


def test_find_orders_and_pages(log):
    for label, page, delta_e in (("b", "10", 1.0), ("A", "9", 3.0), ("c", "cover", 2.0)):
        log.keep(PALETTE, choice(label, page=page, delta_e=delta_e))
    by = {order: "".join(labels(log.find("", order=order))) for order in ORDERS}
    assert by == {"newest": "cAb", "oldest": "bAc", "label": "Abc", "page": "cAb", "delta_e": "bcA"}
    assert labels(log.find("", limit=1, offset=1)) == ["A"]
    assert labels(log.find("ferro", limit=1)) == []


_words = st.text("ab'\"é% ", max_size=6)


@given(
    kept=st.lists(st.tuples(_words, _words, st.sampled_from(["one", "two"])), max_size=6),
    text=_words,
    project=st.sampled_from([None, "one", "two"]),
    order=st.sampled_from(list(ORDERS)),
)
def test_find_agrees_with_reading_everything(kept, text, project, order):
    with tempfile.TemporaryDirectory() as folder, Log(Path(folder) / "log.sqlite") as log:
        for label, note, whose in kept:
            log.keep(PALETTE, choice(label, note=note, project=whose))

        def matches(c):
            texts = (c.label, c.page, c.note, c.target_text, c.srgb, c.recipe)
            return all(any(w in folded(t) for t in texts) for w in words(text))

        expected = {c.identity for c in log.choices(project) if matches(c)}
        found = log.find(text, project, order=order)
        assert {c.identity for c in found} == expected
        assert len(found) == len(expected) == log.count(text, project)


def test_every_way_of_finding_gives_the_same_in_a_large_log(log, monkeypatch):
    monkeypatch.setattr(search, "_MOST_SORTED", 100)
    monkeypatch.setattr(search, "_MOST_LISTED", 300)
    fill(log, 1500)
    log.remove(*(c.id for c in log.find("panel 1", limit=20)))
    everything = log.choices()
    for text in ("lamp", "e", "la", "7", "lamp quay", "yellow", "#1", "l e", "panel 49", "zz"):
        expected = {
            c.id
            for c in everything
            if all(
                any(
                    word in field
                    for field in (c.label, c.page, c.note, c.target_text, c.srgb, c.recipe)
                )
                for word in text.split()
            )
        }
        for order in ORDERS:
            on_page = log.find(f"{text} page 7", "ferrow", order=order, limit=-1)
            assert {c.id for c in on_page} == {
                c.id for c in everything if c.id in expected and c.page == "7"
            }
            found = log.find(text, "ferrow", order=order, limit=-1)
            assert len(found) == len({c.id for c in found})
            assert {c.id for c in found} == expected, (text, order)
            assert log.find(text, order=order, limit=7, offset=3) == found[3:10], (text, order)
    by_delta_e = [c.delta_e for c in log.find("yellow", order="delta_e", limit=-1)]
    assert by_delta_e == sorted(by_delta_e)
