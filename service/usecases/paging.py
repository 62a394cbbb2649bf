"""Pages by keyset: a cursor says after what a page begins, and is nothing people read or write."""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import Any, TypeVar

from service.orders.errors import FieldError, InvalidError
from service.store.listing import Key
from service.usecases.answers import Cursors, Page
from service.usecases.commands import PageAsk

T = TypeVar("T")
MOST_PER_PAGE = 100


def cut_page(found: Sequence[T], page: PageAsk, cursor_of: Callable[[T], str], total: int | None) -> Page[T]:
    """A page out of what was found when one more than it holds was asked for; ``total``: on all pages, if counted."""
    items = tuple(found[: page.first])
    return Page(items, Cursors(items, cursor_of), len(found) > page.first, total)


def check_size(page: PageAsk) -> None:
    """Raises Invalid for a page that is too long or too short."""
    if not 1 <= page.first <= MOST_PER_PAGE:
        raise InvalidError(FieldError("first", "out-of-range", f"Ask for 1 to {MOST_PER_PAGE} at a time."))


def order_cursor(key: Key, *, by_due: bool) -> str:
    """The cursor of an order in a list."""
    return _encode(["due", key.number, key.due.isoformat()] if by_due else ["number", key.number])


def read_order_cursor(page: PageAsk, *, by_due: bool) -> Key | None:
    """The key that a page begins after. Invalid: not a cursor, or one of a list in another order."""
    match _decode(page):
        case None:
            return None
        case ["number", int(number)] if not by_due:
            return Key(number)
        case ["due", int(number), str(due)] if by_due:
            return Key(number, _day(due))
    raise _bad_cursor()


def number_cursor(number: int) -> str:
    """The cursor of an entry of the record."""
    return _encode(["entry", number])


def read_number_cursor(page: PageAsk) -> int | None:
    """The entry that a page begins before. InvalidError."""
    match _decode(page):
        case None:
            return None
        case ["entry", int(number)]:
            return number
    raise _bad_cursor()


def moment_cursor(at: datetime, key: str) -> str:
    """The cursor of something listed by when it was made."""
    return _encode(["at", at.isoformat(), key])


def read_moment_cursor(page: PageAsk) -> tuple[datetime, str] | None:
    """The moment and id that a page begins before. InvalidError."""
    match _decode(page):
        case None:
            return None
        case ["at", str(at), str(key)]:
            return _moment(at), key
    raise _bad_cursor()


def _encode(value: list[Any]) -> str:
    return base64.urlsafe_b64encode(json.dumps(value, separators=(",", ":")).encode()).decode().rstrip("=")


def _decode(page: PageAsk) -> Any:
    check_size(page)
    if page.after is None:
        return None
    try:
        value = json.loads(base64.b64decode(page.after + "=" * (-len(page.after) % 4), b"-_", validate=True))
    except (ValueError, binascii.Error, RecursionError):
        raise _bad_cursor() from None
    if isinstance(value, list) and all(_within(part) for part in value):
        return value
    raise _bad_cursor()


def _within(part: Any) -> bool:
    return isinstance(part, str) or (type(part) is int and abs(part) < 2**31)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise _bad_cursor() from None


def _moment(text: str) -> datetime:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise _bad_cursor() from None
    if at.tzinfo is None:
        raise _bad_cursor()
    return at


def _bad_cursor() -> InvalidError:
    return InvalidError(
        FieldError("after", "cursor", "Give back a cursor as it was given to you, for the same list.")
    )
