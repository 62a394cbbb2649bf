"""Templates in a language."""

from __future__ import annotations

from collections.abc import Callable
from os import PathLike

from jinja2 import Environment, FileSystemLoader

from service.language.catalogues import translations
from service.language.chosen import ENGLISH
from service.language.templates import Message, in_language


class WordedLoader(FileSystemLoader):
    """Loads templates with their words put into one language."""

    def __init__(self, folder: str | PathLike[str], language: str) -> None:
        super().__init__(folder)
        self._language = language

    def get_source(self, environment: Environment, template: str) -> tuple[str, str, Callable[[], bool]]:
        """As of a plain loader."""
        source, path, unchanged = super().get_source(environment, template)
        if self._language != ENGLISH:
            source = in_language(source, self._words)
        return source, path, unchanged

    def _words(self, message: Message) -> str | tuple[str, ...]:
        known = translations(self._language)
        if message.many is None:
            return known.gettext(message.text)
        return tuple(known.ngettext(message.text, message.many, count) for count in (1, 2))
