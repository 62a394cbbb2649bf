"""Passwords known from breaches, looked up in a file that the installation's owner keeps: no other host is asked."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

_DIGITS = 40
_LONGEST_LINE = 128


class BadListError(ValueError):
    """The file is not what it has to be; says what it has to be."""


@dataclass(frozen=True)
class BreachedList:
    """A file of SHA-1 digests, forty upper-case hex digits at the start of each line, sorted.

    What follows the digits on a line (a count, after a colon) is passed over. The file may be of any size: a
    look-up reads some forty short pieces of it.
    """

    path: Path

    def check(self) -> None:
        """See that the file can be read and begins as it must. BadListError."""
        try:
            with self.path.open("rb") as file:
                lines = [file.readline(_LONGEST_LINE) for _ in range(2)]
        except OSError as error:
            raise BadListError(f"BREACHED_PASSWORDS: {self.path} cannot be read: {error.strerror}") from None
        digests = [_digest_of(line) or b"" for line in lines if line]
        if not digests or b"" in digests or digests != sorted(digests):
            raise BadListError(
                f"BREACHED_PASSWORDS: each line of {self.path} must begin with the forty upper-case hex digits of a "
                "SHA-1, in sorted order"
            )

    def __contains__(self, password: object) -> bool:
        """Whether the password is known. OSError where the file is gone."""
        wanted = hashlib.sha1(str(password).encode(), usedforsecurity=False).hexdigest().upper().encode()
        with self.path.open("rb") as file:
            low, high = 0, os.fstat(file.fileno()).st_size
            while low < high:
                middle = (low + high) // 2
                found = _digest_of(_line_after(file, middle))
                if found == wanted:
                    return True
                if found is None or found > wanted:
                    high = middle
                else:
                    low = middle + 1
            file.seek(0)
            return _digest_of(file.readline(_LONGEST_LINE)) == wanted


def _line_after(file: BinaryIO, position: int) -> bytes:
    """The first line that begins after a position; empty at the end."""
    file.seek(position)
    file.readline(_LONGEST_LINE)
    return file.readline(_LONGEST_LINE)


def _digest_of(line: bytes) -> bytes | None:
    digits = line[:_DIGITS]
    if len(digits) < _DIGITS or digits.strip(b"0123456789ABCDEF"):
        return None
    return digits
