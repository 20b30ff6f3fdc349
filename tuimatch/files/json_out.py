"""JSON that a terminal shows as data: no character in it can steer one or hide what a line says."""

from __future__ import annotations

import json
import re
from typing import Any

from tuimatch.text import is_unsafe

# `json` escapes the control characters of ASCII itself, all but DEL; line ends are between values.
_DOUBTFUL = re.compile(r"[^\n -~]")


def to_json(value: Any, *, indent: int | None = None) -> str:
    r"""A value as JSON; ordinary text stays readable, what is unsafe is escaped, as ``\u009b``."""
    text = json.dumps(value, ensure_ascii=False, indent=indent)
    return _DOUBTFUL.sub(lambda found: _escaped(found[0]), text)


def _escaped(character: str) -> str:
    return json.dumps(character)[1:-1] if is_unsafe(character) else character
