"""What is known of a value besides its type: stated once, beside the field, and read by every room.

A field of a value type says its limits, title and description with pydantic's ``Field`` and its traits with
:class:`Trait`, both in ``Annotated``. Columns, rows, requests, answers, the graph, the search, erasure and the forms
are made from that, so nobody lists the fields again (``docs/adr/0019-one-definition-of-each-value.md``).
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, Field, dataclass, fields, is_dataclass, replace
from enum import Enum, auto
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin, get_type_hints

from annotated_types import Ge, Gt, Le, Lt, MaxLen
from pydantic import GetJsonSchemaHandler
from pydantic.fields import FieldInfo
from pydantic.json_schema import JsonSchemaValue

T = TypeVar("T")
Limit = Ge | Gt | Le | Lt


class Trait(Enum):
    """What the rooms do with a field."""

    ID = auto()
    """Names something: one of our ids."""
    KEY = auto()
    """Names something of the workshop's settings."""
    LINES = auto()
    """A text that may have line breaks."""
    BENCH = auto()
    """Goes with the order to the bench: into its batch, and onto its job sheet."""
    PERSONAL = auto()
    """Blanked when the client is erased."""
    ONCE = auto()
    """Not taken over when the same is ordered again."""
    SEARCHABLE = auto()
    """The order is found by its words."""


