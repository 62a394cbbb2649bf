"""Sentences that were said in English, by the engine or by the API, as the catalogue of what is told has them.

Such a sentence comes as text, with its figures in it: worked out by a worker, stored, signed. It is recognised by the
messages of the catalogue, whole or part by part, and said again in the language with its figures put in. What is not
wholly recognised stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from itertools import pairwise
from typing import Any

from babel.numbers import get_decimal_symbol, get_group_symbol

from service.language.catalogues import catalogue, domains
from service.language.chosen import ENGLISH, language

TOLD = "told"
"""The catalogue that sentences are recognised by."""
_PLACE = re.compile(r"\{(\w*)\}")
_UNIT = r"(?:mm²|mm|in²|in|MB|kB|em|min|ms|m|h|s|px|USD|EUR|x|×|%|°|±|−|–|…)"
_DIGITS = r"(?:\d[\d.,]*|[\ue000-\uf8ff])"
_FIGURE = rf"(?:[+−±-]?{_DIGITS}(?:\s{_DIGITS}/{_DIGITS}|/{_DIGITS})?|{_UNIT}(?![A-Za-z])|[()/:#-])"
_FIGURES = rf"{_FIGURE}(?:\s?{_FIGURE})*"
_ONLY_FIGURES = re.compile(rf"\s*(?:{_FIGURES})?[.,;:]?\s*")
_VALUE = rf"(?:{_FIGURES}|“[^”]*”|'[^']*')"
_OPENS, _CLOSES, _QUOTED = ("“", "'"), ("”", "'"), "[^“”']*"
_ONE_VALUE = re.compile(_VALUE)
_BETWEEN = re.compile(r"[\s.,;:–—-]+")
_SENTENCE_END = re.compile(r"(?<=[.!?])\s+(?=[A-Z“\d'])")
_ANY_NUMBER = re.compile(r"(?<![\w.])\d+(?:[.,]\d+)*(?![\w])")
_MARKS, _MOST_MARKS = (
    0xE000,
    500,
)  # signs for private use stand for figures, so that sentences differ by words alone
_NUMBER = re.compile(r"(?<![\w.])\d{1,3}(?:,\d{3})+(?:\.\d+)?(?![\w,])|(?<![\w.])\d+\.\d+(?![\w.])")
_MAY_BE_NAME = re.compile(
    r"(?!.*[.!?]\s)(?!(?:.*\s)?(?:the|an?|to|and|or|is|are|its?|be|not|which|that|this|will|may|out|because|so|if|when|where|there|of|on|in|no|by|from)\b)"
    r"[^,;:\s]+(?:,?\s[^,;:\s]+){0,7}"
)
"""What may be left as it is in a sentence: a name, which has none of the little words of a sentence."""
_LEAST_LETTERS = 7
_LONGEST = 4000


def told(text: str) -> str:
    """A sentence in the language spoken now; as it is where it is not known."""
    spoken = language()
    if spoken == ENGLISH or not text or len(text) > _LONGEST:
        return text
    said = _book(spoken).said(text)
    return text if said is None else said


def figures(text: str) -> str:
    """Money and other figures as the language spoken now writes numbers."""
    return text if language() == ENGLISH else _numbers(text, language())


SAID = frozenset({
    "sentence", "message", "cure", "helps", "notes", "stale_because", "lacks", "changed", "not_included",
    "assumptions", "sensitivity", "file_remarks", "proposals", "question", "problems", "outline_note", "boards_words",
    "days_words", "stage", "instead_of", "title", "detail",
})  # fmt: skip
"""Names of values in the API's answers that are sentences of ours. What a page may send back is not among them."""
MONEY = frozenset({"total_words", "amount_words", "price_words", "each_words"})


def told_answer(answer: Any) -> Any:
    """An answer of the API with the sentences in it in the language spoken now."""
    return answer if language() == ENGLISH else _told_in(answer, said=False)


def _told_in(value: Any, *, said: bool) -> Any:
    if isinstance(value, str):
        return told(value) if said else value
    if isinstance(value, dict):
        return {
            name: figures(each)
            if name in MONEY and isinstance(each, str)
            else _told_in(each, said=said or name in SAID)
            for name, each in value.items()
        }
    if isinstance(value, list | tuple):
        return [_told_in(each, said=said) for each in value]
    return value


