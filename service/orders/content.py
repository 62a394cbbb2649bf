"""An order, and a workshop's settings, as asked for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from artwork.workpiece import Allowances
from service.orders.definition import made, merged, shared
from service.orders.errors import FieldError, InvalidError
from service.orders.finishes import FinishTerms
from service.orders.ids import ID_PATTERN
from service.orders.limits import (
    GREATEST_RETENTION,
    LONGEST_EMAIL,
    LONGEST_NAME,
    LONGEST_PHONE,
    LONGEST_PLACE,
    MOST_LINES,
)
from service.orders.order import Carving, Key, Line, LineTerms, Order, OrderTerms
from service.orders.site import NO_SITE, SiteTerms
from service.orders.units import Units


@dataclass(frozen=True)
class LineContent(LineTerms):
    """So many pieces of one model, with art on some of its slats."""

    slats: Annotated[
        tuple[Key, ...], Field(max_length=64, description="keys of the slats that carry art")
    ] = ()
    id: Annotated[
        Annotated[str, Field(pattern=ID_PATTERN)] | None,
        Field(description="of the line to keep when amending"),
    ] = None


@dataclass(frozen=True)
class OrderContent(OrderTerms):
    """An order as asked for."""

    lines: Annotated[tuple[LineContent, ...], Field(max_length=MOST_LINES)] = ()
    site: SiteTerms = NO_SITE


def content_of(order: Order, lines: Iterable[Line], carvings: Iterable[Carving]) -> OrderContent:
    """An order as it stands, as it would be asked for."""
    slats: dict[str, dict[str, None]] = {}
    for carving in carvings:
        slats.setdefault(carving.line_id, {})[carving.slat_key] = None
    theirs = (
        LineContent(**shared(LineTerms, line), slats=tuple(slats.get(line.id, ())), id=line.id)
        for line in sorted(lines, key=lambda line: line.position)
    )
    return OrderContent(**shared(OrderTerms, order), lines=tuple(theirs), site=order.site)


def amended(content: OrderContent, changes: Mapping[str, Any]) -> OrderContent:
    """Content with a merge patch (RFC 7396) laid over it: what is left out stays, null takes the usual value.

    A list of lines takes the place of the one there is, as the RFC has it of every list; a line that names one there
    is by its ``id`` is laid over that one in the same way.

    Raises:
        Invalid: a new line does not say its model or how many pieces.
    """
    lines = changes.get("lines") or ()
    kept = {line.id: line for line in content.lines}
    problems = [problem for index, line in enumerate(lines) for problem in _lacks(index, line, kept)]
    if problems:
        raise InvalidError(*problems)
    given = dict(changes)
    if "lines" in changes:
        given["lines"] = tuple(
            merged(kept[line["id"]], line) if line.get("id") in kept else made(LineContent, line)
            for line in lines
        )
    return merged(content, given)


def _lacks(
    index: int, line: Mapping[str, Any], kept: Mapping[str | None, LineContent]
) -> Iterator[FieldError]:
    if line.get("id") not in kept:
        for name in ("model_key", "quantity"):
            if line.get(name) is None:
                yield FieldError(f"lines.{index}.{name}", "missing", f"lines.{index}.{name}: is needed.")


@dataclass(frozen=True)
class WorkshopContent:
    """A workshop's own settings; saving replaces all of them."""

    name: Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
    allowances: Allowances
    usual_bit: Key
    retention_days: Annotated[int, Field(ge=1, le=GREATEST_RETENTION)] = 365
    place: Annotated[str, Field(max_length=LONGEST_PLACE, description="where it is, as clients read it")] = ""
    phone: Annotated[str, Field(max_length=LONGEST_PHONE)] = ""
    email: Annotated[str, Field(max_length=LONGEST_EMAIL)] = ""
    payment_required: Annotated[
        bool, Field(description="whether an order must be paid before it is released")
    ] = False
    finishes: Annotated[
        tuple[FinishTerms, ...], Field(max_length=10, description="offered besides bare wood")
    ] = ()
    units: Annotated[Units, Field(description="that its sheets and pages give lengths in")] = Units.MM
