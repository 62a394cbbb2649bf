"""Words of templates: found where they stand, so that none has to be marked, and put into a language before a
template is compiled.

A message is a run of text with what stands within it: ``{name}`` is an expression's value, ``<a>…</a>`` a tag without
its attributes. Attributes that people read and strings in expressions are messages of their own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

Translate = Callable[["Message"], str | tuple[str, ...]]
"""From a message to its words; of one that depends on a count to the words of each form."""

_JINJA = re.compile(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}", re.S)
_VALUE, _STATEMENT = (
    "\ue000",
    "\ue001",
)  # stand for signs of expressions and of statements, so that HTML can be read
_TAG = re.compile(r"<!--.*?-->|<![^>]*>|</?[A-Za-z](?:[^>\"']|\"[^\"]*\"|'[^']*')*>", re.S)
_RAW = re.compile(r"<(script|style)\b.*?</\1>", re.S | re.I)
_INLINE = frozenset({"a", "strong", "em", "b", "i", "span", "code", "small", "kbd", "sup", "sub", "br"})
_READ = re.compile(r"(?<![-\w])(?:alt|title|aria-label|placeholder|data-label)=\"([^\"]*)\"")
_STRING = re.compile(r"\"([^\"\\]*)\"|'([^'\\]*)'")
_COUNTED = re.compile(r"\bplural\(\s*\"([^\"]*)\"(?:,\s*\"([^\"]*)\")?\s*\)")
_LETTERS = re.compile(r"[^\W\d_]{2}")
_NO_PROSE = re.compile(r"\s*[/#?]")  # an address or a style
_COUNT = "{count} "
_MARK = re.compile(r"%\(\w+\)s|%g|\{\w+(?::\w+)?\}|</?\w+>")


@dataclass(frozen=True)
class Message:
    """Words of a template.

    Attributes:
        text: as it is in the catalogue.
        many: the words for several, where it depends on a count that it shows as ``{count}``.
        line: where it stands.
    """

    text: str
    many: str | None
    line: int


@dataclass(frozen=True)
class _Part:
    """A stretch of a source: ``kind`` is text, value, open, close or void."""

    kind: str
    start: int
    end: int
    name: str = ""


def messages(source: str) -> list[Message]:
    """Every message of a template, in order."""
    found: list[Message] = []

    def note(message: Message) -> str | tuple[str, ...]:
        found.append(message)
        return message.text if message.many is None else (message.text, message.many)

    in_language(source, note)
    return found


def in_language(source: str, translate: Translate) -> str:
    """A template with its words put into a language.

    Args:
        source: what is in the template's file.
        translate: called with every message.
    """
    return _Source(source, translate).translated()


@dataclass(frozen=True)
class _Source:
    text: str
    translate: Translate

    def translated(self) -> str:
        masked = _masked(self.text)
        done, at = [], 0
        for run in _runs(masked):
            done.append(self._between(at, run[0].start, masked))
            done.append(self._run(run, masked))
            at = run[-1].end
        return "".join([*done, self._between(at, len(self.text), masked)])

    def _line(self, at: int) -> int:
        return self.text.count("\n", 0, at) + 1

    def _between(self, start: int, end: int, masked: str) -> str:
        """Tags and statements: their attributes that are read, and strings in statements."""
        done, at = [], start
        for found in _TAG.finditer(masked, start, end):
            done.append(self._outside(at, found.start()))
            done.append(self._tag(found.start(), found.end(), masked))
            at = found.end()
        return "".join([*done, self._outside(at, end)])

    def _outside(self, start: int, end: int) -> str:
        done, at = [], start
        for found in _JINJA.finditer(self.text, start, end):
            done.append(self.text[at : found.start()])
            done.append(self._code(found.start(), found.end()))
            at = found.end()
        return "".join([*done, self.text[at:end]])

    def _code(self, start: int, end: int) -> str:
        """An expression or a statement with the words in it."""
        code = self.text[start:end]
        if code.startswith("{#"):
            return code
        line = self._line(start)

        def counted(found: re.Match[str]) -> str:
            forms = self.translate(counted_message(found[1], found[2], line))
            return "plural(" + ", ".join(f'"{_quoted(form.removeprefix(_COUNT))}"' for form in forms) + ")"

        def string(found: re.Match[str]) -> str:
            text = found[1] if found[1] is not None else found[2]
            if not is_words(text) or _COUNTED.search(code, max(found.start() - 80, 0), found.end() + 80):
                return found[0]
            inner = text.strip()
            words = str(self.translate(Message(inner, None, line)))
            return f'"{_quoted(text.replace(inner, words, 1))}"'

        if _COUNTED.search(code):
            return _COUNTED.sub(counted, code)
        return _STRING.sub(string, code)

    def _tag(self, start: int, end: int, masked: str) -> str:
        """A tag, with words only in those of its attributes that are read."""
        done, at = [], start
        for found in _READ.finditer(masked, start, end):
            done += [self.text[at : found.start(1)], self._read(*found.span(1), masked)]
            at = found.end(1)
        return "".join([*done, self.text[at:end]])

    def _read(self, start: int, end: int, masked: str) -> str:
        done, at = [], start
        for run in _cut(_text_parts(masked, start, end)):
            done += [self._outside(at, run[0].start), self._run(run, masked)]
            at = run[-1].end
        return "".join([*done, self._outside(at, end)])

    def _run(self, run: list[_Part], masked: str) -> str:
        """A run of text, values and tags: one message where there are words in it."""
        first, last = _kernel(run, masked)
        inner = run[first:last]
        done = [self._part(part, masked) for part in run[:first]]
        if _has_words(inner, masked, top=True):
            done.append(self._message(inner, masked))
        elif _has_words(inner, masked):  # in elements side by side, each of which says something of its own
            done += [self._run(piece, masked) for piece in _elements(inner)]
        else:
            done += [self._part(part, masked) for part in inner]
        return "".join([*done, *(self._part(part, masked) for part in run[last:])])

    def _part(self, part: _Part, masked: str) -> str:
        if part.kind == "value":
            return self._code(part.start, part.end)
        if part.kind == "text":
            return self.text[part.start : part.end]
        return self._tag(part.start, part.end, masked)

    def _message(self, run: list[_Part], masked: str) -> str:
        names: dict[str, str] = {}
        opened: list[str] = []
        text = ""
        for part in run:
            own = self._part(part, masked)
            if part.kind == "text":
                text += own
            elif part.kind == "close":
                mark = f"</{opened.pop()[1:]}"
                names[mark] = own
                text += mark
            else:
                wrap = "{%s}" if part.kind == "value" else "<%s>"
                mark = _free(wrap, part.name or _name(self.text[part.start : part.end]), names)
                names[mark] = own
                text += mark
                if part.kind == "open":
                    opened.append(mark)
        kernel = " ".join(text.split())
        lead, trail = text[: len(text) - len(text.lstrip())], text[len(text.rstrip()) :]
        words = str(self.translate(Message(kernel, None, self._line(run[0].start))))
        return lead + _MARK.sub(lambda found: names.get(found[0], found[0]), words) + trail


def counted_message(one: str, many: str | None, line: int) -> Message:
    """The message of a noun that is counted (``piece`` → ``{count} piece``, ``{count} pieces``)."""
    return Message(f"{_COUNT}{one}", f"{_COUNT}{many or one + 's'}", line)


def is_words(text: str) -> bool:
    """Whether a string in an expression is read by people: a key, an address or a part of HTML is not."""
    if not re.search(r"[A-Za-z]{2}", text) or re.search(r"[=<>{}]|^[/#?&.]|/|_", text):
        return False
    return bool(re.match(r"\W*[A-Z]-?[a-z]", text) or re.search(r"\S\s+\S|^\s+[a-z]|[a-z,.:]\s+$", text))


def marks(text: str) -> list[str]:
    """What a message's words must have as well: values and tags, sorted."""
    return sorted(_MARK.findall(text))


