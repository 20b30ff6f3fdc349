"""What is written: whole or not at all, over nothing unasked, with the mode that was found."""

import multiprocessing
from pathlib import Path

import pytest

from tuimatch.errors import OutputError
from tuimatch.files import out_file


def test_a_name_taken_meanwhile_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"

    def write_while_another_does() -> None:
        with out_file.whole(path) as unfinished:
            unfinished.write_text("mine")
            path.write_text("another's")

    with pytest.raises(OutputError, match=r"already exists; give another name, or --replace"):
        write_while_another_does()
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("own.toml", "another's")]


def _write(path: Path, number: int, start, answers) -> None:
    start.wait()
    try:
        out_file.write(path, f"{number}" * 100_000)
    except OutputError:
        answers.put(None)
    else:
        answers.put(number)


def test_of_many_writers_of_one_new_name_one_succeeds(tmp_path: Path) -> None:
    context = multiprocessing.get_context("fork")
    for attempt in range(5):
        path = tmp_path / f"{attempt}.json"
        start, answers = context.Barrier(4), context.Queue()
        writers = [
            context.Process(target=_write, args=(path, number, start, answers))
            for number in range(4)
        ]
        for writer in writers:
            writer.start()
        won = [number for number in (answers.get() for _ in writers) if number is not None]
        for writer in writers:
            writer.join()
        assert len(won) == 1
        assert path.read_text() == f"{won[0]}" * 100_000
    assert len(list(tmp_path.iterdir())) == 5


def test_replacing_keeps_the_mode(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text("old")
    path.chmod(0o640)
    out_file.write(path, "new", replace=True)
    assert (path.read_text(), path.stat().st_mode & 0o777) == ("new", 0o640)


def test_an_empty_file_counts_as_none(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.touch()
    out_file.write(path, b"new")
    assert path.read_bytes() == b"new"


def test_what_is_not_finished_is_gone(tmp_path: Path) -> None:
    def interrupted(opened) -> None:
        with opened as unfinished:
            target = unfinished / "half" if unfinished.is_dir() else unfinished
            target.write_text("half")
            raise KeyboardInterrupt

    for opened in (out_file.whole(tmp_path / "a.ora"), out_file.whole_folder(tmp_path / "plates")):
        with pytest.raises(KeyboardInterrupt):
            interrupted(opened)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_whole_and_loses_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "plates"
    with out_file.whole_folder(folder) as unfinished:
        (unfinished / "yellow.tif").write_text("1")
    (folder / "notes.txt").write_text("mine")
    with pytest.raises(OutputError), out_file.whole_folder(folder) as unfinished:
        (unfinished / "yellow.tif").write_text("2")
    assert (folder / "yellow.tif").read_text() == "1"
    with out_file.whole_folder(folder, replace=True) as unfinished:
        (unfinished / "yellow.tif").write_text("2")
    assert sorted((p.name, p.read_text()) for p in folder.iterdir()) == [
        ("notes.txt", "mine"),
        ("yellow.tif", "2"),
    ]
    assert [p.name for p in tmp_path.iterdir()] == ["plates"]


def test_a_name_too_long_is_refused_in_a_line(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        out_file.write(tmp_path / ("x" * 300), "new")
