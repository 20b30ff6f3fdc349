from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.keys import _character_to_key

from tuimatch.tui import keys_file
from tuimatch.tui.keys_file import KeysError

DEFAULTS = {
    "match.take": "enter",
    "match.target": "t",
    "match.quit": "q",
    "list.down": "down,j",
    "list.up": "up,k",
}


@pytest.fixture
def written(tmp_path):
    def write(text):
        path = tmp_path / "keys.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", {}),
        ("[keys]", {}),
        ('[keys]\nmatch.take = "x"', {"match.take": "x"}),
        ('[keys]\n"match.take" = " x , ctrl+t "', {"match.take": "x,ctrl+t"}),
        (
            '[keys.list]\ndown = "pagedown,f12"\nup = "?,#"',
            {"list.down": "pagedown,f12", "list.up": "?,#"},
        ),
        (
            '\ufeff[keys]\nmatch.quit = "ctrl+q,number_sign,é,slash"',
            {"match.quit": "ctrl+q,number_sign,é,slash"},
        ),
        # Swapped keys do not clash, and other places have keys of their own.
        (
            '[keys]\nmatch.take = "t"\nmatch.target = "enter"',
            {"match.take": "t", "match.target": "enter"},
        ),
        ('[keys]\nlist.down = "t"', {"list.down": "t"}),
    ],
)
def test_keys_by_id(written, text, expected):
    assert keys_file.read(written(text), DEFAULTS) == expected


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[keys]\nmatch.tkae = "x"', "keys.match.tkae: is not a known id; did you mean match.take"),
        ('[keys]\nzzzz = "x"', "keys.zzzz: is not a known id; known are match.take, match.target"),
        ('[key]\nmatch.take = "x"', "key: is not a known table; give [keys]"),
        ('keys = "x"', "keys: is not a table; give [keys]"),
        ("[keys]\nmatch.take = 5", 'keys.match.take: is not text; give a key such as "x"'),
        ('[keys]\nmatch.take = ["x"]', "keys.match.take: is not text"),
        ('[keys]\nmatch.take = "entr"', "keys.match.take: 'entr' is not a key; give a key such as"),
        ('[keys]\nmatch.take = ""', "keys.match.take: '' is not a key"),
        ('[keys]\nmatch.take = "x,"', "keys.match.take: '' is not a key"),
        ('[keys]\nmatch.take = "ctrl+"', "'ctrl+' is not a key"),
        (r"[keys]" "\n" r'match.take = "\u001b"', r"\x1b' is not a key"),
        ('[keys]\nmatch.take = "t"', "keys.match.take: 't' is the key of match.target"),
        (
            '[keys]\nmatch.take = "#"\nmatch.quit = "number_sign"',
            "'number_sign' is the key of match.",
        ),
        ('[keys]\nmatch.take = "minus"\nmatch.quit = "-"', "'minus' is the key of match."),
        ("[keys", "is not TOML"),
        (b"\xff", "is not UTF-8 at byte 0"),
        ("a = " + "[" * 50_000, "nests too deeply"),
        ("a" + ".a" * 40_000 + " = 1", "nests too deeply"),
        (f"{'a' * 90_000} = 1", "aaa...: is not a known table"),
        (f'[keys]\n{"a" * 90_000} = "x"', "aaa...: is not a known id"),
        (f'[keys]\n{"match.take" * 3}.{"a" * 90_000} = "x"', "aaa...: is not a known id"),
        ("x" * 200_000, "is over 100 kB"),
    ],
)
def test_refusals_name_file_and_id_in_one_line(written, text, said):
    path = written(text)
    with pytest.raises(KeysError) as caught:
        keys_file.read(path, DEFAULTS)
    assert str(caught.value).startswith(f"{path}: ")
    assert said in str(caught.value)
    assert "\n" not in str(caught.value) and "\x1b" not in str(caught.value)
    assert len(str(caught.value)) < len(str(path)) + 300


def test_the_file_that_the_environment_names(written, tmp_path):
    path = written('[keys]\nmatch.take = "x"')
    assert keys_file.load({"TUIMATCH_KEYS": str(path)}, DEFAULTS) == {"match.take": "x"}
    with pytest.raises(KeysError, match="cannot be read"):
        keys_file.load({"TUIMATCH_KEYS": str(tmp_path / "none.toml")}, DEFAULTS)
    with pytest.raises(KeysError, match="cannot be read"):
        keys_file.load({"TUIMATCH_KEYS": "~nobody-of-this-name/keys.toml"}, DEFAULTS)
    with pytest.raises(KeysError, match="cannot be read"):
        keys_file.load({"TUIMATCH_KEYS": str(tmp_path)}, DEFAULTS)


def test_the_users_own_file_need_not_be_there(tmp_path, monkeypatch):
    monkeypatch.setattr(keys_file, "default_path", lambda: tmp_path / "tuimatch" / "keys.toml")
    assert keys_file.load({}, DEFAULTS) == {}
    (tmp_path / "tuimatch").mkdir()
    (tmp_path / "tuimatch" / "keys.toml").write_text('[keys]\nmatch.quit = "x"')
    assert keys_file.load({"TUIMATCH_KEYS": ""}, DEFAULTS) == {"match.quit": "x"}


def test_the_users_own_file_is_in_the_configuration_folder():
    path = keys_file.default_path()
    assert path.name == "keys.toml" and "tuimatch" in path.parts and path.is_absolute()
    assert path != Path("keys.toml")


@given(st.characters(categories=["L", "N", "P", "S"], exclude_characters=","))
def test_signs_are_called_as_the_terminal_calls_them(character):
    """Else two spellings of one key would not be seen as a clash."""
    assert keys_file._split(character) == [_character_to_key(character)]
    assert keys_file._is_key(character)
