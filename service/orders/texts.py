"""What people type: cleaned by one rule, with the problems it may have."""

from __future__ import annotations

import operator
import re
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

from annotated_types import Ge, Gt, Le, Lt

from service.orders.definition import Limit, Trait, defined, texts
from service.orders.errors import FieldError
from service.orders.limits import LONGEST_EMAIL

_EMAIL = re.compile(r"[^@\s<>,;:\"\\()\[\]]+@[^@\s<>,;:\"\\()\[\].]+(\.[^@\s<>,;:\"\\()\[\].]+)+")
_WORD = re.compile(r"[^\W_]+")
_LONGEST_WORD = 40
# Unicode Standard Annex 9: embeddings, overrides, isolates; and a byte order mark, annotations, tags (Unicode 23.8 f.)
_TURNS = frozenset(
    chr(code)
    for span in ((0x202A, 0x202E), (0x2066, 0x2069), (0xFEFF, 0xFEFF), (0xFFF9, 0xFFFB), (0xE0000, 0xE007F))
    for code in range(span[0], span[1] + 1)
)
_MOST_WORDS = 200
_HOLDS: Final[dict[type[Limit], Callable[[Any, Any], bool]]] = {
    Ge: operator.ge,
    Gt: operator.gt,
    Le: operator.le,
    Lt: operator.lt,
}


def text_problems(field: str, text: str, longest: int, *, lines: bool = False) -> Iterator[FieldError]:
    """Too long, or with characters that cannot be shown or stored; line breaks only where ``lines``."""
    if len(text) > longest:
        yield FieldError(field, "too-long", f"Use at most {longest} characters here; these are {len(text)}.")
    allowed = "\n\r\t" if lines else ""
    if any(is_unseen(sign) and sign not in allowed for sign in text):
        yield FieldError(field, "control-characters", "Remove the control characters from this text.")


def is_unseen(sign: str) -> bool:
    """Whether a character shows nothing but changes what is seen or stored: controls, and signs that turn the
    direction of what follows (a name could be read otherwise than it is). Joiners and marks that scripts need stay.
    """
    return unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"} or sign in _TURNS


def written_problems(value: object) -> Iterator[FieldError]:
    """What is wrong with the texts of a value, by the limits they are defined with."""
    for path, text, field in texts(value):
        yield from text_problems(path, text, field.longest or 0, lines=Trait.LINES in field.traits)


def number_problems(value: object, path: str = "") -> Iterator[FieldError]:
    """Which numbers of a value lie outside the limits they are defined with, each by ``path`` and its name."""
    for name, field in defined(type(value)).items():
        held = getattr(value, name)
        if field.limits and not (held is None and field.nullable):
            yield from limit_problems(f"{path}{name}", held, field.limits)


def limit_problems(field: str, number: float, limits: Sequence[Limit]) -> Iterator[FieldError]:
    """Whether a number lies outside its limits, which have a least and a most; NaN lies outside all."""
    if not all(_HOLDS[type(each)](number, _end(each)) for each in limits):
        least, most = sorted(map(_end, limits))
        yield FieldError(field, "out-of-range", f"Give {least:g} to {most:g}.")


def _end(limit: Limit) -> float:
    return float(getattr(limit, type(limit).__name__.lower()))


def email_problems(field: str, email: str) -> Iterator[FieldError]:
    """Not an address mail can be sent to; an empty one is no problem here."""
    if email and (len(email) > LONGEST_EMAIL or not _EMAIL.fullmatch(email)):
        yield FieldError(field, "email", "Write the e-mail address as in name@garden.example.")


def words_of(*texts: str) -> frozenset[str]:
    """The words an order is found by: without case and accents, at most 40 characters each."""
    found: set[str] = set()
    for text in texts:
        plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
        bare = "".join(sign for sign in plain if not unicodedata.combining(sign)).casefold()
        found.update(word[:_LONGEST_WORD] for word in _WORD.findall(bare))
    return frozenset(sorted(found)[:_MOST_WORDS])
