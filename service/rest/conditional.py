"""Entity tags, preconditions and ranges (RFC 9110 §8.8.3, §13, §14)."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass

_TAG = re.compile(r'(?:W/)?"([\x21\x23-\x7e\x80-\xff]*)"')
_REVISION = re.compile(r'"(\d{1,9})(?:\.([0-9a-f]{16})\.([0-9a-f]{12}))?"')
_RANGE = re.compile(r"bytes=(\d*)-(\d*)")


NEVER = -1
"""No revision has this number: what names it is stale."""


class NoPreconditionError(Exception):
    """``If-Match`` is missing, or is a star: 'whatever it is now', about which nobody may decide unseen."""


class BadPreconditionError(Exception):
    """``If-Match`` is not one entity tag."""


class NoSuchRangeError(Exception):
    """The part asked for lies outside the file."""


@dataclass(frozen=True)
class Span:
    """Bytes from ``start`` up to ``stop``."""

    start: int
    stop: int


def revision_tag(revision: int, body: bytes, of: str) -> str:
    """A strong tag for something that changes: its revision, what tells this very body from others, and whose it is.

    Args:
        of: names the resource (``"order fslm…"``): a tag of one is no tag of another.
    """
    told = hashlib.sha256(body).hexdigest()[:16]
    return f'"{revision}.{told}.{_mark(revision, told, of)}"'


def _mark(revision: int, told: str, of: str) -> str:
    return hashlib.sha256(f"{of} {revision} {told}".encode()).hexdigest()[:12]


def body_tag(body: bytes) -> str:
    """A strong tag for something without a revision."""
    return f'"{hashlib.sha256(body).hexdigest()[:32]}"'


def expected_revision(if_match: str | None, of: str | None) -> int:
    """The revision named by ``If-Match``: a tag as it was given, or the bare revision in quotes.

    All of a tag is compared: one that is well formed but was not given for this resource, or is weak, matches
    nothing (RFC 9110 §13.1.1): ``NEVER``. What background work finds out changes the body and so the tag, and no
    revision: a tag of before it still names the revision that is expected.

    Args:
        if_match: the header.
        of: names the resource; ``None`` where the address does not say which it is.

    Raises:
        NoPreconditionError: nothing or ``*`` was sent.
        BadPreconditionError: it is not one tag in quotes.
    """
    sent = (if_match or "").strip()
    if sent in {"", "*"}:
        raise NoPreconditionError
    found = _REVISION.fullmatch(sent)
    if found:
        revision, told, mark = found.groups()
        good = told is None or of is None or mark == _mark(int(revision), told, of)
        return int(revision) if good else NEVER
    if _TAG.fullmatch(sent):
        return NEVER
    raise BadPreconditionError('If-Match takes one ETag as it was given, in quotes, like "3"')


def unchanged(if_none_match: str | None, tag: str) -> bool:
    """Whether the one asking already has what ``tag`` names (weak comparison, as for GET)."""
    if if_none_match is None:
        return False
    if if_none_match.strip() == "*":
        return True
    return tag.strip('"') in _TAG.findall(if_none_match)


def span_of(header: str | None, size: int, if_range: str | None, tag: str) -> Span | None:
    """The one part asked for, ``None`` for the whole file.

    Several parts at once, other units and malformed headers are ignored, as RFC 9110 §14.2 allows.

    Raises:
        NoSuchRangeError: the part lies outside the file.
    """
    found = _RANGE.fullmatch(header.strip()) if header else None
    if found is None or (if_range is not None and if_range.strip() != tag):
        return None
    first, last = found.groups()
    if not first and not last:
        return None
    if not first:
        if int(last) == 0:
            raise NoSuchRangeError
        return Span(max(0, size - int(last)), size)
    start = int(first)
    if last and int(last) < start:
        return None
    if start >= size:
        raise NoSuchRangeError
    return Span(start, min(size, int(last) + 1) if last else size)
