"""What was found, in at most five groups and in plain words: how many, the worst, what it needs."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.language.chosen import _, ngettext

Json = Mapping[str, Any]
Said = Callable[[float], str]
"""A length in words, in the reader's own unit."""

FAMILIES = {
    "strokes": ("line", "vanishing"),
    "between": ("land", "land-tip", "counter", "touching", "edge-land"),
    "details": ("tip", "nick", "fleck", "hidden", "resolution", "gaps"),
    "wide": ("depth", "floor"),
    "edges": ("round-over", "edge-margin", "end-margin", "off-slat", "keep-out"),
}
"""Every kind of finding, by what people would call it."""
_FAMILY = {kind: family for family, kinds in FAMILIES.items() for kind in kinds}


@dataclass(frozen=True)
class Group:
    """Findings that people would call the same.

    Attributes:
        severity: ``"stops"`` where any of them does.
        title, sentence: what it is, and how much of it, in words.
        cure: what helps with the worst of them.
        places: the findings with their numbers, worst kind first.
        names: those that are accepted by name.
        waived: whether all of these are accepted.
    """

    severity: str
    title: str
    sentence: str
    cure: str
    places: tuple[Json, ...]
    names: tuple[str, ...]
    waived: bool


def in_groups(marked: Sequence[Json], said: Said) -> list[Group]:
    """Numbered findings in at most five groups, those that stop first."""
    found: dict[str, list[Json]] = {}
    for one in marked:
        found.setdefault(_FAMILY.get(one["finding"]["kind"], "details"), []).append(one)
    groups = [_group(family, places, said) for family, places in found.items()]
    return sorted(groups, key=lambda group: group.severity != "stops")


def _group(family: str, places: Sequence[Json], said: Said) -> Group:
    stops = [one for one in places if one["finding"]["severity"] == "stops"]
    counted = stops or list(places)
    count = sum(one["finding"].get("count") or 1 for one in counted)
    names = tuple(one["name"] for one in places if one["name"] is not None)
    title, sentence = _WORDS[family](count, counted, said)
    return Group(
        "stops" if stops else "warns",
        title,
        sentence,
        counted[0]["finding"]["cure"],
        tuple(places),
        names,
        bool(names) and all(one["waived"] for one in places if one["name"] is not None),
    )


def _worst(places: Sequence[Json], said: Said) -> str:
    """``The thinnest is 0.7 mm and needs 1.9 mm.``, of the place that lacks most; never that it is 0.00 mm."""
    measured = [one["finding"] for one in places if one["finding"]["required"]]
    if not measured:
        return ""
    worst = min(measured, key=lambda finding: finding["measured"] / finding["required"])
    has, needs = said(worst["measured"]), said(worst["required"])
    if has == said(0.0):
        return " " + _("At the thinnest next to nothing is left; {needs} is needed.", needs=needs)
    return " " + _("The thinnest is {has} and needs {needs}.", has=has, needs=needs)


def _strokes(count: int, places: Sequence[Json], said: Said) -> tuple[str, str]:
    what = ngettext("One stroke is too thin.", "{count} strokes are too thin.", count)
    return _("Strokes too thin"), what + _worst(places, said)


def _between(count: int, places: Sequence[Json], said: Said) -> tuple[str, str]:
    what = ngettext(
        "In one place the wood left between strokes is too thin to last.",
        "In {count} places the wood left between strokes is too thin to last.",
        count,
    )
    return _("Wood between strokes too thin"), what + _worst(places, said)


def _details(count: int, _places: Sequence[Json], _said: Said) -> tuple[str, str]:
    return _("Fine details"), ngettext(
        "One fine detail will look a little different from your drawing, or will not be seen.",
        "{count} fine details will look a little different from your drawing, or will not be seen.",
        count,
    )


def _wide(count: int, places: Sequence[Json], _said: Said) -> tuple[str, str]:
    if any(one["finding"]["kind"] == "depth" for one in places):
        deep = ngettext("It would be cut too deep.", "It would be cut too deep in {count} places.", count)
        return _("Too deep"), deep
    return _("Wide parts"), ngettext(
        "One wide part gets a flat bottom, not a sharp one.",
        "{count} wide parts get a flat bottom, not a sharp one.",
        count,
    )


def _edges(count: int, _places: Sequence[Json], _said: Said) -> tuple[str, str]:
    return _("Close to an edge or a screw"), ngettext(
        "It lies too near an edge, an end or a screw in one place.",
        "It lies too near an edge, an end or a screw in {count} places.",
        count,
    )


_WORDS = {
    "strokes": _strokes,
    "between": _between,
    "details": _details,
    "wide": _wide,
    "edges": _edges,
}
