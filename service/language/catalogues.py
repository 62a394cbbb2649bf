"""Catalogues of messages, read straight from their ``.po`` files."""

from __future__ import annotations

import io
from functools import cache
from gettext import GNUTranslations, NullTranslations
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

LOCALE = Path(__file__).parent / "locale"
"""``<language>/LC_MESSAGES/<domain>.po``, as gettext lays catalogues out."""


def catalogue(language: str, domain: str) -> Catalog:
    """One catalogue as it is kept."""
    with (LOCALE / language / "LC_MESSAGES" / f"{domain}.po").open("rb") as file:
        return read_po(file, language, domain)


def domains(language: str) -> tuple[str, ...]:
    """Names of a language's catalogues; English has none, it is what messages are written in."""
    return tuple(sorted(path.stem for path in (LOCALE / language / "LC_MESSAGES").glob("*.po")))


@cache
def translations(language: str) -> NullTranslations:
    """All catalogues of a language as one; what they lack stays English."""
    found = NullTranslations()
    for domain in domains(language):
        compiled = io.BytesIO()
        write_mo(compiled, catalogue(language, domain))
        compiled.seek(0)
        read = GNUTranslations(compiled)
        read.add_fallback(found)
        found = read
    return found
