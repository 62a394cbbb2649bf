"""What the graph takes: inputs made from the models of the REST door, and checked by them."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable
from dataclasses import fields, is_dataclass
from enum import Enum
from inspect import get_annotations
from typing import Annotated, Any, Protocol, TypeVar, get_args, get_origin, runtime_checkable

import strawberry
from pydantic import ValidationError
from pydantic.fields import FieldInfo

from artwork.workpiece import Allowances
from schema.types.judged import AllowanceOverrides
from schema.types.made import graph_type, sentence
from service.orders.definition import defined
from service.orders.glossary import words_for
from service.rest.requests import boards, cutting, orders, prices, shop, suites
from service.rest.requests.base import Ask
from service.rest.validation_errors import invalid

A = TypeVar("A", bound=Ask)
T = TypeVar("T")
UNSET: Any = strawberry.UNSET
_made: dict[Any, Any] = {}
"""Model of the REST door → the input that holds the same."""
_TAKEN_AS: dict[Any, Any] = {
    orders.LineAsk: orders.LineChangeAsk,
    orders.SiteChangeAsk: orders.SiteAsk,
    orders.OrderChangeAsk: orders.OrderAsk,
}
"""Models that share an input: placing and amending differ in what must be given, which the model says."""
_NAMES: dict[Any, str] = {
    orders.LineChangeAsk: "LineInput",
    suites.RuleAsk: "TextRuleInput",
    suites.PlaceAsk: "TextFieldInput",
}
"""Inputs that are called otherwise than their model."""
_WORDS: dict[Any, str] = {
    orders.SiteAsk: "What a shop's own site says of an order; when amending, what is left out stays.",
    orders.LineChangeAsk: (
        "So many pieces of one model, with art on some of its slats; `id` names a line there is, to be changed."
    ),
    orders.OrderAsk: (
        "An order as asked for; when amending, what is left out stays and null takes the usual value."
    ),
}
"""What is said of inputs that stand for two models."""


@runtime_checkable
class _Plain(Protocol):
    """An input that is written otherwise at the REST door."""

    def plain(self) -> Any:
        """As it is written there."""


def checked(model: type[A], given: object) -> A:
    """The input as its REST model. Raises Invalid with every problem."""
    try:
        return model.model_validate(_said(model, plain(given)))
    except ValidationError as error:
        raise invalid(error) from None


def plain(value: object) -> Any:
    """An input as plain values; what was not given is left out."""
    if isinstance(value, _Plain):
        return value.plain()
    if isinstance(value, AllowanceOverridesInput):
        return _given(value)
    if is_dataclass(value) and not isinstance(value, type):
        given = {f.name: getattr(value, f.name) for f in fields(value)}
        return {
            name: _by_slat(item) if isinstance(value, ModelInput) and name == "allowances" else plain(item)
            for name, item in given.items()
            if item is not UNSET
        }
    if isinstance(value, dict):
        return {name: plain(item) for name, item in value.items()}
    if isinstance(value, Enum):
        return value.value
    return [plain(item) for item in value] if isinstance(value, list | tuple) else value


def _by_slat(given: list[SlatAllowancesInput] | None) -> dict[str, Any]:
    """As the REST door takes it: slat key → allowances."""
    return {each.slat_key: plain(each.allowances) for each in given or ()}


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
    """The input that holds what a model takes: made of it, unless a class of this module stands for it."""
    model = _TAKEN_AS.get(model, model)
    if model not in _made:
        name = _NAMES.get(model) or f"{model.__name__.removesuffix('Ask')}Input"
        takes(model)(type(name, (), {"__doc__": _WORDS.get(model)}))
    return _made[model]


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
            words = told(field, _meant(model, name))
            setattr(made, name, strawberry.field(description=words or None, **left_out))
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
    if isinstance(hint, type) and issubclass(hint, Ask):
        return input_of(hint)
    if origin is Annotated:
        return _taken(name, args[0])
    if type(None) in args:
        (inner,) = (each for each in args if each is not type(None))
        return _taken(name, inner) | None
    if origin is tuple:
        return list[_taken(name, args[0])] if args[-1] is ... else PointInput  # type: ignore[misc]
    return graph_type(name, hint)


def _meant(model: type[Ask], name: str) -> str:
    """What the value that a model makes says of a field, or the glossary."""
    known = defined(model.makes) if is_dataclass(model.makes) else {}
    return (known[name].description if name in known else "") or words_for(model.__name__, name)


def told(field: FieldInfo, said: str = "") -> str:
    """What is said of a field: what it means, and its limits."""
    limits = {type(each).__name__: each for each in field.metadata}
    words = [sentence(field.description or said)]
    longest = limits.get("MaxLen") or limits.get("StringConstraints")
    if longest is not None and longest.max_length is not None:
        of = " characters" if str in (field.annotation, *get_args(field.annotation)) else ""
        words.append(f"At most {longest.max_length:,}{of}.")
    if "Ge" in limits and "Le" in limits:
        words.append(f"From {limits['Ge'].ge:,} to {limits['Le'].le:,}.")
    return " ".join(filter(None, words))


@strawberry.input
class PointInput:
    """A place, mm."""

    x: float = strawberry.field(description="Across, mm.")
    y: float = strawberry.field(description="Up, mm.")

    def plain(self) -> list[float]:
        """As the REST door takes it."""
        return [self.x, self.y]


class _OverridesInput:
    """Some allowances over the workshop's; what is left out, or null, is the workshop's."""

    __annotations__ = get_annotations(AllowanceOverrides)


for _name, _field in defined(Allowances).items():
    setattr(_OverridesInput, _name, strawberry.field(description=sentence(_field.description), default=None))
AllowanceOverridesInput = strawberry.input(_OverridesInput, name="AllowanceOverridesInput")


def _given(overrides: object) -> dict[str, Any]:
    return {name: value for name, value in vars(overrides).items() if value is not None}


@strawberry.input
class SlatAllowancesInput:
    """What one slat of a model has over the workshop's allowances."""

    slat_key: str = strawberry.field(description="Which slat.")
    allowances: AllowanceOverridesInput = strawberry.field(  # type: ignore[valid-type]
        description="Those that it has."
    )