@dataclass(frozen=True)
class _Place:
    """Where a value stands in a message: its name, and whether quotation marks are around it."""

    name: str
    quoted: bool


@dataclass(frozen=True)
class _Entry:
    """One message and its words. ``literals`` stand before, between and after its ``places``."""

    message: str
    words: str
    literals: tuple[str, ...]
    places: tuple[_Place, ...]

    @cached_property
    def letters(self) -> int:
        """How much it tells by itself."""
        return sum(letter.isalpha() for literal in self.literals for letter in literal)

    @cached_property
    def literal(self) -> str:
        """What is in every text that it is in; how it begins, it may begin large or small."""
        return max(self.literals, key=len)[1:]

    @cached_property
    def whole(self) -> re.Pattern[str]:
        """Recognises it with anything in its places."""
        text = _any_case(self.literals[0])
        for before, after in pairwise(self.literals):
            text += ("(.*?)" if before[-1:].isalpha() else "(.+?)") + re.escape(after)
        return re.compile(text, re.S)

    @cached_property
    def part(self) -> re.Pattern[str]:
        """Recognises it with figures and quoted names in its places."""
        text = _any_case(self.literals[0])
        for place, after in zip(self.places, self.literals[1:], strict=True):
            text += f"({_QUOTED if place.quoted else _VALUE}){re.escape(after)}"
        return re.compile(text + (r"(?![A-Za-z])" if self.message[-1].isalpha() else ""))


