"""Which language somebody is answered in, and how it writes numbers and days."""

from __future__ import annotations

from datetime import date

import pytest
from babel.numbers import format_decimal

from service.language.chosen import _, language, ngettext, spoken, wanted
from service.language.figures import day_words, decimal


# Accept-Language: RFC 9110, 12.5.4; the second row is its own example with German in Danish's place.
@pytest.mark.parametrize(
    ("cookie", "accepted", "answer"),
    [
        (None, "de-AT,de;q=0.9,en;q=0.8", "de"),
        (None, "de, en-gb;q=0.8, en;q=0.7", "de"),
        (None, "en-GB;q=0.9, de;q=0.5", "en"),
        (None, "fr, de;q=0", "en"),
        (None, "fr;q=x, ,;;q=", "en"),
        (None, None, "en"),
        ("de", "en", "de"),
        ("en", "de", "en"),
        ("xx", "de", "de"),
    ],
)
def test_the_language_is_what_was_chosen_else_what_the_browser_likes_best(cookie, accepted, answer):
    assert wanted(cookie, accepted) == answer


def test_words_follow_the_language_spoken_now():
    with spoken("de"):
        assert _("Sign") == "Unterschreiben"
        assert ngettext("in {count} day", "in {count} days", 3) == "in 3 Tagen"
        assert _("") == ""
        with spoken("no such language"):
            assert language() == "en"
        assert _("At most {most} MB are taken at once. Go back and send a smaller file.", most=9).startswith(
            "Höchstens 9 MB"
        )
    assert _("Sign") == "Sign"


@pytest.mark.parametrize("value", [0.05, 12.25, 1234.5, -3.0])
def test_numbers_are_written_as_unicode_cldr_says(value):
    for key in ("en", "de"):
        with spoken(key):
            assert decimal(value, 2) == format_decimal(value, "0.00", locale=key, group_separator=False)


def test_days_are_written_with_their_names():
    with spoken("de"):
        assert day_words(date(2026, 12, 4)) == "Fr. 4. Dez. 2026"
    assert day_words(date(2026, 12, 4)) == "Fri 4 Dec 2026"
