"""Moving a project between logs: whole, once, and nothing hostile."""

from __future__ import annotations

import copy
import hashlib
import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kept import COAT, NEWSPRINT, PALETTE, choice, fill, keep, labels, tick, whole
from support import PATIENCE, ROOT

from tuimatch.errors import LogError
from tuimatch.log import Log, Tick, project_file, transfer
from tuimatch.log.transfer import Merged
from tuimatch.text import printable


@pytest.fixture
def log(tmp_path: Path):
    with Log(tmp_path / "here.sqlite") as opened:
        yield opened


@pytest.fixture
def there(tmp_path: Path):
    with Log(tmp_path / "there.sqlite") as opened:
        yield opened


def moved(log: Log, to: Log, project: str | None = None) -> Merged:
    file = log.path.with_suffix(".json")
    file.write_text(project_file.to_json(transfer.gather(log, "ferrow")), encoding="utf-8")
    return transfer.merge(to, project_file.read(file), project)


def state(log: Log) -> list[tuple[object, ...]]:
    bundle = transfer.gather(log, "ferrow")
    return [(replace(e.choice, id=0), e.removed_at, e.ticks) for e in bundle.entries]


def test_a_project_arrives_whole_and_a_second_import_changes_nothing(log, there):
    coat, gone = keep(log, "Oda's coat", "gone")
    log.keep(NEWSPRINT, replace(choice("Ölzeug", COAT), palette_digest=NEWSPRINT.digest))
    keep(log, "elsewhere", project="other")
    tick(log, [Tick(coat.id, "yellow", 100)])
    log.remove(gone.id)
    keep(there, "already there", project="third")
    assert moved(log, there) == Merged("ferrow", 3, 0, 0)
    assert state(there) == state(log)
    assert labels(there.choices("ferrow")) == ["Oda's coat", "Ölzeug"]
    assert there.palette(there.choices("ferrow")[1]).name == NEWSPRINT.name
    assert [t.ink for t in there.ticks.of()] == ["yellow"]
    assert labels(there.find("olz")) == ["Ölzeug"]
    before = list(there.database.db.iterdump())
    assert moved(log, there) == Merged("ferrow", 0, 0, 3)
    assert list(there.database.db.iterdump()) == before
    assert whole(there.path)


def test_an_import_is_one_undo(log, there):
    keep(log, "a", "b")
    moved(log, there)
    assert there.undo() == "undone: imported 2 and updated 0 recipes"
    assert there.choices() == []
    assert moved(log, there).added == 2


def test_what_was_changed_last_counts(log, there):
    keep(log, "a", "b", "c")
    moved(log, there)
    _, b, c = there.choices()
    log.edit(log.choices()[0].id, label="changed here")
    there.edit(b.id, label="changed there")
    there.remove(c.id)
    assert moved(log, there) == Merged("ferrow", 0, 1, 2)
    assert labels(there.choices()) == ["changed here", "changed there"]
    assert moved(there, log) == Merged("ferrow", 0, 2, 1)
    assert state(log) == state(there)
    there.undo()  # the import
    assert labels(there.choices()) == ["a", "changed there"]


def test_after_a_rename_a_second_import_changes_nothing(log, there):
    keep(log, "a")
    moved(log, there)
    there.projects.rename("ferrow", "Ferrow 2")
    before = list(there.database.db.iterdump())
    assert moved(log, there) == Merged("ferrow", 0, 0, 1)
    assert list(there.database.db.iterdump()) == before


def test_an_archived_project_arrives_archived(log, there):
    keep(log, "a")
    log.projects.archive("ferrow")
    assert moved(log, there) == Merged("ferrow", 1, 0, 0, archived=True)
    (arrived,) = there.projects.all(archived=True)
    assert arrived.archived_at == log.projects.all(archived=True)[0].archived_at
    there.projects.restore("ferrow")
    keep(log, "b")
    assert moved(log, there) == Merged("ferrow", 1, 0, 1)  # what is here stays as it is
    assert moved(log, there, "second") == Merged("second", 0, 0, 2)
    assert [p.name for p in there.projects.all()] == ["ferrow"]


def test_a_project_brought_in_under_another_name_is_not_archived(log, there):
    keep(log, "a")
    log.projects.archive("ferrow")
    assert moved(log, there, "second") == Merged("second", 1, 0, 0)
    assert [p.name for p in there.projects.all()] == ["second"]


