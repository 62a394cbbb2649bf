"""Catalogues hold every message and nothing else, and words for all of them."""

from __future__ import annotations

import pytest
from babel.messages.catalog import Message

from service.language.chosen import ENGLISH, LANGUAGES
from service.language.gather import DOMAINS, brought_up, path_of
from service.language.templates import marks

EVERY = [(language, domain) for language in LANGUAGES if language != ENGLISH for domain in DOMAINS]


@pytest.mark.parametrize(("language", "domain"), EVERY)
def test_a_catalogue_has_words_for_everything_that_is_said(language, domain):
    catalogue, data = brought_up(language, domain)
    lacking = [message.id for message in catalogue if message.id and not all(_words(message))]
    assert not lacking, f"{len(lacking)} messages have no {LANGUAGES[language]} words: {lacking[:20]}"
    assert data == path_of(language, domain).read_bytes(), "run: python -m service.language.gather"


@pytest.mark.parametrize(("language", "domain"), EVERY)
def test_words_show_the_values_and_links_that_their_message_shows(language, domain):
    for message in brought_up(language, domain)[0]:
        if isinstance(message.id, str):
            assert not message.string or marks(str(message.string)) == marks(message.id), message.id
        else:
            for words, said in zip(_words(message), message.id, strict=True):
                assert marks(words) == marks(said), message.id


def _words(message: Message) -> tuple[str, ...]:
    return (message.string,) if isinstance(message.id, str) else tuple(message.string)