@dataclass(frozen=True)
class OneOf:
    """Says beside a text that it is always one of a choice's values (``service.orders.choices``)."""

    choice: Any

    def __get_pydantic_json_schema__(self, schema: Any, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """As the contract shows it."""
        return handler(schema) | {"enum": list(get_args(self.choice))}


@dataclass(frozen=True)
class Defined:
    """One field as it is defined.

    Attributes:
        name: of the attribute.
        kind: its type, without ``None`` and without annotations.
        hint: the type as it is written, annotations included.
        nullable: whether it may be ``None``.
        default: what it is where nothing is said; ``MISSING`` where it must be said.
        longest: most characters of a text.
        limits: of a number.
        description, title: for people; what the docstring says of the field where the type says nothing.
        choice: whose values a text has, ``None`` for any text.
    """

    name: str
    kind: Any
    hint: Any
    nullable: bool
    default: Any
    traits: frozenset[Trait]
    longest: int | None
    limits: tuple[Limit, ...]
    description: str
    title: str
    choice: Any = None


def defined(kind: Any) -> Mapping[str, Defined]:
    """The fields of a value type by name, in their order."""
    return _defined_once(kind)


@cache
def _defined_once(kind: Any) -> Mapping[str, Defined]:
    hints = get_type_hints(kind, include_extras=True)
    words = attributes(kind)
    return {field.name: _defined(field, hints[field.name], words) for field in fields(kind)}


_ATTRIBUTE = re.compile(r"    ([\w, ]+?): (.*)")
_ROLE = re.compile(r":\w+:`~?\.?([\w.]+)`")


def attributes(kind: Any) -> Mapping[str, str]:
    """What the docstrings of a class and its bases say of each attribute, in one line."""
    found: dict[str, str] = {}
    for base in reversed(inspect.getmro(kind)):
        found |= _attributes(inspect.cleandoc(base.__doc__ or ""))
    return found


def _attributes(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    names: list[str] = []
    for line in text.partition("Attributes:\n")[2].splitlines():
        begun = _ATTRIBUTE.fullmatch(line)
        if begun:
            names = [name.strip() for name in begun[1].split(",")]
            found |= dict.fromkeys(names, begun[2])
        elif line.startswith("        ") and names:
            found |= dict.fromkeys(names, f"{found[names[0]]} {line.strip()}")
        elif line.strip():
            break
    return {
        name: _ROLE.sub(r"`\1`", words).replace("``", "`").replace("`None`", "null")
        for name, words in found.items()
    }


def _defined(field: Field[Any], hint: Any, words: Mapping[str, str]) -> Defined:
    bare, told = _unwrapped(hint)
    kind, nullable, more = _without_none(bare)
    told = (*told, *more)
    infos = [each for each in told if isinstance(each, FieldInfo)]
    limits = [*(each for info in infos for each in info.metadata), *told]
    lengths = [each.max_length for each in limits if isinstance(each, MaxLen)]
    return Defined(
        name=field.name,
        kind=kind,
        hint=hint,
        nullable=nullable,
        default=_default(field),
        traits=frozenset(each for each in told if isinstance(each, Trait)),
        longest=lengths[0] if lengths and kind is str else None,
        limits=tuple(each for each in limits if isinstance(each, Limit)),
        description=next((info.description for info in infos if info.description), words.get(field.name, "")),
        title=next((info.title for info in infos if info.title), ""),
        choice=next((each.choice for each in told if isinstance(each, OneOf)), None),
    )


def _unwrapped(hint: Any) -> tuple[Any, tuple[Any, ...]]:
    """A type without ``Annotated``, and what was annotated."""
    if get_origin(hint) is Annotated:
        inner, *told = get_args(hint)
        return inner, tuple(told)
    return hint, ()


def _without_none(hint: Any) -> tuple[Any, bool, tuple[Any, ...]]:
    if get_origin(hint) not in (Union, UnionType):
        return hint, False, ()
    others = [each for each in get_args(hint) if each is not NoneType]
    if len(others) != 1:
        return hint, len(others) < len(get_args(hint)), ()
    inner, told = _unwrapped(others[0])
    return inner, True, told


def _default(field: Field[Any]) -> Any:
    return field.default_factory() if field.default_factory is not MISSING else field.default


def texts(value: Any, path: str = "") -> Iterator[tuple[str, str, Defined]]:
    """Every text with a limit in a value and in the values it holds: dotted path, text, definition."""
    for name, field in defined(type(value)).items():
        held, here = getattr(value, name), f"{path}{name}"
        if field.longest is not None and isinstance(held, str):
            yield here, held, field
        elif is_dataclass(held):
            yield from texts(held, f"{here}.")
        elif isinstance(held, tuple):
            for index, each in enumerate(held):
                if is_dataclass(each):
                    yield from texts(each, f"{here}.{index}.")


def search_texts(value: Any) -> tuple[str, ...]:
    """What a value is found by."""
    found: list[str] = []
    for name, field in defined(type(value)).items():
        held = getattr(value, name)
        if is_dataclass(held):
            found += search_texts(held)
        elif Trait.SEARCHABLE in field.traits:
            found.append(str(held))
    return tuple(found)


def blanks(kind: type[Any]) -> dict[str, Any]:
    """What the personal fields of a value type are set to when its client is erased: their defaults."""
    return _defaults(kind, Trait.PERSONAL)


def fresh(kind: type[Any]) -> dict[str, Any]:
    """The fields that are not taken over when the same is ordered again, as in a new order: their defaults."""
    return _defaults(kind, Trait.ONCE)


def for_bench(kind: type[T], value: Any) -> T:
    """What of a value goes to the bench; the rest is as in a new one."""
    return kind(**{name: getattr(value, name) for name in bench_fields(kind)})


def bench_fields(kind: Any) -> frozenset[str]:
    """The fields that go to the bench."""
    return frozenset(name for name, field in defined(kind).items() if Trait.BENCH in field.traits)


def _defaults(kind: type[Any], trait: Trait) -> dict[str, Any]:
    return {name: field.default for name, field in defined(kind).items() if trait in field.traits}


def shared(kind: type[Any], value: Any) -> dict[str, Any]:
    """The fields of ``kind`` that ``value`` has, to make one from the other."""
    return {name: getattr(value, name) for name in defined(kind) if hasattr(value, name)}


def merged(value: T, changes: Mapping[str, Any]) -> T:
    """A value with some fields changed (RFC 7396): ``None`` takes the default, a value within is merged likewise."""
    return replace(value, **_changed(value, changes))  # type: ignore[type-var]


def made(kind: type[T], given: Mapping[str, Any]) -> T:
    """A new value of some fields; ``None`` takes the default."""
    return kind(**{name: each for name, each in given.items() if each is not None})


def _changed(value: Any, changes: Mapping[str, Any]) -> dict[str, Any]:
    known = defined(type(value))
    return {name: _merged(known[name], getattr(value, name), given) for name, given in changes.items()}


def _merged(field: Defined, held: Any, given: Any) -> Any:
    if given is None:
        return held if field.default is MISSING else field.default
    return merged(held, given) if is_dataclass(held) and isinstance(given, Mapping) else given
