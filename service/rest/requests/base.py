"""What every model of a request shares."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import MISSING, is_dataclass
from types import MappingProxyType
from typing import Annotated, Any, ClassVar, TypeVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, create_model

from service.orders.definition import Defined, defined
from service.orders.ids import ID_PATTERN, KEY_PATTERN
from service.orders.limits import LONGEST_NAME, LONGEST_NOTE
from service.usecases.commands import PageAsk

Id = Annotated[str, StringConstraints(pattern=ID_PATTERN)]
Digest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
Key = Annotated[str, StringConstraints(pattern=KEY_PATTERN)]
ShortText = Annotated[str, StringConstraints(max_length=200)]
Name = Annotated[str, StringConstraints(max_length=LONGEST_NAME)]
LongText = Annotated[str, StringConstraints(max_length=LONGEST_NOTE)]
Reason = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_NOTE)]
Millimetres = Annotated[float, Field(gt=-1e6, lt=1e6, allow_inf_nan=False)]

A = TypeVar("A", bound="Ask")


class Ask(BaseModel):
    """A body or query; unknown fields are refused, so that a misspelt one does not go unnoticed."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    makes: ClassVar[Any] = None
    """The value type of the rules or the engine that it asks for, or changes; ``None`` where it is taken as it is."""

    def value(self) -> Any:
        """As the use cases take it: the value it makes, made of the values within; itself where it makes none."""
        return self if self.makes is None else self.makes(**self.values())

    def values(self) -> dict[str, Any]:
        """Field → value, as the use cases take them."""
        return {name: value_of(getattr(self, name)) for name in type(self).model_fields}


class Change(Ask):
    """A merge patch (RFC 7396): what is left out stays as it is, null takes the usual value."""

    def value(self) -> dict[str, Any]:
        """What was said, field by field, as the use cases take it."""
        return {name: value_of(getattr(self, name)) for name in self.model_fields_set}


def value_of(asked: Any) -> Any:
    """What was asked as the use cases take it; plain values are themselves."""
    if isinstance(asked, Ask):
        return asked.value()
    return tuple(map(value_of, asked)) if isinstance(asked, tuple) else asked


def asked(
    kind: Any, name: str, words: str, models: Mapping[Any, type[Ask]] = MappingProxyType({})
) -> type[Ask]:
    """The model of a request that makes a value type, from its definition.

    Args:
        kind: a frozen dataclass.
        name, words: of the model, as the contract shows them.
        models: value types within → their models.
    """
    given: dict[str, Any] = {
        field.name: (_with_models(field.hint, models), _default(field, models))
        for field in defined(kind).values()
    }
    made: type[Ask] = create_model(name, __base__=Ask, __doc__=words, **given)
    made.makes = kind
    return made


def asks(*kinds: Any, without: Iterable[str] = ()) -> Callable[[type[A]], type[A]]:
    """Make a class the model that asks for the fields of value types, but ``without``, and those it has itself.

    A field of the class itself takes the place of the value's field of that name.
    """

    def make(model: type[A]) -> type[A]:
        hidden = {*without, *model.model_fields}
        given: dict[str, Any] = {
            field.name: (
                Annotated[field.hint, Field(description=field.description.rstrip(".") or None)],
                _default(field, {}),
            )
            for kind in kinds
            for field in defined(kind).values()
            if field.name not in hidden
        }
        made: type[A] = create_model(
            model.__name__, __base__=model, __module__=model.__module__, __doc__=model.__doc__, **given
        )
        return made

    return make


def changing(
    kind: Any, name: str, words: str, models: Mapping[Any, type[Ask]] = MappingProxyType({})
) -> type[Ask]:
    """The model of a merge patch of a value type, from its definition; as :func:`asked`."""
    given: dict[str, Any] = {
        field.name: (field.hint if field.nullable else _with_models(field.hint, models) | None, None)
        for field in defined(kind).values()
    }
    made: type[Ask] = create_model(name, __base__=Change, __doc__=words, **given)
    made.makes = kind
    return made


def _with_models(hint: Any, models: Mapping[Any, type[Ask]]) -> Any:
    """A type with models in place of value types."""
    if hint in models:
        return models[hint]
    origin: Any = get_origin(hint)
    if origin is Annotated:
        inner, *told = get_args(hint)
        return Annotated[(_with_models(inner, models), *told)]
    if origin is tuple:
        return origin[tuple(_with_models(each, models) for each in get_args(hint))]
    return hint


def _default(field: Defined, models: Mapping[Any, type[Ask]]) -> Any:
    if field.default is MISSING:
        return ...
    return models[field.kind]() if is_dataclass(field.default) else field.default


class PageQuery(Ask):
    """Which page of a list."""

    first: Annotated[int, Field(ge=1, le=100, description="how many")] = 50
    after: Annotated[str | None, Field(max_length=500, description="`next` of the page before")] = None
    count: Annotated[bool, Field(description="whether `total` is to be counted")] = False

    @property
    def page(self) -> PageAsk:
        """As the use cases take it."""
        return PageAsk(self.first, self.after, self.count)
