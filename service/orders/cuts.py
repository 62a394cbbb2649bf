"""From a carving and the workshop's settings to the cut that would be made."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from typing import get_args

import numpy as np

from artwork import EARLIER_ENGINES, ENGINE_VERSION
from artwork.curves import Contour
from artwork.cut import Cut, Placement
from artwork.digest import facts
from artwork.furniture import ModelLayout
from artwork.outline import Outline
from artwork.workpiece import Allowances, Bit, Slat, Thickness
from service.orders.chain import canonical_digest
from service.orders.errors import ConflictError, FieldError
from service.orders.finishes import finished
from service.orders.order import Carving, Line
from service.orders.texts import limit_problems, number_problems
from service.orders.workshop import Settings

_FLAGS = frozenset(field.name for field in fields(Allowances) if field.type in (bool, "bool"))
_FIGURES = frozenset(field.name for field in fields(Allowances)) - _FLAGS
_GREATEST = 100_000.0
# Zero or less makes no sense of these: something is divided by it, or nothing could ever be cut.
_ABOVE_ZERO = frozenset(
    {
        "depth_limit_share",
        "feed",
        "plunge",
        "pass_depth",
        "coarsest_pixel",
        "flat_bit_step",
        "rapid",
        "acceleration",
        "time_scale",
    }
)


_ANY_ART = Outline((Contour(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]), np.full((3, 2, 2), np.nan)),))


@dataclass(frozen=True)
class Circumstances:
    """All that decides a cut and how it sits in the finished piece, except what is drawn and where.

    Attributes:
        seat: names where the model's slats sit and how they are turned; empty where only the cut matters.
        art_y, art_high: where the middle of art is laid at first, and how high at most, slat mm; they decide no cut.
    """

    slat: Slat
    bit: Bit
    allowances: Allowances
    seat: str = ""
    art_y: float | None = None
    art_high: float | None = None


def circumstances(carving: Carving, line: Line, settings: Settings) -> Circumstances:
    """The slat, bit and allowances this carving would be cut with today.

    Raises:
        Conflict: ``"slat-gone"`` or ``"bit-gone"``, the workshop no longer has what the carving names.
    """
    usual = circumstances_of(line.model_key, carving.slat_key, carving.bit_key, settings)
    slat = usual.slat if carving.thickness is None else replace(usual.slat, thickness=carving.thickness)
    slat, allowances = finished(slat, usual.allowances, line.finish, settings.workshop.finishes)
    return replace(usual, slat=slat, allowances=with_changes(allowances, carving.allowances))


def circumstances_of(model_key: str, slat_key: str, bit_key: str | None, settings: Settings) -> Circumstances:
    """What anything on that slat would be cut with today, where nothing is set for it alone.

    Raises:
        Conflict: ``"slat-gone"`` or ``"bit-gone"``, the workshop no longer has what is named.
    """
    model = settings.model(model_key)
    slats = {} if model is None else {placed.slat.key: placed for placed in model.layout.slats}
    placed = slats.get(slat_key)
    if model is None or placed is None:
        raise ConflictError(
            "slat-gone", "The workshop no longer makes this slat. Choose another model or slat."
        )
    bit = settings.bit(bit_key)
    if bit is None:
        raise ConflictError("bit-gone", "The workshop no longer has this bit. Choose another bit.")
    for_slat = model.allowances.get(slat_key, {})
    changed = with_changes(settings.workshop.allowances, for_slat)
    seat, art_y, art_high = (
        _seat_of(model.layout),
        model.layout.art_y(slat_key),
        model.layout.art_high(slat_key),
    )
    return Circumstances(placed.slat, bit, changed, seat, art_y, art_high)


def _seat_of(layout: ModelLayout) -> str:
    """Names where each slat of a model sits: what is carved upside down or elsewhere is another piece."""
    return canonical_digest(
        [[each.slat.key, each.x, each.y, each.turn_deg, each.carries_art] for each in layout.slats]
    )


def with_changes(allowances: Allowances, changes: Mapping[str, float | bool]) -> Allowances:
    """The allowances with some fields changed; the changes must be free of :func:`allowance_problems`."""
    return replace(allowances, **changes)  # type: ignore[arg-type]


def allowance_problems(field: str, changes: Mapping[str, float | bool]) -> Iterator[FieldError]:
    """What is wrong with a set of allowances, field → value."""
    for name, value in changes.items():
        at = f"{field}.{name}"
        if name in _FLAGS:
            if not isinstance(value, bool):
                yield FieldError(at, "not-a-flag", "Say true or false.")
        elif name not in _FIGURES:
            yield FieldError(
                at,
                "unknown",
                f"There is no such allowance; there are {', '.join(sorted(_FIGURES | _FLAGS))}.",
            )
        elif isinstance(value, bool) or not math.isfinite(value) or not 0 <= value <= _GREATEST:
            yield FieldError(at, "out-of-range", f"Give a figure between 0 and {_GREATEST:,.0f}.")
        elif name in _ABOVE_ZERO and value == 0:
            yield FieldError(at, "zero", "Give a figure above 0.")
        elif name == "depth_limit_share" and value > 1:
            yield FieldError(at, "out-of-range", "Give the share of the thickness as a figure of at most 1.")


def placement_problems(placement: Placement, field: str = "placement") -> Iterator[FieldError]:
    """What is wrong with a placement before any slat is looked at."""
    yield from number_problems(placement, f"{field}.")


def thickness_problems(thickness: float, field: str = "thickness") -> Iterator[FieldError]:
    """What is wrong with a board's thickness, mm."""
    yield from limit_problems(field, thickness, get_args(Thickness)[1:])


def basis_of(at: Circumstances, engine: str = ENGINE_VERSION) -> str:
    """Digest of the circumstances alone: another one means that the cut, or where it sits, would be another.

    ``engine`` is the version of the rules that judged it.
    """
    deciding = facts(Cut(_ANY_ART, at.slat, Placement(0.0, 0.0, 1.0), at.bit, at.allowances), engine)
    named = {name: deciding[name] for name in ("engine", "slat", "bit", "allowances")}
    return canonical_digest({**named, "seat": at.seat} if at.seat else named)


def bases_of(at: Circumstances, *, signed: bool = True) -> frozenset[str]:
    """Bases of proofs made under these circumstances.

    Proofs of before seats were named stand for the cut alone, and are compared as they were then. What was
    signed stands by the rules of its day; what was not (``signed`` false) is judged again by today's.
    """
    engines = (ENGINE_VERSION, *(EARLIER_ENGINES if signed else ()))
    return frozenset(basis_of(each, engine) for each in (at, replace(at, seat="")) for engine in engines)
