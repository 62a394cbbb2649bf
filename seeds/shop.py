"""Loads the made-up workshop: its models, bits, allowances, people and artwork as values."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any

from shapely import Point, Polygon, box

from artwork.furniture import DrilledHole, ModelLayout, Part, PlacedSlat, Surround
from artwork.slat_shape import SlatFigures, slat_outline
from artwork.workpiece import Allowances, Bit, KeepOut, Slat

HERE = Path(__file__).parent
SCREW_HEAD = 9.0
"""Diameter of a countersunk deck screw's head, mm (common practice, no source)."""
SCREW = 5.0
"""Diameter of the hole it goes through, mm (common practice, no source)."""


@dataclass(frozen=True)
class Person:
    """Somebody of the scenario; none of them is real.

    Attributes:
        role: ``"maker"`` or ``"client"``.
        name, email, organisation: made up; the addresses end in ``.example``.
    """

    role: str
    name: str
    email: str
    organisation: str = ""


@dataclass(frozen=True)
class Artwork:
    """One file of the demo artwork.

    Attributes:
        name: its file name.
        words: what it is there to show.
        data: its bytes.
    """

    name: str
    words: str
    data: bytes


@dataclass(frozen=True)
class Shop:
    """Everything the seed shop starts with.

    Attributes:
        password: of its made-up people.
        prices: rounding rule and entries of its price list, in minor units.
    """

    key: str
    password: str
    name: str
    reached: Mapping[str, str]
    currency: str
    prices: Mapping[str, Any]
    models: tuple[ModelLayout, ...]
    bits: tuple[Bit, ...]
    allowances: Allowances
    people: tuple[Person, ...]
    artworks: tuple[Artwork, ...]

    def model(self, key: str) -> ModelLayout:
        """The model of that key; ``KeyError`` when there is none."""
        return {model.key: model for model in self.models}[key]

    def artwork(self, name: str) -> Artwork:
        """The artwork of that file name; ``KeyError`` when there is none."""
        return {artwork.name: artwork for artwork in self.artworks}[name]


@cache
def load() -> Shop:
    """The seed shop as values, read once from the data files of this folder."""
    facts = tomllib.loads((HERE / "workshop.toml").read_text(encoding="utf-8"))
    return Shop(
        key=facts["workshop"]["key"],
        password=facts["workshop"]["password"],
        name=facts["workshop"]["name"],
        reached={name: facts["workshop"][name] for name in ("place", "phone", "email")},
        currency=facts["workshop"]["currency"],
        prices=facts["prices"],
        models=tuple(load_model(path) for path in sorted((HERE / "models").glob("*.toml"))),
        bits=tuple(Bit(**bit) for bit in facts["bits"]),
        allowances=Allowances(**facts["allowances"]),
        people=tuple(Person(**person) for person in facts["people"]),
        artworks=tuple(
            Artwork(art["file"], art["words"], (HERE / "artwork" / art["file"]).read_bytes())
            for art in facts["artworks"]
        ),
    )


def load_model(path: Path) -> ModelLayout:
    """One model from its data file."""
    facts = tomllib.loads(path.read_text(encoding="utf-8"))
    board = facts["board"]
    return ModelLayout(
        key=facts["key"],
        name=facts["name"],
        words=facts["words"],
        slats=tuple(_placed(entry, board) for entry in facts["slats"]),
        surrounds=tuple(_surround(entry) for entry in facts["surrounds"]),
        parts=tuple(_parts(facts, board["thickness"])),
        shop_minutes=facts["shop_minutes"],
        assembly_minutes=facts["assembly_minutes"],
    )


def _placed(entry: Mapping[str, Any], board: Mapping[str, Any]) -> PlacedSlat:
    slat = Slat(
        key=entry["key"],
        name=entry["name"],
        outline=_outline(entry),
        thickness=board["thickness"],
        grain_deg=float(entry.get("grain", 90)),
        round_over=board["round_over"],
        mill_radius=board["mill_radius"],
        species=board["species"],
        keep_outs=tuple(_keep_outs(entry)),
    )
    x, y = entry["at"]
    return PlacedSlat(slat, float(x), float(y), float(entry.get("turn", 0)), entry.get("carries_art", True))


def _keep_outs(entry: Mapping[str, Any]) -> Iterator[KeepOut]:
    for x, y in entry["screws"]:
        yield KeepOut(Point(x, y).buffer(SCREW_HEAD / 2, quad_segs=16), "screw hole")
    if hidden := entry.get("hidden_foot"):
        x0, y0, x1, _ = _outline(entry).bounds
        yield KeepOut(box(x0, y0, x1, hidden), "behind the seat")


def _outline(entry: Mapping[str, Any]) -> Polygon:
    known = {field.name for field in fields(SlatFigures)}
    return slat_outline(SlatFigures(**{name: figure for name, figure in entry.items() if name in known}))


def _surround(entry: Mapping[str, Any]) -> Surround:
    return Surround(entry["name"], box(*entry["box"]), float(entry["grain"]), not entry.get("front", False))


def _parts(facts: Mapping[str, Any], thickness: float) -> Iterator[Part]:
    """The slats, then the parts that are never carved; a slat's length is measured along its grain."""
    for entry in facts["slats"]:
        across, along = max(entry["width"], entry.get("foot_width", 0)), entry["length"]
        length, width = (across, along) if entry.get("grain", 90) == 0 else (along, across)
        yield Part(entry["key"], entry["name"], 1, float(length), float(width), thickness)
    for entry in facts["parts"]:
        sides = {name: float(entry[name]) for name in ("length", "width")}
        holes = tuple(DrilledHole(float(x), float(y), SCREW) for x, y in entry.get("holes", ()))
        yield Part(thickness=thickness, **{**entry, **sides, "holes": holes})