def _masked(source: str) -> str:
    def hidden(found: re.Match[str]) -> str:
        return (_VALUE if found[0].startswith("{{") else _STATEMENT) * len(found[0])

    masked = _JINJA.sub(hidden, source)
    return _RAW.sub(lambda found: _STATEMENT * len(found[0]), masked)


def _runs(masked: str) -> Iterator[list[_Part]]:
    """Runs of text, values and inline tags: what ends one is a statement, another tag or an empty line."""
    run: list[_Part] = []
    at = 0
    for found in [*_TAG.finditer(masked), None]:
        for part in _text_parts(masked, at, found.start() if found else len(masked)):
            if part.kind == "break":
                yield from _balanced(run)
                run = []
            else:
                run.append(part)
        if found is None:
            break
        at = found.end()
        name = re.match(r"</?([A-Za-z]+)", found[0])
        if name is None or name[1].lower() not in _INLINE:
            yield from _balanced(run)
            run = []
            continue
        kind = "close" if found[0].startswith("</") else ("void" if name[1] == "br" else "open")
        run.append(_Part(kind, found.start(), found.end(), name[1].lower()))
    yield from _balanced(run)


_TEXT = re.compile(rf"{_VALUE}+|{_STATEMENT}+|\n[ \t]*\n\s*|(?:(?!\n[ \t]*\n)[^{_VALUE}{_STATEMENT}])+")


