"""Passwords: argon2id, a few at a time, and what a new one must be."""

from __future__ import annotations

import gzip
import re
import string
from collections.abc import Container, Iterator
from contextlib import contextmanager
from functools import cache
from importlib.resources import files
from threading import BoundedSemaphore

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from service.orders.limits import LONGEST_PASSWORD

LEAST_LENGTH = 12
_AT_ONCE = 2  # 64 MiB and about 140 ms each
_WAIT_SECONDS = 5.0

_hasher = PasswordHasher()  # argon2-cffi's defaults: RFC 9106's low-memory choice
_slots = BoundedSemaphore(_AT_ONCE)


@cache
def _nobody() -> str:
    """Verified against when there is no such account, so that both answers take the same time.

    Made before the first password is looked at, whosever it is: a process that starts need not wait for it.
    """
    return _hasher.hash("the password of nobody")


class BusyError(Exception):
    """Too many passwords are being checked at this moment; try again in a few seconds."""


@contextmanager
def _slot() -> Iterator[None]:
    if not _slots.acquire(timeout=_WAIT_SECONDS):
        raise BusyError
    try:
        yield
    finally:
        _slots.release()


def hash_password(password: str) -> str:
    """The argon2id hash to store. Takes about 140 ms; call it outside a transaction.

    Raises:
        Busy: no slot became free in time.
    """
    with _slot():
        return _hasher.hash(password)


def verify_password(stored: str | None, password: str) -> bool:
    """Whether ``password`` belongs to ``stored``; ``None`` (no such account) takes as long and is never
    right.

    Raises:
        Busy: no slot became free in time.
    """
    nobody = _nobody()
    with _slot():
        try:
            return _hasher.verify(stored or nobody, password) and stored is not None
        except (VerificationError, InvalidHashError):
            return False


def is_outdated(stored: str) -> bool:
    """Whether ``stored`` was made with weaker parameters than today's and should be made again at sign-in."""
    return _hasher.check_needs_rehash(stored)


def problem_with(  # noqa: PLR0911 - one return a row
    password: str, email: str, name: str, breached: Container[str] = ()
) -> str | None:
    """Why a new password will not do, in one sentence; ``None`` when it will.

    Length and not being one's own name are asked, no mixture of signs (NIST SP 800-63B §5.1.1.2); and that it is
    not among the ``breached`` ones.
    """
    if len(password) < LEAST_LENGTH:
        return f"Use at least {LEAST_LENGTH} characters; a short sentence is easy to remember."
    if len(password) > LONGEST_PASSWORD:
        return f"Use at most {LONGEST_PASSWORD} characters."
    plain = password.casefold()
    if len(set(plain)) < 5:
        return "Use more different characters."
    if plain in {part.casefold() for part in (email, email.split("@", maxsplit=1)[0], name)}:
        return "Use something other than your own name or address."
    if is_common(plain):
        return "That password is on every list of common ones; use a short sentence of your own."
    if password in breached:
        return "That password is known from a breach of another site; use a short sentence of your own."
    return None


def is_common(password: str) -> bool:
    """Whether a password is among the 40,000 that are tried first: as it is, with figures and signs around
    it, or said several times over.

    Few of those have the length asked for (OWASP ASVS 5.0.0, 6.2.4), but most that people lengthen are one
    of these with something simple done to it.
    """
    plain = password.casefold()
    bare = {plain, plain.strip(_SIGNS), plain.strip(_SIGNS + string.digits)}
    said = {again[1] for each in bare if (again := _REPEATED.fullmatch(each))}
    return not (bare | said | {unit.strip(_SIGNS) for unit in said}).isdisjoint(_common())


@cache
def _common() -> frozenset[str]:
    packed = files("service.access").joinpath("common_passwords.txt.gz").read_bytes()
    return _OURS | frozenset(gzip.decompress(packed).decode().split("\n")) - {""}


_SIGNS = string.punctuation + " "
_REPEATED = re.compile(r"(.+?)\1+")
# What anybody would try here, and what everybody has read of (common practice, no source).
_OURS = frozenset(
    {
        "slatproof", "workshop", "slats", "123456789012", "1234567890123", "qwertyuiopas",
        "correct horse battery staple", "correcthorsebatterystaple",
    }
)  # fmt: skip
