"""Pictures written as PNG, in pieces, so that a large one can be given up while it is written."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import IO, TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from PIL import Image


class _Watched(io.RawIOBase):
    """Writes into another file, and tells of each piece before it does."""

    def __init__(self, file: IO[bytes], told: Callable[[], None]) -> None:
        self._file, self._told = file, told

    def write(self, data: Any) -> int:
        self._told()
        return self._file.write(data)


def save(
    image: Image.Image, file: IO[bytes], dpi: int, told: Callable[[], None], **options: Any
) -> None:
    """Write a picture.

    Args:
        image: The picture.
        file: An open file.
        dpi: Its pixels to the inch.
        told: Called for each piece; what it raises ends the work.
        options: What else Pillow is to know.

    Raises:
        OSError: It cannot be written.
    """
    image.save(cast("IO[bytes]", _Watched(file, told)), "PNG", dpi=(dpi, dpi), **options)
