"""What is wrong with an order as asked for: in its shape at any time, and for sending it off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from service.orders.content import LineContent, OrderContent
from service.orders.errors import FieldError
from service.orders.finishes import Finish
from service.orders.limits import MOST_LINES, MOST_PIECES
from service.orders.order import Carving, Order
from service.orders.site import site_problems
from service.orders.texts import email_problems, written_problems
from service.orders.workshop import Settings

LAST_DAY = date(2200, 1, 1)


def content_problems(
    content: OrderContent, settings: Settings, known_lines: frozenset[str], *, by_maker: bool = False
) -> Iterator[FieldError]:
    """Everything that keeps this content from being stored, a draft's gaps excepted.

    Args:
        known_lines: ids of the lines the order has already.
        by_maker: who tries the workshop's own mark on parts that clients put nothing on.
    """
    yield from written_problems(content)
    yield from site_problems(content.site)
    yield from email_problems("contact.email", content.contact.email)
    if content.needed_by is not None and not date(2000, 1, 1) <= content.needed_by <= LAST_DAY:
        yield FieldError("needed_by", "date", "Give a day in this century.")
    if len(content.lines) > MOST_LINES:
        yield FieldError("lines", "too-many", f"An order has at most {MOST_LINES} lines; split it in two.")
        return
    kept = [line.id for line in content.lines if line.id is not None]
    if len(set(kept)) != len(kept):
        yield FieldError("lines", "twice", "Name each line once.")
    for index, line in enumerate(content.lines):
        field = f"lines.{index}"
        if line.id is not None and line.id not in known_lines:
            yield FieldError(f"{field}.id", "unknown", "There is no such line here; leave the id out.")
        yield from _line_problems(field, line, settings, by_maker)


def _line_problems(field: str, line: LineContent, settings: Settings, by_maker: bool) -> Iterator[FieldError]:
    if not 1 <= line.quantity <= MOST_PIECES:
        yield FieldError(f"{field}.quantity", "quantity", f"Order between 1 and {MOST_PIECES} pieces.")
    model = settings.model(line.model_key)
    if model is None or (model.retired and line.id is None):
        offered = ", ".join(model.layout.key for model in settings.models if not model.retired) or "none"
        words = f"The workshop does not offer this model; it offers: {offered}."
        yield FieldError(f"{field}.model_key", "unknown", words)
        return
    if line.id is None and line.finish not in offered_finishes(settings):
        yield not_offered(f"{field}.finish", settings)
    if len(set(line.slats)) != len(line.slats):
        yield FieldError(f"{field}.slats", "twice", "Name each slat once.")
    carries = {
        placed.slat.key
        for placed in model.layout.slats
        if placed.carries_art or (by_maker and placed.carries_mark)
    }
    for place, key in enumerate(line.slats):
        if key not in carries:
            offered = ", ".join(sorted(carries))
            yield FieldError(
                f"{field}.slats.{place}", "unknown", f"This slat carries no art; the ones that do: {offered}."
            )


def offered_finishes(settings: Settings) -> tuple[Finish, ...]:
    """The finishes that a client may choose."""
    return (Finish.BARE, *(terms.finish for terms in settings.workshop.finishes))


def not_offered(field: str, settings: Settings) -> FieldError:
    """A finish that the workshop does not offer."""
    offered = ", ".join(offered_finishes(settings))
    return FieldError(field, "not-offered", f"The workshop does not offer this finish; it offers: {offered}.")


def sending_problems(order: Order, carvings: Sequence[Carving], today: date) -> Iterator[FieldError]:
    """What a draft still lacks before it can be sent off."""
    if not order.contact.name.strip():
        yield FieldError("contact.name", "missing", "Say whom the order is for.")
    if not order.contact.email:
        yield FieldError("contact.email", "missing", "Give an e-mail address: the proof is sent there.")
    if not order.rights_granted:
        yield FieldError("rights_granted", "missing", "State that you may use this art.")
    if not carvings:
        yield FieldError("lines", "missing", "Choose a model, and at least one slat that carries art.")
    if order.needed_by is not None and order.needed_by < today:
        yield FieldError("needed_by", "past", "The day you need it by has passed; choose another.")
