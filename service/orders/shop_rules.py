"""What is wrong with a workshop's settings, before they are stored."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict

from shapely import Polygon

from artwork.furniture import ModelLayout, PlacedSlat
from artwork.workpiece import Bit, Slat
from service.orders.content import WorkshopContent
from service.orders.cuts import allowance_problems
from service.orders.errors import FieldError
from service.orders.finishes import finish_problems
from service.orders.ids import KEY_PATTERN
from service.orders.limits import LONGEST_NAME, LONGEST_WORDS, MOST_SLATS
from service.orders.texts import number_problems, text_problems, written_problems
from service.orders.workshop import ShopBit

_GREATEST_SIZE = 10_000.0


def key_problems(field: str, key: str) -> Iterator[FieldError]:
    """Not a key: lower-case words joined by hyphens."""
    if not re.fullmatch(KEY_PATTERN, key):
        yield FieldError(field, "key", "Use lower-case letters, figures and hyphens, at most 63.")


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
    yield from number_problems(bit, "bit.")
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
        yield from number_problems(placed, f"slats.{index}.")
        low, high = placed.slat.outline.bounds[1::2]
        if placed.art_y is not None and not low <= placed.art_y <= high:
            message = f"Give a height on the slat, between {low:g} and {high:g} mm."
            yield FieldError(f"slats.{index}.art_y", "out-of-range", message)
        yield from _place_problems(f"slats.{index}", placed)
    for key, changes in allowances.items():
        if key not in keys:
            yield FieldError(f"allowances.{key}", "unknown", "The model has no such slat.")
        yield from allowance_problems(f"allowances.{key}", changes)
    for index, each in enumerate(layout.surrounds):
        yield from number_problems(each, f"surrounds.{index}.")
        yield from _shape_problems(f"surrounds.{index}.outline", each.outline)
    for index, part in enumerate(layout.parts):
        yield from number_problems(part, f"parts.{index}.")
        for at, hole in enumerate(part.holes):
            yield from number_problems(hole, f"parts.{index}.holes.{at}.")
            inside = hole.diameter / 2
            if not (
                inside <= hole.along <= part.length - inside and inside <= hole.across <= part.width - inside
            ):
                yield FieldError(
                    f"parts.{index}.holes", "out-of-range", f"A hole of “{part.name}” leaves it."
                )
    yield from number_problems(layout)


def _place_problems(field: str, placed: PlacedSlat) -> Iterator[FieldError]:
    """What is wrong with where art goes on a slat."""
    if placed.face == "rear" and placed.carries_art:
        yield FieldError(
            f"{field}.carries_art", "rear", "A rear face carries the workshop's own mark, no client's art."
        )
    low, high = placed.slat.outline.bounds[1::2]
    if placed.art_high is not None and placed.art_high > high - low:
        yield FieldError(f"{field}.art_high", "out-of-range", f"Give a height of up to {high - low:g} mm.")


def _slat_problems(field: str, slat: Slat) -> Iterator[FieldError]:
    yield from key_problems(f"{field}.key", slat.key)
    yield from _name_problems(f"{field}.name", slat.name)
    yield from key_problems(f"{field}.species", slat.species)
    yield from _shape_problems(f"{field}.outline", slat.outline)
    yield from number_problems(slat, f"{field}.")
    if slat.round_over > slat.thickness:
        yield FieldError(
            f"{field}.round_over", "out-of-range", "The round-over is at most as deep as the slat."
        )
    for index, each in enumerate(slat.keep_outs):
        yield from _shape_problems(f"{field}.keep_outs.{index}.shape", each.shape)
        yield from text_problems(f"{field}.keep_outs.{index}.reason", each.reason, LONGEST_NAME)
        yield from number_problems(each, f"{field}.keep_outs.{index}.")


def _shape_problems(field: str, shape: Polygon) -> Iterator[FieldError]:
    if not shape.is_valid or not shape.area > 0:
        yield FieldError(field, "shape", "Draw it as one closed line that does not cross itself.")
    elif not all(abs(figure) <= _GREATEST_SIZE for figure in shape.bounds):
        yield FieldError(field, "out-of-range", "Draw it in mm, within 10 m.")


def _name_problems(field: str, name: str) -> Iterator[FieldError]:
    yield from text_problems(field, name, LONGEST_NAME)
    if not name.strip():
        yield FieldError(field, "missing", "Give it a name.")
