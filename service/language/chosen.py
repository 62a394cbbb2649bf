"""The language of whoever is being answered, and words in it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from typing import Any, cast

from babel.support import LazyProxy

from service.language import weights
from service.language.catalogues import translations

ENGLISH = "en"
LANGUAGES = {ENGLISH: "English", "de": "Deutsch"}
"""What people may choose from, by what each calls itself."""

_LANGUAGE: ContextVar[str] = ContextVar("language", default=ENGLISH)


def language() -> str:
    """The one spoken now, a key of :data:`LANGUAGES`."""
    return _LANGUAGE.get()


def speak(key: str | None) -> None:
    """Speak it from now on in this task or thread; English where we do not know it."""
    _LANGUAGE.set(key if key in LANGUAGES else ENGLISH)


@contextmanager
def spoken(key: str | None) -> Iterator[None]:
    """Speak it within a block."""
    before = _LANGUAGE.set(key if key in LANGUAGES else ENGLISH)
    try:
        yield
    finally:
        _LANGUAGE.reset(before)


@lru_cache(maxsize=1024)
def wanted(cookie: str | None, accepted: str | None) -> str:
    """The language somebody chose, else the one their browser likes best of ours.

    Args:
        cookie: what was chosen on a page, if anything.
        accepted: the header ``Accept-Language`` (RFC 9110, 12.5.4).
    """
    if cookie in LANGUAGES:
        return str(cookie)
    ranked = sorted(weights.accepted((accepted or "")[:500]), key=lambda one: (-one.weight, one.place))
    tags = (one.value.split("-")[0] for one in ranked if one.weight > 0)
    return next((tag for tag in tags if tag in LANGUAGES), ENGLISH)


def _(message: str, /, **values: Any) -> str:
    """A message in the language spoken now, with ``{named}`` values put in."""
    text = translations(language()).gettext(message) if message else ""  # of nothing, gettext tells the head
    return text.format(**values) if values else text


def N_(message: str) -> str:  # noqa: N802 - gettext's own name for it
    """Marks a message that is put into words later, by :func:`_`."""
    return message


def L_(message: str) -> str:  # noqa: N802 - as N_
    """A message that is put into words whenever it is shown: for tables of words made when a module is loaded."""
    return cast(str, LazyProxy(_, message, enable_cache=False))


def ngettext(one: str, many: str, count: int, /, **values: Any) -> str:
    """A message that depends on a count, which it may show as ``{count}``."""
    return translations(language()).ngettext(one, many, count).format(count=count, **values)