def test_what_is_updated_in_another_project_is_undone_there(log, there):
    keep(log, "a")
    moved(log, there, "second")
    log.edit(log.choices()[0].id, label="changed")
    keep(log, "b")
    assert moved(log, there) == Merged("ferrow", 1, 1, 0)
    assert labels(there.choices()) == ["changed", "b"]
    assert there.undo("second") == "undone: imported 0 and updated 1 recipes"
    assert labels(there.choices()) == ["a", "b"]
    assert there.undo("second") == "undone: imported 1 and updated 0 recipes"
    assert there.undo("ferrow") == "undone: imported 1 and updated 0 recipes"
    assert there.choices() == []


def test_a_choice_is_known_by_its_identity_in_whatever_project(log, there):
    keep(log, "a")
    assert moved(log, there, "renamed") == Merged("renamed", 1, 0, 0)
    assert moved(log, there) == Merged("ferrow", 0, 0, 1)
    assert [(c.project, c.label) for c in there.choices()] == [("renamed", "a")]


def test_a_project_that_is_not_there_cannot_be_exported(log):
    with pytest.raises(LogError, match="no project 'lost'"):
        transfer.gather(log, "lost")


def document(log: Log) -> dict:
    keep(log, "lamp glass")
    tick(log, [Tick(1, "yellow", 100)])
    return json.loads(project_file.to_json(transfer.gather(log, "ferrow")))


HOSTILE = [
    (("format",), "something else", "format"),
    (("version",), 4, "version"),
    (("project",), "", "project"),
    (("project",), "a\x1b[2Jb", "control character"),
    (("project",), 7, "project"),
    (("archived_at",), "lately", "archived_at"),
    (("palettes",), [], "palettes"),
    (("choices",), None, "choices"),
    (("choices", 0), "choice", r"choices\[1\]"),
    (("choices", 0, "identity"), "../../etc", "identity"),
    (("choices", 0, "label"), "x" * 61, "label"),
    (("choices", 0, "label"), "a" + "\u0316\u0301" * 2_000, "4001 characters"),
    (("choices", 0, "label"), ["a"], "label"),
    (("choices", 0, "lab"), [0] * 1_000_000, "lab"),
    (("choices", 0, "page"), "\u202e", "page"),
    (("choices", 0, "note"), "\ud800", "note"),
    (("choices", 0, "target"), {"text": "red"}, "target.lab"),
    (("choices", 0, "target", "text"), "", "target.text"),
    (("choices", 0, "lab"), [1, 2], "lab"),
    (("choices", 0, "lab"), [1, 2, "3"], "lab"),
    (("choices", 0, "lab"), [1, 2, 10**400], "lab"),
    (("choices", 0, "lab"), [1, 2, float("nan")], "lab"),
    (("choices", 0, "lab"), [1, 2, True], "lab"),
    (("choices", 0, "lab"), [1, 2, 3, 4], "lab"),
    (("choices", 0, "target", "meant_lab"), [1, 2, 3, 4], "target.meant_lab"),
    (("choices", 0, "intent"), "perceptual", "absolute, relative, relative-black"),
    (("choices", 0, "delta_e"), float("inf"), "delta_e"),
    (("choices", 0, "delta_e"), -1, "delta_e"),
    (("choices", 0, "srgb"), "red;background:url(//x)", "srgb"),
    (("choices", 0, "tints"), {"yellow": 101}, "tints"),
    (("choices", 0, "tints"), {}, "tints"),
    (("choices", 0, "tints"), {"yellow": 50, "magenta": 0, "cyan": 0}, "recipe"),
    (("choices", 0, "recipe"), "<script>", "recipe"),
    (("choices", 0, "palette_digest"), "0" * 64, "palette_digest"),
    (("choices", 0, "chosen_at"), "yesterday", "chosen_at"),
    (("choices", 0, "changed_at"), "2026-01-01", "changed_at"),
    (("choices", 0, "chosen_at"), "0001-01-01T00:00:00+14:00", "chosen_at"),
    (("choices", 0, "changed_at"), "9999-12-31T23:59:59-12:00", "not a time from 1970 to 9998"),
    (("archived_at",), "0001-01-01T00:00:00+00:00", "archived_at"),
    (("choices", 0, "removed_at"), 5, "removed_at"),
    (("choices", 0, "ticks"), [{"kind": "laying"}], "ink"),
    (("choices", 0, "ticks"), [5], r"ticks\[1\]"),
]


