"""The language of whoever is being answered, and words in it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, cast

from babel.support import LazyProxy

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


def wanted(cookie: str | None, accepted: str | None) -> str:
    """The language somebody chose, else the one their browser likes best of ours.

    Args:
        cookie: what was chosen on a page, if anything.
        accepted: the header ``Accept-Language`` (RFC 9110, 12.5.4).
    """
    if cookie in LANGUAGES:
        return str(cookie)
    ranked: list[tuple[float, int, str]] = []
    for place, part in enumerate((accepted or "")[:500].split(",")):
        tag, *settings = part.split(";")
        ranked.append((-_quality(settings), place, tag.strip().lower().split("-")[0]))
    return next((tag for rank, _, tag in sorted(ranked) if rank < 0 and tag in LANGUAGES), ENGLISH)


def _quality(settings: list[str]) -> float:
    for setting in settings:
        name, _, value = setting.partition("=")
        if name.strip().lower() == "q":
            try:
                return float(value)
            except ValueError:
                return 0.0
    return 1.0


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