@takes(orders.OrdersQuery, without=("first", "after", "count"))
class OrderFilterInput:
    """Which orders; everything given must hold."""


@takes(cutting.PlacementAsk)
class PlacementInput:
    """Where art lies on a slat: its centre in slat mm, mm per outline unit, degrees counter-clockwise."""


@takes(cutting.CutAsk)
class CutInput:
    """What to change of a cut; what is left out stays. Anything but `slatKey` is the maker's to change."""

    allowances: AllowanceOverridesInput | None = strawberry.field(  # type: ignore[valid-type]
        default=UNSET,
        description="The whole set for this carving; empty takes the workshop's again.",
    )


@takes(shop.ModelAsk)
class ModelInput:
    """A furniture model; saving replaces all of it."""

    allowances: list[SlatAllowancesInput] | None = strawberry.field(
        default=UNSET, description="What some slats have over the workshop's allowances."
    )


@takes(prices.PriceAsk)
class PriceInput:
    """One price, in whole minor units of the list's currency."""

    price: float = strawberry.field(description="Whole minor units for one of it.")


@takes(prices.WantedLineAsk)
class WantedLineInput:
    """So many pieces of a model that somebody may order."""


@strawberry.input
class TestBoardReadingInput:
    """One reading."""

    key: str = strawberry.field(description="Of the reading.")
    value: float | None = strawberry.field(
        default=None, description="In mm, or 1 and 0 for a tap; null forgets it."
    )


@takes(boards.ReadingsAsk, without=("readings",))
class TestBoardReadingsInput:
    """Readings of a test board, beside those there are."""

    readings: list[TestBoardReadingInput] = strawberry.field(
        default_factory=list, description="Each once. At most 400."
    )

    def plain(self) -> dict[str, Any]:
        """As the REST door takes it: key → reading."""
        given = {"confirmed": self.confirmed, "note": self.note}  # type: ignore[attr-defined]
        kept = {name: value for name, value in given.items() if value is not UNSET}
        return kept | {"readings": {each.key: each.value for each in self.readings}}
