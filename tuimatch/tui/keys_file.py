"""Keys of the artist's own: a file that says which key does what.

The file is TOML with one table, ``[keys]``; in it a binding's id is given a key, or several with
commas between them::

    [keys]
    match.take = "enter,x"
    list.down = "down"

Textual names the keys and binds them. It binds whatever it is given, so the file is checked here
and the artist is told what is wrong with it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from functools import partial
from pathlib import Path
from typing import Any

from tuimatch.errors import TuimatchError
from tuimatch.files import in_file

VARIABLE = "TUIMATCH_KEYS"
MAX_BYTES = 100_000

_MODIFIERS = re.compile(r"(?:(?:ctrl|shift|alt|super|hyper|meta)\+)*")
_HINT = 'give a key such as "x", "enter" or "ctrl+t", or several: "enter,x"'


class KeysError(TuimatchError):
    """A file of keys that cannot be used: which file, which id, what would be right."""

    def __init__(self, file: Path, at: str, problem: str) -> None:
        self.file, self.at, self.problem = file, at, problem
        super().__init__(f"{file}: {at}: {problem}" if at else f"{file}: {problem}")


def load(environ: Mapping[str, str], defaults: Mapping[str, str]) -> dict[str, str]:
    """The keys of the file that `TUIMATCH_KEYS` names, or of the user's own file if there is one.

    Args:
        environ: The environment.
        defaults: Every binding's id with its keys, commas between them.

    Returns:
        Keys by id, for the ids that the file names.

    Raises:
        KeysError: The file cannot be read or is not correct.
    """
    return read(_path(environ), defaults) if wanted(environ) else {}


def wanted(environ: Mapping[str, str]) -> bool:
    """Whether there are keys to read: a file is named, or the user has one."""
    return bool(environ.get(VARIABLE)) or default_path().exists()


def _path(environ: Mapping[str, str]) -> Path:
    named = environ.get(VARIABLE)
    return Path(named) if named else default_path()


def default_path() -> Path:
    """The file in the user's configuration folder."""
    import platformdirs  # only when no file is named

    return Path(platformdirs.user_config_dir("tuimatch", appauthor=False)) / "keys.toml"


def read(path: Path, defaults: Mapping[str, str]) -> dict[str, str]:
    """Read and check one file of keys; see `load`."""
    refuse = partial(KeysError, path, "")
    document = in_file.toml(in_file.read_text(path, MAX_BYTES, "a file of keys", refuse), refuse)
    for key in document:
        if key != "keys":
            raise KeysError(path, _short(key), "is not a known table; give [keys]")
    table = document.get("keys", {})
    if not isinstance(table, dict):
        raise KeysError(path, "keys", "is not a table; give [keys]")
    found: dict[str, str] = {}
    for name, value in _flat(table):
        if name not in defaults:
            raise KeysError(
                path, f"keys.{_short(name)}", f"is not a known id; {_ids_like(name, defaults)}"
            )
        if not isinstance(value, str):
            raise KeysError(path, f"keys.{name}", f"is not text; {_HINT}")
        given = [key.strip() for key in value.split(",")]
        for key in given:
            if not _is_key(key):
                raise KeysError(path, f"keys.{name}", f"{key[:40]!r} is not a key; {_HINT}")
        found[name] = ",".join(given)
    _check_apart(path, found, defaults)
    return found


def _flat(table: dict[str, Any], at: str = "") -> Iterator[tuple[str, object]]:
    """Ids with their values: TOML takes the dots of a bare id for tables in tables."""
    stack = [(at, table)]
    while stack:
        at, inner = stack.pop()
        for key, value in inner.items():
            if isinstance(value, dict):
                stack.append((f"{at}{key}.", value))
            else:
                yield f"{at}{key}", value


def _short(name: str) -> str:
    return name if len(name) <= 60 else name[:57] + "..."


def _ids_like(name: str, defaults: Mapping[str, str]) -> str:
    near = get_close_matches(name, defaults, n=3, cutoff=0.5)
    return f"did you mean {' or '.join(near)}?" if near else f"known are {', '.join(defaults)}"


def _split(keys: str) -> list[str]:
    """Keys as the terminal is going to call them: ``number_sign`` for ``#``."""
    from textual.binding import Binding

    return [binding.key for binding in Binding.make_bindings([Binding(keys, "")])]


def _is_key(key: str) -> bool:
    """Whether a terminal program may be told of such a key."""
    from textual.keys import KEY_NAME_REPLACEMENTS, Keys, key_to_character

    name = _MODIFIERS.sub("", key, count=1) or key
    named = {one.value for one in Keys if one.value.isalnum()} | {*KEY_NAME_REPLACEMENTS.values()}
    sign = key_to_character(name)
    known = sign is not None and sign.isprintable() and not sign.isspace()
    return name in named or (known and name in (sign, name.lower()))


def _check_apart(path: Path, found: Mapping[str, str], defaults: Mapping[str, str]) -> None:
    """Refuse one key for two ids of the same place: one of them would never work."""
    taken: dict[tuple[str, str], str] = {}
    # What the file names comes last, so that it is what the refusal is about.
    for name in sorted(defaults, key=lambda name: name in found):
        place = name.partition(".")[0]
        for key in _split(found.get(name, defaults[name])):
            other = taken.setdefault((place, key), name)
            if other != name and name in found:
                raise KeysError(
                    path, f"keys.{name}", f"{key!r} is the key of {other}; give that one another"
                )