class _Book:
    """The messages of one language, the most telling first."""

    def __init__(self, spoken: str) -> None:
        self._language = spoken
        entries = catalogue(spoken, TOLD) if TOLD in domains(spoken) else ()
        self._exact: dict[str, str] = {}
        patterns: list[_Entry] = []
        for message in entries:
            if isinstance(message.id, str) and message.id and message.string:
                self._exact[message.id] = str(message.string)
                patterns.append(_entry(message.id, str(message.string)))
        self._patterns = sorted(patterns, key=lambda entry: -entry.letters)
        self._known = lru_cache(maxsize=4096)(self._said)

    def said(self, text: str) -> str | None:
        """A sentence; ``None`` where not all of it is known. Sentences that differ by their figures are found once."""
        numbers = _ANY_NUMBER.findall(text)
        if numbers and len(numbers) < _MOST_MARKS:
            marks = (chr(_MARKS + at) for at in range(len(numbers)))
            words = self._known(_ANY_NUMBER.sub(lambda _: next(marks), text))
            if words is not None:
                return re.sub(
                    "[\ue000-\uf8ff]",
                    lambda mark: _numbers(numbers[ord(mark[0]) - _MARKS], self._language),
                    words,
                )
        return self._known(text)

    def _said(self, text: str) -> str | None:
        for ways in (self._one, self._by_sentences, self._in_parts, self._listed):
            known = ways(text)
            if known is not None:
                return known
        if text[:1].isupper() and text[1:2].islower():  # a part of a sentence at the beginning of one
            known = self._known(text[0].lower() + text[1:])
        elif text[:1].islower():
            known = self._exact.get(text[0].upper() + text[1:])
        return None if known is None else _cased(known, text[0])

    def _one(self, text: str) -> str | None:
        """A message, whole."""
        if text in self._exact:
            return self._exact[text]
        if _ONLY_FIGURES.fullmatch(text):
            return _numbers(text, self._language)
        for entry in self._patterns:
            if entry.literal and entry.literal in text:
                found = entry.whole.fullmatch(text)
                words = self._filled(entry, found) if found else None
                if words is not None:
                    return words
        return None

    def _filled(self, entry: _Entry, found: re.Match[str]) -> str | None:
        """The words of a message with its values; ``None`` where one of them is neither known nor a name."""
        said: dict[str, str] = {}
        for place, value in zip(entry.places, found.groups(), strict=True):
            words = self._known(value) if value and not place.quoted else value
            if words is None and (entry.letters < _LEAST_LETTERS or not _MAY_BE_NAME.fullmatch(value)):
                return None
            said[place.name] = value if words is None else words
        words = _PLACE.sub(lambda place: said[place[1]], entry.words)
        return (
            _cased(words, found[0][0])
            if entry.message[0].isalpha() and found[0][0] != entry.message[0]
            else words
        )

    def _by_sentences(self, text: str) -> str | None:
        """Several sentences, each of which is a message, or some of which are one together."""
        ends = [found.start() for found in _SENTENCE_END.finditer(text)]
        if not ends:
            return None
        starts = [0, *(found.end() for found in _SENTENCE_END.finditer(text))]
        ends.append(len(text))
        done: list[str] = []
        at = 0
        while at < len(starts):
            for last in range(len(ends) - 1, at - 1, -1):
                if (at, last) == (0, len(ends) - 1):
                    continue
                piece = text[starts[at] : ends[last]]
                words = self._one(piece)
                if words is None and last == at:
                    words = self._in_parts(piece)
                if words is not None:
                    done.append(words)
                    at = last + 1
                    break
            else:
                return None
        return " ".join(done)

    def _listed(self, text: str) -> str | None:
        """Several words or sayings with commas between, each of which is known."""
        said = [self._known(each) for each in text.split(", ")] if ", " in text else [None]
        return None if None in said else ", ".join(map(str, said))

    def _in_parts(self, text: str) -> str | None:
        """Parts one after the other that make up all of it."""
        failed: set[int] = set()
        known: dict[str, list[_Entry]] = {}
        for entry in self._patterns:
            if entry.literal in text:
                known.setdefault(_first(entry.message), []).append(entry)

        def rest(at: int) -> str | None:
            if at == len(text):
                return ""
            if at in failed:
                return None
            for end, words in self._parts_at(text, at, known):
                after = rest(end)
                if after is not None:
                    return words + after
            failed.add(at)
            return None

        words = rest(0) if re.search(r"[A-Za-z]{3}", text) else None
        return None if words is None else re.sub(r"\s+(?=[,;.])", "", words)

    def _parts_at(
        self, text: str, at: int, known: Mapping[str, Sequence[_Entry]]
    ) -> Iterator[tuple[int, str]]:
        first = _first(text[at : at + 40])
        for entry in known.get(first, ()):
            found = entry.part.match(text, at)
            if found:
                words = self._filled(entry, found)
                if words is not None:
                    yield found.end(), words
        value = _ONE_VALUE.match(text, at)
        if value:
            yield value.end(), _numbers(value[0], self._language)
        between = _BETWEEN.match(text, at)
        if between:
            yield between.end(), between[0]


@cache
def _book(spoken: str) -> _Book:
    return _Book(spoken)


def _entry(message: str, words: str) -> _Entry:
    pieces = _PLACE.split(message)
    literals = tuple(pieces[::2])
    quoted = (before[-1:] in _OPENS and after[:1] in _CLOSES for before, after in pairwise(literals))
    return _Entry(message, words, literals, tuple(map(_Place, pieces[1::2], quoted)))


def _any_case(text: str) -> str:
    """A pattern of a text that may begin with a capital or not."""
    return f"(?i:{text[0]}){re.escape(text[1:])}" if text[:1].isalpha() else re.escape(text)


def _cased(words: str, like: str) -> str:
    """Words that begin with a capital, or not, as ``like`` does."""
    return (words[0].upper() if like.isupper() else words[0].lower()) + words[1:]


def _first(text: str) -> str:
    """The first word in small letters, or nothing where it begins otherwise."""
    found = re.match(r"[A-Za-z’]+", text)
    return found[0].lower() if found else ""


@cache
def _signs(spoken: str) -> tuple[str, str]:
    return get_decimal_symbol(spoken), get_group_symbol(spoken)


def _numbers(text: str, spoken: str) -> str:
    point, group = _signs(spoken)

    def written(found: re.Match[str]) -> str:
        return found[0].replace(",", "\0").replace(".", point).replace("\0", group)

    return _NUMBER.sub(written, text)
