"""Writing a file or a folder: whole or not at all, and over another only if that was asked for."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from tuimatch.errors import OutputError


def is_taken(path: Path) -> bool:
    """Whether something has that name already, even a link that leads nowhere.

    An empty file and an empty folder do not count.
    """
    with suppress(OSError):
        if path.is_file() and not path.stat().st_size:
            return False
        if path.is_dir() and not path.is_symlink():
            return any(path.iterdir())
    return os.path.lexists(path)


def write(path: Path, content: str | bytes, *, replace: bool = False) -> None:
    """Write a text as UTF-8, or bytes as they are; arguments and errors as for `whole`."""
    with whole(path, replace=replace) as unfinished:
        data = content if isinstance(content, bytes) else content.encode()
        unfinished.write_bytes(data)


@contextmanager
def whole(path: Path, *, replace: bool = False) -> Iterator[Path]:
    """A file to write into; it gets its name when it is finished, and is removed if that fails.

    Args:
        path: The name. A file of that name stays as it is until the new one is whole.
        replace: Whether it may take the place of a file that is there.

    Raises:
        OutputError: It cannot be written, or something got the name meanwhile.
    """
    with _refusing(path):
        number, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:60]}.")
        os.close(number)
        unfinished = Path(name)
        try:
            yield unfinished
            unfinished.chmod(_mode(path))
            _give_name(unfinished, path, replace)
        except BaseException:
            with suppress(OSError):
                unfinished.unlink()
            raise


@contextmanager
def whole_folder(path: Path, *, replace: bool = False) -> Iterator[Path]:
    """The same for a folder of files; with `replace` they take the place of files of the same name.

    Raises:
        OutputError: It cannot be written, or something got the name meanwhile.
    """
    with _refusing(path):
        unfinished = Path(tempfile.mkdtemp(dir=path.parent, prefix=f".{path.name[:60]}."))
        try:
            yield unfinished
            unfinished.chmod(0o777 & ~_umask())
            if replace and path.is_dir():
                for file in unfinished.iterdir():
                    file.replace(path / file.name)
            else:
                unfinished.rename(path)  # so a folder with something in it is never lost
        finally:
            shutil.rmtree(unfinished, ignore_errors=True)


@contextmanager
def _refusing(path: Path) -> Iterator[None]:
    try:
        yield
    except FileExistsError as error:
        raise OutputError(
            f"{path}: already exists; give another name, or --replace to overwrite it"
        ) from error
    except (OSError, UnicodeEncodeError) as error:
        reason = getattr(error, "strerror", None) or error
        raise OutputError(f"{path}: cannot be written ({reason}); give another name") from error


def _give_name(unfinished: Path, path: Path, replace: bool) -> None:
    if replace:
        unfinished.replace(path)
        return
    try:
        # Unlike a rename, a second name is refused where another program just took it.
        os.link(unfinished, path)
    except FileExistsError:
        if is_taken(path):
            raise
        unfinished.replace(path)  # an empty file does not count
        return
    except OSError:  # a file system without second names
        if is_taken(path):
            raise FileExistsError from None
        unfinished.rename(path)
        return
    unfinished.unlink()


def _mode(path: Path) -> int:
    """The mode of the file whose place it takes, else the mode of a new file."""
    with suppress(OSError):
        if path.is_file():
            return path.stat().st_mode & 0o777
    return 0o666 & ~_umask()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
