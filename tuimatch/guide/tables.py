"""The guide, and the log, as CSV; the guide as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tuimatch.files import csv_out, json_out
from tuimatch.guide.sheet import NO_PROOF, Entry, Sheet, Used
from tuimatch.log.choice import Choice
from tuimatch.text import exact

_TARGET = ("target", "target L", "target a", "target b", "intent", "meant L", "meant a", "meant b")
_COLOUR = ("L", "a", "b", "sRGB", "delta E")


def choices_csv(choices: Sequence[Choice]) -> str:
    """Choices as CSV text, a row for each, as the log lists them."""
    inks = _inks(choices)
    heads = ("id", "project", "page", "label", "note", *_TARGET, "palette", "recipe")
    return csv_out.to_csv(
        (*heads, *(f"{ink} %" for ink in inks), *_COLOUR, "chosen at"),
        (
            (
                *(c.id, c.project, c.page, c.label, c.note, *_target(c)),
                *(c.palette, c.recipe, *_tints(c, inks), *c.lab, c.srgb, c.delta_e, c.chosen_at),
            )
            for c in choices
        ),
    )


def to_csv(sheet: Sheet) -> str:
    """The guide as a table, an entry a row; the last column holds the cautions."""
    choices = [entry.choice for entry in sheet.entries]
    inks = _inks(choices)
    sources = {used.digest: _source(used) for used in sheet.palettes}
    heads = ("page", "label", "note", "recipe", "laying", *(f"{ink} %" for ink in inks))
    return csv_out.to_csv(
        (*heads, *_COLOUR, "verdict", *_TARGET, "palette", "source", "cautions"),
        (
            (
                *(c.page, c.label, c.note, c.recipe),
                "; ".join(f"{n} {lay.text}" for n, lay in enumerate(entry.laying, 1)),
                *(*_tints(c, inks), *c.lab, c.srgb, c.delta_e),
                *(_verdict(entry) or "", *_target(c)),
                *(c.palette, sources[c.palette_digest], " ".join((*entry.cautions, NO_PROOF))),
            )
            for entry in sheet.entries
            for c in (entry.choice,)
        ),
    )


def to_json(sheet: Sheet) -> str:
    """The guide as one JSON object."""
    document = {
        "project": sheet.project,
        "made_at": sheet.made_at,
        "caution": NO_PROOF,
        "palettes": [
            {
                "palette": used.stem,
                "digest": used.digest,
                "title": used.palette.name if used.palette else None,
                "kind": used.palette.kind if used.palette else None,
                "paper": used.palette.paper_name if used.palette else None,
                "inks": [ink.name for ink in used.palette.inks] if used.palette else None,
                "source": used.palette.source or None if used.palette else None,
                "cautions": used.cautions,
            }
            for used in sheet.palettes
        ],
        "entries": [
            {
                **entry.choice.as_json(),
                "palette_digest": entry.choice.palette_digest,
                "laying": [
                    {"ink": lay.ink, "tint": lay.tint, "label": lay.label} for lay in entry.laying
                ],
                "verdict": _verdict(entry),
                "cautions": entry.cautions,
            }
            for entry in sheet.entries
        ],
    }
    return json_out.to_json(document, indent=1) + "\n"


def _target(choice: Choice) -> tuple[str | float, ...]:
    """The target as given, how it was taken, and what it was on the paper."""
    return (choice.target_text, *choice.target_lab, choice.intent, *choice.meant_lab)


def _verdict(entry: Entry) -> str | None:
    return entry.verdict.reached.value if entry.verdict else None


def _inks(choices: Iterable[Choice]) -> list[str]:
    return list(dict.fromkeys(ink for choice in choices for ink in choice.tints))


def _tints(choice: Choice, inks: list[str]) -> list[str | None]:
    """The tint of each ink, 0 for none, empty where the palette lacks the ink."""
    return [exact(choice.tints[ink]) if ink in choice.tints else None for ink in inks]


def _source(used: Used) -> str:
    return (used.palette.source if used.palette else "") or "not measured"
