"""Economy of a project that is kept in a real log."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from comic import PROJECT
from comic_log import contents, lose_palette, put_comic, steps
from kept import COAT, LAMP, PALETTE, choice, tick

from tuimatch.colour.colorimetry import delta_e
from tuimatch.errors import LogError, UsageError
from tuimatch.log import Log, Tick
from tuimatch.palette.file import parse
from tuimatch.planning.economy import Economy
from tuimatch.planning.economy_of_log import Work, gather, plan, take
from tuimatch.recipe.recipes import Recipes, mix


@pytest.fixture
def path(tmp_path: Path) -> Path:
    put_comic(tmp_path / "log.sqlite")
    return tmp_path / "log.sqlite"


def planned(log: Log, page: str | None = None, **how) -> tuple[Work, Economy, dict[str, Recipes]]:
    work, tables = gather(log, PROJECT, page), {}
    return work, plan(work, tables, **how), tables


def test_every_area_keeps_to_its_own_palette_and_its_allowance(path):
    with Log(path) as log:
        work, found, tables = planned(log, allowance=4.0)
    assert len({area.palette.digest for area in work.areas}) == 3
    assert found.after.by_passes < found.before.by_passes
    assert any(change.changed for change in found.changes)
    for change in found.changes:
        table = tables[change.area.palette.digest]
        row = table.row_of(change.tints)
        off = delta_e(change.area.target, table.lab)
        assert change.delta_e_after == pytest.approx(off[row])
        if change.changed:
            assert off[row] <= off.min() + 4.0 + 1e-9


def test_taking_replaces_recipes_and_nothing_else_and_one_undo_brings_all_back(path):
    before, count = contents(path), steps(path)
    with Log(path) as log:
        work, found, tables = planned(log, allowance=4.0)
        taken = take(log, work, found, tables)
    changes = {c.area.key: c for c in found.changes if c.changed}
    assert taken == len(changes) > 5
    assert steps(path) == count + 1
    after = contents(path)
    for old, new in zip(before, after, strict=True):
        if old.id not in changes:
            assert new == old
            continue
        change = changes[old.id]
        assert tuple(new.tints.values()) == change.tints
        assert new.delta_e == change.delta_e_after
        assert new.recipe == change.area.palette.recipe_text(change.tints)
        table = tables[old.palette_digest]
        row = table.row_of(change.tints)
        assert new.lab == pytest.approx(tuple(table.lab[row]))
        assert new.srgb == "#{:02x}{:02x}{:02x}".format(*table.rgb_of(row))
        for name in ("label", "page", "note", "target_text", "target_lab", "chosen_at", "identity"):
            assert getattr(new, name) == getattr(old, name)
    with Log(path) as log:
        said = log.undo(PROJECT)
        assert said == (
            f"undone: fewer passes for {PROJECT}: "
            f"{found.before.by_passes} to {found.after.by_passes}"
        )
        assert gather(log, PROJECT) == work
    assert contents(path) == before
    with Log(path) as log:
        log.redo(PROJECT)
    assert contents(path) == after


def test_a_page_alone_is_planned_and_taken(path):
    before = contents(path)
    with Log(path) as log:
        work, found, tables = planned(log, " 1 ", allowance=3.0)
        assert {area.page for area in work.areas} == {"1"}
        assert take(log, work, found, tables)
    for old, new in zip(before, contents(path), strict=True):
        assert old.page == "1" or new == old


def test_some_areas_alone_are_planned_and_taken(path):
    before = contents(path)
    some = [choice.id for choice in before if choice.page == "1"][::-2]
    with Log(path) as log:
        work, tables = gather(log, PROJECT, None, some), {}
        assert [area.key for area in work.areas] == sorted(some)
        found = plan(work, tables, allowance=5.0)
        count = take(log, work, found, tables)
        assert count > 0
        said = f"fewer passes for {len(some)} areas of {PROJECT}: {found.before.by_passes} to "
        assert log.undo(PROJECT).startswith(f"undone: {said}")
        log.redo(PROJECT)
    changed = [old.id for old, new in zip(before, contents(path), strict=True) if new != old]
    assert len(changed) == count
    assert set(changed) <= set(some)


def test_nothing_to_take_is_no_step(path):
    count = steps(path)
    with Log(path) as log:
        work, found, tables = planned(log, "1", allowance=0.0)
        assert take(log, work, found, tables) == 0
    assert steps(path) == count


@pytest.mark.parametrize("allowance", [0.0, 1.0])
def test_where_no_pass_is_saved_a_recipe_that_is_not_the_nearest_stays(tmp_path, allowance):
    """A lone tint of one ink is one pass, whatever is nearer; the artist had chosen it."""
    table = mix(PALETTE)
    row = table.row_of((75.0, 0.0, 0.0))
    lab = tuple(table.lab[row].tolist())
    lamp = replace(choice("lamp", LAMP), target_lab=lab, meant_lab=lab)
    with Log(tmp_path / "log.sqlite") as log:
        log.keep(PALETTE, lamp)
        work, tables = gather(log, PROJECT), {}
        found = plan(work, tables, allowance=allowance)
        assert take(log, work, found, tables) == 0
    (change,) = found.changes
    assert not change.changed and change.delta_e_after == change.delta_e_before > 1
    assert found.after == found.before and found.optimal
    assert found.in_words() == "nothing to save at this step: 1 pass, as near as before"


@pytest.mark.parametrize("meddling", ["label", "removed", "added"])
def test_a_plan_that_is_out_of_date_is_not_taken(path, meddling):
    with Log(path) as log, Log(path) as other:
        work, found, tables = planned(log, "1", allowance=3.0)
        victim = work.areas[0].key
        if meddling == "label":
            other.edit(victim, label="another name")
        elif meddling == "removed":
            other.remove(victim)
        else:
            other.keep(PALETTE, choice("new", LAMP, project=PROJECT, page="1"))
        before, count = contents(path), steps(path)
        with pytest.raises(LogError, match="changed meanwhile; plan again"):
            take(log, work, found, tables)
    assert contents(path) == before
    assert steps(path) == count


def test_an_area_of_which_an_ink_is_laid_keeps_its_recipe(path):
    with Log(path) as log:
        _, free, _ = planned(log, "1", allowance=3.0)
        victim, other, *_ = [change.area for change in free.changes if change.changed]
        ink, tint = next((i, t) for i, t in enumerate(victim.tints) if t)
        stale = next(step for step in other.palette.inks[0].tints if step != other.tints[0])
        names = [one.name for one in victim.palette.inks]
        tick(log, [Tick(victim.key, names[ink], tint)])
        # What is ticked of a recipe it had before holds nothing.
        tick(log, [Tick(other.key, names[0], stale)])
        work, found, tables = planned(log, "1", allowance=3.0)
        assert work.laid == {victim.key}
        assert work.remark == "1 area is laid already and stays"
        changed = {change.area.key for change in found.changes if change.changed}
        assert victim.key not in changed
        assert (free.after.by_passes, free.total_after) < (found.after.by_passes, found.total_after)
        tick(log, [Tick(other.key, names[i], t) for i, t in enumerate(other.tints) if t])
        with pytest.raises(LogError, match="changed meanwhile; plan again"):
            take(log, work, found, tables)
        work, found, tables = planned(log, "1", allowance=3.0)
        assert work.laid == {victim.key, other.key}
        assert work.remark == "2 areas are laid already and stay"
        before = {choice.id: choice.recipe for choice in log.choices(PROJECT)}
        assert take(log, work, found, tables)
        assert all(log.choice(key).recipe == before[key] for key in work.laid)


def test_areas_whose_palette_is_lost_are_left_as_they_are_and_named(path):
    lose_palette(path, "zine-two-inks")
    before = contents(path)
    with Log(path) as log:
        work, found, tables = planned(log, allowance=4.0)
        assert {c.page for c in work.left_out} == {"8"}
        assert len(work.left_out) == 5
        assert len(work.areas) == len(before) - 5
        assert work.remark == (
            "left out because their palette is lost: ledger, ruled lines, ledger, writing, "
            "ledger, red mark, coral 40 %, ledger, shadow"
        )
        assert take(log, work, found, tables)
    for old, new in zip(before, contents(path), strict=True):
        assert old.page != "8" or new == old


def test_a_recipe_its_palette_does_not_hold_is_left_out(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        log.keep(PALETTE, choice("odd", (33.0, 0.0, 0.0)))
        log.keep(PALETTE, choice("even", LAMP))
        work = gather(log, "ferrow")
    assert [c.label for c in work.left_out] == ["odd"]
    assert [a.label for a in work.areas] == ["even"]


def test_what_is_above_the_coverage_limit_of_a_palette_is_not_offered(tmp_path):
    limited = parse("coverage_limit = 100\n" + PALETTE.text, file="mine.toml", stem="mine")
    table = mix(limited)
    wanted = table.row_of((50.0, 75.0, 0.0))
    over = replace(
        choice("coat", COAT),
        palette="mine",
        palette_digest=limited.digest,
        target_lab=tuple(table.lab[wanted].tolist()),
        meant_lab=tuple(table.lab[wanted].tolist()),
    )
    with Log(tmp_path / "log.sqlite") as log:
        log.keep(limited, over)
        (change,) = plan(gather(log, "ferrow"), {}, allowance=0.0).changes
    off = delta_e(over.target_lab, table.lab)
    assert table.coverage[off.argmin()] > 100
    assert change.changed
    assert sum(change.tints) <= 100
    assert change.delta_e_after == pytest.approx(off[table.coverage <= 100].min())


def test_names(path):
    with Log(path) as log:
        work = gather(log, PROJECT)
        coats = work.named(" oda's COAT")
        assert {area.label for area in coats} == {"Oda's coat"}
        assert len(coats) > 2
        (nameless,) = [area for area in work.areas if not area.label]
        assert nameless.name == "#f2b8a0"
        assert work.named(str(nameless.key)) == work.named("#F2B8A0") == [nameless]
        assert work.named("light orange #f2b8a0") == [nameless]  # as it is shown
        with pytest.raises(UsageError, match="no area 'nowhere'; there are title, lamp flame"):
            work.named("nowhere")
        with pytest.raises(
            UsageError, match="no page '77' in project 'ferrow'; its pages are cover"
        ):
            gather(log, PROJECT, "77")
        with pytest.raises(LogError):
            gather(log, "nobody's")


def test_an_empty_project_saves_nothing(tmp_path):
    with Log(tmp_path / "log.sqlite") as log:
        log.projects.create("empty")
        work = gather(log, "empty")
        found = plan(work, {})
        assert (work.areas, found.changes, found.before.by_passes) == ((), (), 0)
        assert take(log, work, found, {}) == 0
        with pytest.raises(UsageError, match="there are none"):
            work.named("sky")