def _text_parts(masked: str, start: int, end: int) -> Iterator[_Part]:
    for found in _TEXT.finditer(masked, start, end):
        first = found[0][0]
        if first == _VALUE:
            yield _Part("value", found.start(), found.end())
        elif first == _STATEMENT or (
            not found[0].strip() and "\n" in found[0].strip(" \t") and "\n\n" in found[0]
        ):
            yield _Part("break", found.start(), found.end())
        else:
            yield _Part("text", found.start(), found.end())


def _cut(parts: Iterator[_Part]) -> Iterator[list[_Part]]:
    """Parts in runs between statements."""
    run: list[_Part] = []
    for part in parts:
        if part.kind == "break":
            if run:
                yield run
            run = []
        else:
            run.append(part)
    if run:
        yield run


def _balanced(run: list[_Part]) -> Iterator[list[_Part]]:
    """A run, apart at tags whose other half lies elsewhere."""
    opened: list[int] = []
    alone: set[int] = set()
    for place, part in enumerate(run):
        if part.kind == "open":
            opened.append(place)
        elif part.kind == "close":
            if opened and run[opened[-1]].name == part.name:
                opened.pop()
            else:
                alone.add(place)
    alone.update(opened)
    piece: list[_Part] = []
    for place, part in enumerate(run):
        if place in alone:
            if piece:
                yield piece
            piece = []
        else:
            piece.append(part)
    if piece:
        yield piece


def _kernel(run: list[_Part], masked: str) -> tuple[int, int]:
    """The part of a run that is a message: without blanks around it, and without tags around all of it."""
    first, last = 0, len(run)

    def bare(part: _Part) -> bool:
        return part.kind == "text" and not masked[part.start : part.end].strip()

    while first < last:
        if bare(run[first]):
            first += 1
        elif bare(run[last - 1]):
            last -= 1
        elif run[first].kind == "open" and _close_of(run, first, last) == last - 1:
            first, last = first + 1, last - 1
        else:
            break
    return first, last


def _has_words(run: list[_Part], masked: str, *, top: bool = False) -> bool:
    """Whether a run says anything, or anything outside its elements."""
    plain, depth = "", 0
    for part in run:
        depth += {"open": 1, "close": -1}.get(part.kind, 0)
        if part.kind == "text" and not (top and depth):
            plain += masked[part.start : part.end]
    return bool(_LETTERS.search(plain)) and not _NO_PROSE.match(plain)


def _elements(run: list[_Part]) -> Iterator[list[_Part]]:
    """A run's elements and what stands between them, one by one."""
    at = 0
    while at < len(run):
        last = _close_of(run, at, len(run)) if run[at].kind == "open" else at
        yield run[at : last + 1]
        at = last + 1


def _close_of(run: list[_Part], first: int, last: int) -> int:
    depth = 0
    for place in range(first, last):
        depth += {"open": 1, "close": -1}.get(run[place].kind, 0)
        if depth == 0:
            return place
    return -1


@cache
def _name(code: str) -> str:
    """What an expression's value is called in a message."""
    found = re.match(r"\{\{-?\s*\(?((?:[A-Za-z_]\w*\.)*)([A-Za-z_]\w*)", code)
    return found[2] if found else "words"


def _free(wrap: str, name: str, taken: dict[str, str]) -> str:
    mark, number = wrap % name, 2
    while mark in taken:
        mark, number = wrap % f"{name}{number}", number + 1
    return mark


def _quoted(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"')
