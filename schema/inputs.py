"""What the graph takes: inputs made from the models of the REST door, and checked by them."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable
from dataclasses import fields, is_dataclass
from enum import Enum
from inspect import get_annotations
from typing import Annotated, Any, Literal, TypeVar, get_args, get_origin

import strawberry
from pydantic import ValidationError
from pydantic.fields import FieldInfo
from strawberry.scalars import JSON

from schema.types import enums  # noqa: F401 - makes them known
from schema.types.made import graph_type, sentence
from service.rest.requests import cutting, orders, prices, shop
from service.rest.requests.base import Ask
from service.rest.validation_errors import invalid

A = TypeVar("A", bound=Ask)
T = TypeVar("T")
UNSET: Any = strawberry.UNSET
_made: dict[Any, Any] = {}
"""Model of the REST door → the input that holds the same."""


def checked(model: type[A], given: object) -> A:
    """The input as its REST model. Raises Invalid with every problem."""
    try:
        return model.model_validate(_said(model, plain(given)))
    except ValidationError as error:
        raise invalid(error) from None


def plain(value: object) -> Any:
    """An input as plain values; what was not given is left out."""
    if isinstance(value, PointInput):
        return [value.x, value.y]
    if is_dataclass(value) and not isinstance(value, type):
        given = {f.name: getattr(value, f.name) for f in fields(value)}
        return {name: plain(item) for name, item in given.items() if item is not UNSET}
    if isinstance(value, dict):
        return {name: plain(item) for name, item in value.items()}
    if isinstance(value, Enum):
        return value.value
    return [plain(item) for item in value] if isinstance(value, list | tuple) else value


def _said(hint: Any, given: Any) -> Any:
    """Plain values without the nulls that mean the usual value: a model says what may be null."""
    if get_origin(hint) is Annotated or type(None) in get_args(hint):
        return _said(get_args(hint)[0], given)
    if get_origin(hint) is tuple and isinstance(given, list):
        return [_said(get_args(hint)[0], each) for each in given]
    if not (isinstance(hint, type) and issubclass(hint, Ask) and isinstance(given, dict)):
        return given
    return {
        name: _said(field.annotation, given[name])
        for name, field in hint.model_fields.items()
        if name in given and (given[name] is not None or type(None) in get_args(field.annotation))
    } | {name: value for name, value in given.items() if name not in hint.model_fields}


def input_of(model: Any) -> Any:
    """The input that holds what a model takes; JSON for those that are too large for the graph's types."""
    return _made.get(model, JSON)


def takes(model: type[Ask], *, without: Iterable[str] = ()) -> Callable[[type[T]], type[T]]:
    """Make a class the input that holds what a model of the REST door takes.

    What may be left out there may be left out here; its limits are told in words.
    """

    hidden = frozenset(without)

    def make(made: type[T]) -> type[T]:
        own = get_annotations(made)
        theirs = {name: field for name, field in model.model_fields.items() if name not in {*hidden, *own}}
        made.__annotations__ = {name: taken_as(name, field) for name, field in theirs.items()} | own
        for name, field in theirs.items():
            left_out = {} if field.is_required() else {"default": UNSET}
            setattr(made, name, strawberry.field(description=told(field) or None, **left_out))
        made.__doc__ = made.__doc__ or inspect.cleandoc(model.__doc__ or "")
        _made[model] = taken = strawberry.input(made)
        return taken

    return make


def taken_as(name: str, field: FieldInfo) -> Any:
    """The graph's type for what a model's field takes; what may be left out may be null too."""
    kind = _taken(name, field.annotation)
    optional = not field.is_required() and type(None) not in get_args(kind)
    return kind | None if optional else kind


def _taken(name: str, hint: Any) -> Any:
    origin, args = get_origin(hint), get_args(hint)
    if hint in _made:
        return _made[hint]
    if origin is Annotated:
        return _taken(name, args[0])
    if type(None) in args:
        (inner,) = (each for each in args if each is not type(None))
        return _taken(name, inner) | None
    if origin is tuple:
        return list[_taken(name, args[0])] if args[-1] is ... else PointInput  # type: ignore[misc]
    return graph_type(name, hint)


def told(field: FieldInfo) -> str:
    """What is said of a field: what it means, and its limits."""
    limits = {type(each).__name__: each for each in field.metadata}
    words = [sentence(field.description or "")]
    choices = _choices(field.annotation)
    if choices:
        words.append(f"{', '.join(f'`{each}`' for each in choices)}.")
    longest = limits.get("MaxLen") or limits.get("StringConstraints")
    if longest is not None and longest.max_length is not None:
        of = " characters" if str in (field.annotation, *get_args(field.annotation)) else ""
        words.append(f"At most {longest.max_length:,}{of}.")
    if "Ge" in limits and "Le" in limits:
        words.append(f"From {limits['Ge'].ge:,} to {limits['Le'].le:,}.")
    return " ".join(filter(None, words))


def _choices(hint: Any) -> tuple[str, ...]:
    """The texts that may be chosen from, of one choice or of each in a list."""
    if get_origin(hint) is tuple:
        return _choices(get_args(hint)[0])
    return get_args(hint) if get_origin(hint) is Literal else ()


@takes(orders.ContactAsk)
class ContactInput:
    """Whom to reach about an order."""


@takes(orders.LineChangeAsk)
class LineInput:
    """So many pieces of one model, with art on some of its slats; `id` names a line there is, to be changed."""


_made[orders.LineAsk] = LineInput


@takes(orders.OrderAsk)
class OrderInput:
    """An order as asked for; when amending, what is left out stays and null takes the usual value."""


_made[orders.OrderChangeAsk] = OrderInput


@takes(orders.OrdersQuery, without=("first", "after"))
class OrderFilterInput:
    """Which orders; everything given must hold."""


@takes(cutting.PlacementAsk)
class PlacementInput:
    """Where art lies on a slat: its centre in slat mm, mm per outline unit, degrees counter-clockwise."""


@takes(cutting.CutAsk)
class CutInput:
    """What to change of a cut; what is left out stays. Anything but `slatKey` is the maker's to change."""


@takes(cutting.WishesAsk)
class WishesInput:
    """How a file should be read."""


@takes(cutting.SuiteShownAsk)
class SuiteShownInput:
    """The whole list or picture that the person had before their eyes, by its digest."""


@takes(cutting.ShownAsk)
class ShownInput:
    """What the person had before their eyes: refused unless it is the current proof."""


@takes(prices.AcceptedAsk)
class AcceptedInput:
    """Remarks of one proof that are accepted with a signature, by name."""


@takes(prices.AcceptedKindsAsk)
class AcceptedKindsInput:
    """Kinds of remarks that are accepted with a signature, on whichever parts of the suite they are."""


@strawberry.input
class PointInput:
    """A place on a slat, mm."""

    x: float
    y: float


@takes(shop.AllowancesAsk)
class AllowancesInput:
    """What a shop allows for; what is left out takes the usual value."""


@takes(shop.WorkshopAsk)
class WorkshopInput:
    """A workshop's own settings; saving replaces all of them."""


@takes(shop.BitAsk)
class BitInput:
    """A V-bit; what is left out takes the usual value."""
