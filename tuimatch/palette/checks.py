"""What a palette file must hold: every table, key and value checked, and the palette built.

Every refusal is a `PaletteError` of one line: file, key, what is wrong, what would be right.
Tables in a key count from 1, as a person does: ``inks[2].tints``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from tuimatch.errors import PaletteError
from tuimatch.palette.kinds import KINDS, Kind
from tuimatch.palette.model import (
    MAX_INKS,
    MAX_MIXTURES,
    MAX_RECIPES,
    Channels,
    Fused,
    Ink,
    Palette,
    Triple,
)
from tuimatch.text import has_unsafe, percent, rgb_of_hex

_TOP = ("name", "about", "kind", "source", "yule_nielsen", "coverage_limit", "paper", "inks")
_PAPER = ("name",)
_INK = ("name", "symbol", "angle", "gain", "tints", "labels")
# The channels of an earlier version: a palette that names them, with the factor that was fitted for
# them, is reckoned in those that took their place.
_REPLACED = "bt2020"


class Checks:
    """Checks a parsed document and builds the palette; knows the file's name for its refusals."""

    def __init__(self, file: str, stem: str, text: str) -> None:
        self.file, self.stem, self.source_text = file, stem, text

    def refuse(self, key: str, problem: str) -> PaletteError:
        """The error for a key: what is wrong with it, and what would be right."""
        return PaletteError(self.file, key, problem)

    def palette(self, document: dict[str, Any]) -> Palette:
        """The palette in a parsed document.

        Raises:
            PaletteError: A key is missing, unknown or wrong.
        """
        kind = self.kind(document)
        self.known(document, "", (*_TOP, *kind.keys), kind)
        source = self.text(document, "source", "", required=kind.needs_source, most=400)
        paper = self.table(document, "paper")
        self.known(paper, "paper.", (*_PAPER, kind.colour, *kind.paper_keys), kind)
        inks = self.inks(document, kind)
        paper_screen = self.screen(paper, "paper.")
        if any((ink.screen is None) != (paper_screen is None) for ink in inks):
            raise self.refuse("screen", "give one to the paper and to every ink, or none at all")
        count = 1
        for ink in inks:
            count *= len(ink.tints) + 1
        if count > MAX_RECIPES:
            raise self.refuse(
                "inks", f"make {count:,} recipes; at most {MAX_RECIPES:,}, so give fewer tints"
            )
        return Palette(
            stem=self.stem,
            name=self.text(document, "name", ""),
            about=self.text(document, "about", "", required=False, most=2000),
            kind=kind.name,
            source=source,
            paper_name=self.text(paper, "name", "paper."),
            paper=self.colour(paper, "paper.", kind),
            inks=inks,
            overprints=self.overprints(document, inks),
            yule_nielsen=self.yule_nielsen(document),
            coverage_limit=self.number(document, "coverage_limit", "", 1, 100 * MAX_INKS),
            channels=self.channels(document),
            mixtures=self.mixtures(document, inks),
            fused=self.fused(document),
            paper_screen=paper_screen,
            text=self.source_text,
        )

    def kind(self, document: dict[str, Any]) -> Kind:
        """The kind of palette that the file names."""
        kind = document.get("kind")
        if isinstance(kind, str) and kind in KINDS:
            return KINDS[kind]
        said = "is missing" if kind is None else f"is {_shown(kind)}"
        kinds = " or ".join(f'"{name}"' for name in KINDS)
        raise self.refuse("kind", f"{said}; give {kinds}")

    def channels(self, document: dict[str, Any]) -> Channels:
        """The channels of light to compute in; X, Y and Z unless given."""
        value = document.get("channels", "xyz")
        if value == "xyz":
            return "xyz"
        if value in ("sharp", _REPLACED):
            return "sharp"
        raise self.refuse("channels", f'is {_shown(value)}; give "xyz" or "sharp"')

    def yule_nielsen(self, document: dict[str, Any]) -> float | None:
        """The Yule-Nielsen factor n, 1 to 10; None where the file leaves it to its kind."""
        factor = self.number(document, "yule_nielsen", "", 1, 10)
        if factor is None or document.get("channels") == _REPLACED:
            return None
        for key, value in (("channels", "sharp"), ("fused", "resized")):
            if document.get(key) == value:
                raise self.refuse("yule_nielsen", f'does not go with {key} = "{value}"; remove it')
        return factor

    def fused(self, document: dict[str, Any]) -> Fused:
        """What the dots fuse by; the eye unless given."""
        value = document.get("fused", "eye")
        if value == "eye":
            return "eye"
        if value == "resized":
            return "resized"
        raise self.refuse("fused", f'is {_shown(value)}; give "eye" or "resized"')

    def inks(self, document: dict[str, Any], kind: Kind) -> tuple[Ink, ...]:
        """The inks in laying order; names and symbols must tell them apart."""
        tables = self.tables(document, "inks")
        if not 1 <= len(tables) <= MAX_INKS:
            raise self.refuse(
                "inks", f"holds {len(tables)}; give one to {MAX_INKS} [[inks]] tables"
            )
        inks = tuple(
            self.ink(table, f"inks[{number}].", kind) for number, table in enumerate(tables, 1)
        )
        taken: dict[str, int] = {}
        for number, ink in enumerate(inks, 1):
            for key, name in (("name", ink.name), ("symbol", ink.symbol)):
                # A name may equal its own symbol, but no other ink's name or symbol, so that
                # either of them says which ink is meant.
                other = taken.setdefault(name.casefold(), number)
                if other != number:
                    raise self.refuse(
                        f"inks[{number}].{key}",
                        f"{name!r} is taken by inks[{other}]; give each ink its own",
                    )
        return inks

    def ink(self, table: dict[str, Any], at: str, kind: Kind) -> Ink:
        """One ink with its ladder."""
        self.known(table, at, (*_INK, kind.colour, *kind.ink_keys), kind)
        symbol = self.text(table, "symbol", at, most=2)
        tints = self.tints(table, at)
        return Ink(
            name=self.text(table, "name", at, most=40),
            symbol=symbol,
            solid=self.colour(table, at, kind),
            tints=tints,
            labels=self.labels(table, at, tints),
            measured=self.measured(table, at, tints),
            ramp=self.ramp(table, at, tints),
            gain=self.number(table, "gain", at, -0.25, 0.4),
            angle=self.number(table, "angle", at, -360, 360),
            screen=self.screen(table, at),
        )

    def tints(self, table: dict[str, Any], at: str) -> tuple[float, ...]:
        """The ladder in percent, ascending, without 0."""
        key, values = f"{at}tints", table.get("tints")
        if not isinstance(values, list) or not values:
            raise self.refuse(key, "is missing; give the ladder, such as [25, 50, 75, 100]")
        for value in values:
            if not _is_number(value) or not 1 <= value <= 100:
                raise self.refuse(
                    key, f"{_shown(value)} is not a tint; give percents from 1 to 100"
                )
            if round(value, 2) != value:
                raise self.refuse(key, f"{value!r} is too fine; give at most two decimals")
        for lower, upper in pairwise(values):
            if upper <= lower:
                raise self.refuse(
                    key,
                    f"{_shown(upper)} comes after {_shown(lower)}; "
                    "give the tints ascending, each once",
                )
        return tuple(float(value) for value in values)

    def labels(self, table: dict[str, Any], at: str, tints: tuple[float, ...]) -> tuple[str, ...]:
        """What the artist calls the tints, one for each; empty where none is given."""
        key, values = f"{at}labels", table.get("labels")
        if values is None:
            return ()
        if not isinstance(values, list) or len(values) != len(tints):
            raise self.refuse(key, f"must be a list of {len(tints)}, one for each tint")
        labels = [self.checked_text(value, key, 40) for value in values]
        for label in labels:
            if labels.count(label) > 1:
                raise self.refuse(key, f"{label!r} appears twice; give each tint its own label")
        return tuple(labels)

    def measured(
        self, table: dict[str, Any], at: str, tints: tuple[float, ...]
    ) -> tuple[tuple[float, Triple], ...]:
        """Tints of the ladder, in percent, each with its Lab."""
        found = self.labs_by_tint(f"{at}measured", table.get("measured"))
        for tint, (key, _) in found.items():
            if tint not in tints:
                # A bare 12.5 is two nested keys in TOML.
                ladder = ", ".join(f'"{t}"' if "." in t else t for t in map(percent, tints))
                raise self.refuse(key, f"is not one of the ink's tints; give {ladder}")
            if tint == 100:
                raise self.refuse(key, "the solid is given by lab; leave it out here")
        return tuple((tint, self.lab(lab, key)) for tint, (key, lab) in sorted(found.items()))

    def ramp(
        self, table: dict[str, Any], at: str, tints: tuple[float, ...]
    ) -> tuple[tuple[float, Triple], ...]:
        """Tints between those of the ladder, in percent, each with its Lab."""
        found = self.labs_by_tint(f"{at}ramp", table.get("ramp"))
        for tint, (key, _) in found.items():
            if not 0 < tint < 100 or tint in tints:
                raise self.refuse(
                    key, "is not a tint between the ink's own; the ink's own go into measured"
                )
        return tuple((tint, self.lab(lab, key)) for tint, (key, lab) in sorted(found.items()))

    def labs_by_tint(self, key: str, values: object) -> dict[float, tuple[str, object]]:
        """The value under each tint, with its key; a key that is not a number counts as -1."""
        if values is None:
            return {}
        if not isinstance(values, dict):
            raise self.refuse(key, "must be a table such as { 25 = [L, a, b] }")
        found: dict[float, tuple[str, object]] = {}
        for name, lab in values.items():
            at_tint = f"{key}.{_short(name)}"
            try:
                tint = float(name)
            except ValueError:
                tint = -1.0
            if tint in found:
                raise self.refuse(at_tint, "appears twice; keep one")
            found[tint] = at_tint, lab
        return found

    def mixtures(
        self, document: dict[str, Any], inks: tuple[Ink, ...]
    ) -> tuple[tuple[tuple[float, ...], Triple], ...]:
        """Measured mixtures: percent for every ink in laying order, each with its Lab."""
        if "measured_mixtures" not in document:
            return ()
        # The longest name first: "light cyan 50" is not a tint of cyan.
        names = "|".join(sorted((re.escape(ink.name) for ink in inks), key=len, reverse=True))
        part = re.compile(rf"({names}) (\d{{1,3}}(?:\.\d{{1,4}})?)(?:, (?=.)|$)", re.ASCII)
        found: dict[tuple[float, ...], Triple] = {}
        table = self.table(document, "measured_mixtures")
        if len(table) > MAX_MIXTURES:
            raise self.refuse(
                "measured_mixtures", f"holds {len(table):,}; give at most {MAX_MIXTURES:,}"
            )
        for recipe, lab in table.items():
            key = f"measured_mixtures.{_short(recipe)}"
            tints = {name: float(tint) for name, tint in part.findall(recipe)}
            if (
                part.sub("", recipe)
                or len(tints) < 2
                or not 0 < min(tints.values()) <= max(tints.values()) <= 100
            ):
                raise self.refuse(
                    key,
                    "is not a mixture; give two inks or more, each with its percent, such as "
                    f'"{inks[0].name} 50, {inks[-1].name} 50"',
                )
            if set(tints.values()) == {100.0}:
                raise self.refuse(key, "is all solids; give it in [[overprints]]")
            mixture = tuple(tints.get(ink.name, 0.0) for ink in inks)
            if mixture in found:
                raise self.refuse(key, "appears twice; keep one")
            found[mixture] = self.lab(lab, key)
        return tuple(sorted(found.items()))

    def overprints(
        self, document: dict[str, Any], inks: tuple[Ink, ...]
    ) -> tuple[tuple[tuple[int, ...], Triple], ...]:
        """Overprinted solids: the positions of their inks, ascending, each with its Lab."""
        if "overprints" not in document:
            return ()
        names = {ink.name: position for position, ink in enumerate(inks)}
        found: dict[tuple[int, ...], Triple] = {}
        for number, table in enumerate(self.tables(document, "overprints"), 1):
            at = f"overprints[{number}]."
            self.known(table, at, ("inks", "lab"), KINDS["measured"])
            listed = table.get("inks")
            if not isinstance(listed, list) or len(listed) < 2:
                raise self.refuse(f"{at}inks", "must be a list of two inks or more, by name")
            for name in listed:
                if not isinstance(name, str) or name not in names:
                    raise self.refuse(
                        f"{at}inks", f"{_shown(name)} is not one of the inks ({', '.join(names)})"
                    )
            positions = tuple(sorted({names[name] for name in listed}))
            if len(positions) < len(listed):
                raise self.refuse(f"{at}inks", "names an ink twice; name each ink once")
            if positions in found:
                raise self.refuse(f"{at}inks", "this overprint appears twice; keep one")
            found[positions] = self.lab(table.get("lab"), f"{at}lab")
        return tuple(sorted(found.items(), key=lambda item: (len(item[0]), item[0])))

    # Single values.

    def known(self, table: dict[str, Any], at: str, keys: Iterable[str], kind: Kind) -> None:
        """Refuse a key that is not one of these, or that goes with another kind."""
        keys = tuple(keys)
        for key in table:
            if key in keys:
                continue
            if any(
                key in (other.colour, *other.keys, *other.ink_keys, *other.paper_keys)
                for other in KINDS.values()
                if other != kind
            ):
                raise self.refuse(
                    f"{at}{key}", f'does not go with kind = "{kind.name}"; give {", ".join(keys)}'
                )
            raise self.refuse(f"{at}{_short(key)}", f"is not a known key; give {', '.join(keys)}")

    def table(self, document: dict[str, Any], key: str) -> dict[str, Any]:
        """The table under a key."""
        value = document.get(key)
        if not isinstance(value, dict):
            raise self.refuse(key, f"is missing; give a [{key}] table")
        return value

    def tables(self, document: dict[str, Any], key: str) -> list[dict[str, Any]]:
        """The list of tables under a key."""
        value = document.get(key)
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            said = "is missing" if value is None else "is not a list of tables"
            raise self.refuse(key, f"{said}; give [[{key}]] tables")
        return value

    def text(
        self, table: dict[str, Any], key: str, at: str, *, required: bool = True, most: int = 80
    ) -> str:
        """The text under a key; empty where it may be left out and is."""
        if key not in table:
            if required:
                raise self.refuse(f"{at}{key}", "is missing; give a text")
            return ""
        return self.checked_text(table[key], f"{at}{key}", most)

    def checked_text(self, value: object, key: str, most: int) -> str:
        """A text that can be printed, of at most so many characters."""
        if not isinstance(value, str) or not value.strip():
            raise self.refuse(key, f"{_shown(value)} is not text; give a text in quotes")
        if has_unsafe(value):
            raise self.refuse(
                key, f"{_shown(value)} holds a control character; give plain printable text"
            )
        if len(value) > most:
            raise self.refuse(key, f"has {len(value)} characters; give at most {most}")
        return value

    def number(
        self, table: dict[str, Any], key: str, at: str, least: float, most: float
    ) -> float | None:
        """The number under a key, from least to most; None where there is none."""
        value = table.get(key)
        if value is None:
            return None
        if not _is_number(value) or not least <= value <= most:
            raise self.refuse(
                f"{at}{key}", f"is {_shown(value)}; give a number from {least:g} to {most:g}"
            )
        return float(value)

    def colour(self, table: dict[str, Any], at: str, kind: Kind) -> Triple:
        """A colour as the kind gives it: Lab, or sRGB 0…255."""
        if kind.colour == "lab":
            return self.lab(table.get("lab"), f"{at}lab")
        return self.srgb(table.get("srgb"), f"{at}srgb")

    def screen(self, table: dict[str, Any], at: str) -> Triple | None:
        """The colour in the drawing program, sRGB 0…255; None where there is none."""
        return self.srgb(table["screen"], f"{at}screen") if "screen" in table else None

    def srgb(self, value: object, key: str) -> Triple:
        """Six hex digits as sRGB 0…255."""
        try:
            return rgb_of_hex(value if isinstance(value, str) else "")
        except ValueError as error:
            said = "is missing" if value is None else f"{_shown(value)} is not an sRGB colour"
            raise self.refuse(key, f'{said}; give six hex digits, such as "#ffe800"') from error

    def lab(self, value: object, key: str) -> Triple:
        """A list [L, a, b] as CIELAB (D50)."""
        if value is None:
            raise self.refuse(key, "is missing; give [L, a, b]")
        if not isinstance(value, list) or len(value) != 3 or not all(map(_is_number, value)):
            raise self.refuse(
                key, f"{_shown(value)} is not a Lab colour; give three numbers [L, a, b]"
            )
        lightness, a, b = value
        if not 0 <= lightness <= 100 or not -128 <= a <= 128 or not -128 <= b <= 128:
            raise self.refuse(
                key,
                f"{_shown(value)} is out of range; give L from 0 to 100, a and b from -128 to 128",
            )
        return (float(lightness), float(a), float(b))


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _shown(value: object) -> str:
    try:
        return _short(repr(value))
    except (ValueError, RecursionError):  # a number of thousands of digits, a nest of tables
        return "a value too large to show"


def _short(text: str) -> str:
    return text if len(text) <= 60 else text[:57] + "..."