@pytest.mark.parametrize(("at", "value", "named"), HOSTILE)
def test_a_hostile_file_is_refused_in_one_line_that_names_the_key(log, tmp_path, at, value, named):
    hostile = document(log)
    part = hostile
    for key in at[:-1]:
        part = part[key]
    part[at[-1]] = value
    file = tmp_path / "hostile.json"
    file.write_text(json.dumps(hostile), encoding="utf-8")
    with pytest.raises(LogError, match=named) as caught:
        project_file.read(file)
    assert str(caught.value).startswith(str(file))
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 400


def test_a_palette_that_is_not_the_text_of_its_digest_is_refused(log, tmp_path):
    hostile = document(log)
    next(iter(hostile["palettes"].values()))["text"] += "\n# and more"
    file = tmp_path / "hostile.json"
    file.write_text(json.dumps(hostile), encoding="utf-8")
    with pytest.raises(LogError, match="does not agree with its digest"):
        project_file.read(file)


def test_half_a_surrogate_pair_in_a_palette_is_refused(log, tmp_path):
    hostile = document(log)
    text = "name = '?'"
    digest = hashlib.sha256(text.encode()).hexdigest()
    hostile["palettes"] = {digest: {"name": "own", "text": text.replace("?", "\ud800")}}
    hostile["choices"][0]["palette_digest"] = digest
    file = tmp_path / "hostile.json"
    file.write_text(json.dumps(hostile), encoding="utf-8")
    with pytest.raises(LogError, match="does not agree with its digest"):
        project_file.read(file)


def test_one_palette_with_two_sets_of_inks_is_refused(log, tmp_path):
    hostile = document(log)
    other = copy.deepcopy(hostile["choices"][0])
    other |= {"identity": "0" * 32, "tints": {"red": 50.0}, "recipe": "red 50 %"}
    hostile["choices"].append(other)
    file = tmp_path / "hostile.json"
    file.write_text(json.dumps(hostile), encoding="utf-8")
    with pytest.raises(LogError, match=r"choices\[2\].tints: has other inks"):
        project_file.read(file)


@pytest.mark.parametrize("name", ["family\u200djoined", "bell\x07", "right\u202eleft", "x" * 255])
def test_what_is_exported_can_be_imported_whatever_the_palettes_file_was_called(log, there, name):
    log.keep(PALETTE, replace(choice("lamp glass"), palette=name))
    assert moved(log, there).added == 1
    (arrived,) = there.choices("ferrow")
    assert arrived.palette == printable(name)


def test_a_long_import_says_how_far_it_is(log, there):
    keep(log, *(f"area {number}" for number in range(1_100)))
    told = []
    bundle = transfer.gather(log, "ferrow")
    transfer.merge(there, bundle, progress=lambda done, total: told.append((done, total)))
    assert told == [(500, 1_100), (1_000, 1_100)]


def test_an_import_that_fails_leaves_the_search_as_it_was(log, there):
    keep(log, "a rare ž", "gull")
    keep(there, "fog")
    before = list(there.database.db.iterdump())
    bundle = transfer.gather(log, "ferrow")
    twice = (*bundle.entries, bundle.entries[1])
    with pytest.raises(LogError):
        transfer.merge(there, replace(bundle, entries=twice))
    assert list(there.database.db.iterdump()) == before
    assert labels(there.find("fo")) == ["fog"]
    transfer.merge(there, bundle)
    assert labels(there.find("z")) == ["a rare ž"]
    assert labels(there.find("gu")) == ["gull"]


def test_an_identity_that_stands_twice_is_refused(log, tmp_path):
    hostile = document(log)
    hostile["choices"] *= 2
    file = tmp_path / "hostile.json"
    file.write_text(json.dumps(hostile), encoding="utf-8")
    with pytest.raises(LogError, match="identity twice"):
        project_file.read(file)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"[]",
        b"null",
        b"\xff\xfe",
        b"{" * 100_000,
        b"[" * 1_000_000,
        b'{"format": ' + b"9" * 10_000 + b"}",
        b'{"format": "tuimatch project", "version": 1}',
    ],
)
def test_what_is_no_export_is_refused_in_one_line(tmp_path, data):
    file = tmp_path / "other.json"
    file.write_bytes(data)
    with pytest.raises(LogError) as caught:
        project_file.read(file)
    assert "\n" not in str(caught.value)


