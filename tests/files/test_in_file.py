"""Files that a person names: what cannot be read gets one line in every reader."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from threading import Thread

import pytest

from tuimatch.errors import TuimatchError
from tuimatch.files import in_file
from tuimatch.log import project_file
from tuimatch.own_palette import cgats, swatch_list
from tuimatch.palette import file as palette_file
from tuimatch.picture import picture
from tuimatch.tui import keys_file

READERS: dict[str, Callable[[Path], object]] = {
    "palette": palette_file.read,
    "list of swatches": swatch_list.read,
    "keys": lambda path: keys_file.read(path, {"match.take": "enter"}),
    "measurements": cgats.read,
    "picture": picture.read,
    "project": project_file.read,
}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("lost.toml", "cannot be read (No such file"),
        ("", "give a"),
        ("nul\0.toml", "cannot be read (embedded null"),
        ("~nobody-of-this-name/x.png", "cannot be read (No such file"),
        ("~nobody\0/x.png", "cannot be read (embedded null"),
        ("x" * 5000, "cannot be read (File name too long)"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, reader: str, name: str, said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(TuimatchError) as caught:
        READERS[reader](Path(name))
    assert said in str(caught.value)
    assert str(caught.value).isprintable()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("what", ["pipe", "link to a pipe", "device", "folder"])
def test_what_is_not_a_plain_file_is_refused_and_not_waited_for(
    tmp_path: Path, reader: str, what: str
) -> None:
    path = tmp_path / "a.toml"
    if what == "device":
        path = Path("/dev/zero")
    elif what == "folder":
        path = tmp_path
    else:
        os.mkfifo(path)
    if what.startswith("link"):
        path = tmp_path / "b.toml"
        path.symlink_to("a.toml")
    said: list[str] = []

    def read() -> None:
        try:
            READERS[reader](path)
        except TuimatchError as error:
            said.append(str(error))

    waiting = Thread(target=read, daemon=True)
    waiting.start()
    waiting.join(60)
    assert len(said) == 1
    assert "is not a plain file; give" in said[0] or "Is a directory" in said[0]
    assert said[0].isprintable()


def test_home_is_where_the_user_lives(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    assert in_file.user_path("~/own.toml") == tmp_path / "own.toml"
    assert in_file.user_path(Path("~/own.toml")) == tmp_path / "own.toml"
    for name in ("own.toml", "./~/own.toml", "~nobody-of-this-name/x", "~\0/x", "~\ud800/x"):
        assert in_file.user_path(name) == Path(name)


def refusal(text: str) -> TuimatchError:
    with pytest.raises(TuimatchError) as caught:
        in_file.toml(text, lambda problem: TuimatchError(f"x: {problem}"))
    return caught.value


def test_no_more_than_the_limit_is_read(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"12345")
    assert in_file.read_bytes(path, 5, "a file", TuimatchError) == b"12345"
    with pytest.raises(TuimatchError, match="is over 0 kB, far too large; give a file"):
        in_file.read_bytes(path, 4, "a file", TuimatchError)
    os.truncate(path, 10**12)  # of holes: it takes no room
    with pytest.raises(TuimatchError, match="is over 1 kB"):
        in_file.read_bytes(path, 1000, "a file", TuimatchError)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a" + ".a" * 500_000 + " = 1", "nests too deeply"),
        ("[a" + ".a" * 40_000 + "]", "nests too deeply"),
        ("a" + " . 'a'" * 40_000 + " = 1", "nests too deeply"),
        ("a = " + "[" * 100_000, "nests too deeply"),
        ("a = " + "9" * 100_000, "a number too long"),
        ("a" * 300_000 + " =", "is not TOML: "),
    ],
)
def test_hostile_toml(text: str, said: str) -> None:
    message = str(refusal(text))
    assert said in message
    assert len(message) < 200
