"""What is wrong with a workshop's settings, before they are stored."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict

from artwork.furniture import ModelLayout, PlacedSlat
from artwork.workpiece import Bit, Slat
from service.orders.content import WorkshopContent
from service.orders.cuts import allowance_problems
from service.orders.errors import FieldError
from service.orders.finishes import finish_problems
from service.orders.limits import (
    FREE_DEPTH,
    LONGEST_NAME,
    LONGEST_WORDS,
    MINUTES,
    MOST_SLATS,
    PLACE,
    ROUND_OVER,
    THICKNESS,
)
from service.orders.texts import number_problems, text_problems, written_problems
from service.orders.workshop import ShopBit

_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_LONGEST_KEY = 64
_MOST_POINTS = 5000
_GREATEST_SIZE = 10_000.0


def key_problems(field: str, key: str) -> Iterator[FieldError]:
    """Not a key: lower-case words joined by hyphens."""
    if len(key) > _LONGEST_KEY or not _KEY.fullmatch(key):
        yield FieldError(field, "key", "Use lower-case letters, figures and single hyphens, at most 64.")


def workshop_problems(content: WorkshopContent, bits: Sequence[ShopBit]) -> Iterator[FieldError]:
    """What is wrong with a workshop's own settings."""
    if not content.name.strip():
        yield FieldError("name", "missing", "Give it a name.")
    yield from written_problems(content)
    yield from number_problems(content)
    if content.email and "@" not in content.email:
        yield FieldError("email", "email", "Give an address as name@example.org, or leave it empty.")
    yield from allowance_problems("allowances", asdict(content.allowances))
    yield from finish_problems(content.finishes)
    if content.usual_bit not in {owned.bit.key for owned in bits if not owned.retired}:
        yield FieldError("usual_bit", "unknown", "Choose one of the workshop's bits that is in use.")


def bit_problems(bit: Bit) -> Iterator[FieldError]:
    """What is wrong with a bit."""
    yield from key_problems("bit.key", bit.key)
    yield from _figure("bit.angle_deg", bit.angle_deg, 10.0, 170.0, "degrees")
    yield from _figure("bit.diameter", bit.diameter, 0.1, 200.0)
    yield from _figure("bit.height", bit.height, 0.1, 200.0)
    yield from _figure("bit.tip_flat", bit.tip_flat, 0.0, 50.0)
    if not bit.tip_flat < bit.diameter:
        yield FieldError("bit.tip_flat", "out-of-range", "The flat at the tip is narrower than the bit.")


def model_problems(
    layout: ModelLayout, allowances: Mapping[str, Mapping[str, float | bool]]
) -> Iterator[FieldError]:
    """What is wrong with a furniture model."""
    yield from key_problems("key", layout.key)
    yield from _name_problems("name", layout.name)
    yield from text_problems("words", layout.words, LONGEST_WORDS, lines=True)
    keys = [placed.slat.key for placed in layout.slats]
    if not 1 <= len(keys) <= MOST_SLATS or len(set(keys)) != len(keys):
        yield FieldError("slats", "count", f"Give 1 to {MOST_SLATS} slats, each under a key of its own.")
    for index, placed in enumerate(layout.slats):
        yield from _slat_problems(f"slats.{index}", placed.slat)
        for name in ("x", "y", "turn_deg"):
            yield from _figure(f"slats.{index}.{name}", getattr(placed, name), *PLACE)
        low, high = placed.slat.outline.bounds[1::2]
        if placed.art_y is not None and not low <= placed.art_y <= high:
            message = f"Give a height on the slat, between {low:g} and {high:g} mm."
            yield FieldError(f"slats.{index}.art_y", "out-of-range", message)
        yield from _place_problems(f"slats.{index}", placed)
    for key, changes in allowances.items():
        if key not in keys:
            yield FieldError(f"allowances.{key}", "unknown", "The model has no such slat.")
        yield from allowance_problems(f"allowances.{key}", changes)
    for index, part in enumerate(layout.parts):
        for hole in part.holes:
            inside = hole.diameter / 2
            if not (
                inside <= hole.along <= part.length - inside and inside <= hole.across <= part.width - inside
            ):
                yield FieldError(
                    f"parts.{index}.holes", "out-of-range", f"A hole of “{part.name}” leaves it."
                )
    yield from _figure("shop_minutes", layout.shop_minutes, *MINUTES, "minutes")
    yield from _figure("assembly_minutes", layout.assembly_minutes, *MINUTES, "minutes")


def _place_problems(field: str, placed: PlacedSlat) -> Iterator[FieldError]:
    """What is wrong with where art goes on a slat."""
    if placed.face == "rear" and placed.carries_art:
        yield FieldError(
            f"{field}.carries_art", "rear", "A rear face carries the workshop's own mark, no client's art."
        )
    low, high = placed.slat.outline.bounds[1::2]
    if placed.art_high is not None and not 0 < placed.art_high <= high - low:
        yield FieldError(f"{field}.art_high", "out-of-range", f"Give a height of up to {high - low:g} mm.")


def _slat_problems(field: str, slat: Slat) -> Iterator[FieldError]:
    yield from key_problems(f"{field}.key", slat.key)
    yield from _name_problems(f"{field}.name", slat.name)
    yield from key_problems(f"{field}.species", slat.species)
    shapes = [(f"{field}.outline", slat.outline)]
    shapes += [(f"{field}.keep_outs.{n}.shape", each.shape) for n, each in enumerate(slat.keep_outs)]
    for at, shape in shapes:
        if shape.is_empty or not shape.is_valid or len(shape.exterior.coords) > _MOST_POINTS:
            yield FieldError(at, "shape", "Draw it as one closed line that does not cross itself.")
        elif not all(abs(figure) <= _GREATEST_SIZE for figure in shape.bounds):
            yield FieldError(at, "out-of-range", "Draw it in mm, within 10 m.")
    yield from _figure(f"{field}.thickness", slat.thickness, *THICKNESS)
    yield from _figure(f"{field}.grain_deg", slat.grain_deg, -360.0, 360.0, "degrees")
    yield from _figure(f"{field}.round_over", slat.round_over, *ROUND_OVER)
    yield from _figure(f"{field}.mill_radius", slat.mill_radius, *ROUND_OVER)
    if slat.round_over > slat.thickness:
        yield FieldError(
            f"{field}.round_over", "out-of-range", "The round-over is at most as deep as the slat."
        )
    for index, each in enumerate(slat.keep_outs):
        yield from text_problems(f"{field}.keep_outs.{index}.reason", each.reason, LONGEST_NAME)
        yield from _figure(f"{field}.keep_outs.{index}.free_depth", each.free_depth, *FREE_DEPTH)


def _name_problems(field: str, name: str) -> Iterator[FieldError]:
    yield from text_problems(field, name, LONGEST_NAME)
    if not name.strip():
        yield FieldError(field, "missing", "Give it a name.")


def _figure(field: str, value: float, least: float, most: float, unit: str = "mm") -> Iterator[FieldError]:
    if not math.isfinite(value) or not least <= value <= most:
        yield FieldError(field, "out-of-range", f"Give {least:g} to {most:g} {unit}.")