TAKES = """
import sys
from pathlib import Path
from tuimatch.errors import LogError
from tuimatch.log import project_file
file = Path(sys.argv[1])
before = '{"format": "tuimatch project", "version": 1, "choices": [[0'
deep = '{"":' * 900 + "0" + "}" * 900
wide = '"' + "a" * 3_900_000 + '\\U0001f600"'
for unit in ("[]", "{}", '{"":0}', '"\\u0100"', '"ab"', "999", deep, wide):
    part = ("," + unit).encode() * (100_000 // len(unit) or 1)
    for size in (7_000_000, 18_500_000, 39_900_000, 60_000_000):
        with file.open("wb") as out:
            out.write(before.encode())
            out.writelines(part for _ in range(size // len(part)))
            out.write(b"]]}")
        try:
            project_file.read(file)
        except LogError:
            continue
        print("read", unit[:20])
status = Path("/proc/self/status").read_text()  # ru_maxrss starts with what the parent had
print(int(status.split("VmHWM:")[1].split()[0]) // 1024)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="counts memory as Linux does")
def test_no_file_takes_more_than_half_a_gigabyte(tmp_path):
    done = subprocess.run(
        [sys.executable, "-c", TAKES, str(tmp_path / "large.json")],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=PATIENCE,
    )
    assert done.stderr == ""
    assert int(done.stdout) < 512, done.stdout


def test_a_project_of_twenty_thousand_choices_can_be_moved(log, tmp_path):
    fill(log, 1)
    bundle = transfer.gather(log, "ferrow")
    (entry,) = bundle.entries
    many = replace(
        bundle,
        entries=tuple(
            replace(
                entry,
                choice=replace(
                    entry.choice,
                    identity=f"{number:032x}",
                    label="Öl lamp glass 😀 of the harbour side",
                    note="lit from behind, wet side; the panel at the left of page 12",
                    lab=(number / 777, -number / 777, number / 999),
                    tints=dict.fromkeys(("yellow", "magenta", "cyan", "black"), 33.3),
                    recipe="yellow 33.3 %, magenta 33.3 %, cyan 33.3 %, black 33.3 %",
                ),
                ticks=(("yellow", 33.3), ("cyan", 33.3)),
            )
            for number in range(20_000)
        ),
    )
    file = tmp_path / "many.json"
    file.write_text(project_file.to_json(many), encoding="utf-8")
    assert len(project_file.read(file).entries) == 20_000
    # What could not be imported is not written either.
    twice = tuple(
        replace(e, choice=replace(e.choice, identity="f" + e.choice.identity[1:]))
        for e in many.entries
    )
    with pytest.raises(LogError, match="40,000 recipes"):
        project_file.to_json(replace(many, entries=many.entries + twice))


def test_a_missing_file_is_refused_by_name(tmp_path):
    with pytest.raises(LogError, match=r"lost\.json: cannot be read"):
        project_file.read(tmp_path / "lost.json")


_json = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)


@given(data=st.data())
def test_any_value_in_any_place_is_refused_or_harmless(tmp_path_factory, data):
    folder = tmp_path_factory.mktemp("any")
    with Log(folder / "a.sqlite") as log:
        given_document = document(log)
    entry = given_document["choices"][0]
    table = data.draw(st.sampled_from([given_document, entry, entry["target"], entry["ticks"][0]]))
    table[data.draw(st.sampled_from(sorted(table)))] = copy.deepcopy(data.draw(_json))
    file = folder / "any.json"
    file.write_text(json.dumps(given_document), encoding="utf-8")
    with Log(folder / "b.sqlite") as log:
        try:
            merged = transfer.merge(log, project_file.read(file))
        except LogError as error:
            assert "\n" not in str(error)
        else:
            here = log.choices()
            if merged.added:
                entries = transfer.gather(log, merged.project).entries
                assert len(entries) == merged.added
                here += [e.choice for e in entries if e.removed_at is not None]
            assert merged.added == len(here)
            assert transfer.merge(log, project_file.read(file)).added == 0
        assert whole(log.path)
        assert all(c.palette_digest == PALETTE.digest for c in log.choices())
