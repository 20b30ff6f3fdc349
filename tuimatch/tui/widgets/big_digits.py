"""Numbers large enough to be read from where the drawing board is."""

from __future__ import annotations

# Three columns and five rows for each sign.
_SIGNS = {
    "0": "███ █ █ █ █ █ █ ███",
    "1": " █  ██   █   █  ███",
    "2": "███   █ ███ █   ███",
    "3": "███   █ ███   █ ███",
    "4": "█ █ █ █ ███   █   █",
    "5": "███ █   ███   █ ███",
    "6": "███ █   ███ █ █ ███",
    "7": "███   █   █   █   █",
    "8": "███ █ █ ███ █ █ ███",
    "9": "███ █ █ ███   █ ███",
    ".": "                 █ ",
}
_HALVES = {"  ": " ", "█ ": "▀", " █": "▄", "██": "█"}


def big(number: str, width: int, height: int) -> list[str]:
    """A number of digits and a point as lines of blocks, as large as there is room for.

    Returns:
        Five lines, or three, or just the number itself.
    """
    rows = [" ".join(_SIGNS[sign][4 * y : 4 * y + 3] for sign in number) for y in range(5)]
    if 2 * len(rows[0]) <= width and height >= 5:
        return ["".join(2 * cell for cell in row) for row in rows]
    if len(rows[0]) <= width and height >= 3:
        rows.append(" " * len(rows[0]))
        pairs = zip(rows[::2], rows[1::2], strict=True)
        return ["".join(_HALVES[up + low] for up, low in zip(*pair, strict=True)) for pair in pairs]
    return [number]
