"""A file that a person names: found, read up to a size and parsed, or refused in one line.

Each reader has an error of its own, so it passes in how to make one from a problem in words.
"""

from __future__ import annotations

import os
import re
import shlex
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from stat import S_ISREG
from typing import Any, BinaryIO

from tuimatch.errors import TuimatchError

Refuse = Callable[[str], TuimatchError]

# A key of very many parts; the memory to read one grows with the square of their number.
_LONG_KEY = re.compile(r"""(?:\.\s*(?:[\w-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')\s*){32}""")


def user_path(name: str | Path) -> Path:
    """The path that a person means: ~ is a home folder; where there is none, ~ stays."""
    try:
        return Path(os.path.expanduser(name))
    except ValueError:  # no user has such a name: a NUL in it, half a surrogate pair
        return Path(name)


@contextmanager
def refusing(give: str, refuse: Refuse) -> Iterator[None]:
    """Turn what the system says of a file that it cannot open or read into a refusal.

    Args:
        give: What would be right, such as "a palette file".
        refuse: Makes the error from a problem in words.

    Raises:
        TuimatchError: The one that `refuse` makes.
    """
    try:
        yield
    except (OSError, ValueError) as error:  # ValueError: a NUL in the path
        reason = getattr(error, "strerror", None) or error
        raise refuse(f"cannot be read ({reason}); give {give}") from error


@contextmanager
def opened(path: Path, give: str, refuse: Refuse) -> Iterator[BinaryIO]:
    """A file to read from; anything else, such as a pipe, is refused without waiting for it.

    Args:
        path: The file.
        give: What would be right, such as "a palette file".
        refuse: Makes the error from a problem in words.

    Raises:
        TuimatchError: It cannot be opened or read, or is not a plain file.
    """
    with refusing(give, refuse):
        where = user_path(path)
        with open(where, "rb", opener=_without_waiting) as file:
            if not S_ISREG(os.fstat(file.fileno()).st_mode):
                raise refuse(f"is not a plain file; give {give}")
            yield file


def _without_waiting(path: str, flags: int) -> int:
    # Opening a pipe waits for a writer, opening a device may do anything; Windows has neither.
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0))


def read_bytes(path: Path, most: int, give: str, refuse: Refuse) -> bytes:
    """All of a file.

    Args:
        path: The file.
        most: How many bytes it may have; no more are ever read.
        give: What would be right, such as "a palette file".
        refuse: Makes the error from a problem in words.

    Raises:
        TuimatchError: It cannot be read or is larger.
    """
    with opened(path, give, refuse) as file:
        data = file.read(most + 1)
    if len(data) > most:
        size = f"{most // 1_000_000} MB" if most >= 1_000_000 else f"{most // 1_000} kB"
        raise refuse(f"is over {size}, far too large; give {give}")
    return data


def read_text(path: Path, most: int, give: str, refuse: Refuse) -> str:
    """All of a file of UTF-8 text; see `read_bytes`."""
    try:
        return read_bytes(path, most, give, refuse).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refuse(f"is not UTF-8 at byte {error.start}; save it as UTF-8") from error


def toml(text: str, refuse: Refuse) -> dict[str, Any]:
    """The document in a text of TOML.

    Raises:
        TuimatchError: It is not TOML, or is not safe to read.
    """
    too_deep = "nests too deeply; give a few plain tables"
    if _LONG_KEY.search(text):
        raise refuse(too_deep)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        raise refuse(f"is not TOML: {said[:100]}{said[100:] and '...'}") from error
    except RecursionError as error:
        raise refuse(too_deep) from error
    except ValueError as error:
        raise refuse("holds a number too long to read; give numbers of a few digits") from error


def typed_path(text: str) -> Path:
    """The path that was typed; ``~`` is the home folder.

    A terminal puts quotes or backslashes into the path of a file that is dropped on it: these are
    taken out.
    """
    text = text.strip()
    if not os.path.lexists(text):
        with suppress(ValueError):  # an apostrophe in a name is not a quote
            words = shlex.split(text)
            text = words[0] if len(words) == 1 else text
    with suppress(ValueError):  # a NUL; opening it says so
        text = os.path.expanduser(text)  # Path.expanduser fails where there is no such user
    return Path(text)
