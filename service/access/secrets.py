"""Random secrets and their digests."""

from __future__ import annotations

import hashlib
import secrets

LINK = "splink_"
TOKEN = "sptoken_"  # noqa: S105 - the mark in front of a token, not a token
SESSION = "spsession_"
PASSWORD_LINK = "sppass_"  # noqa: S105 - as above
_BYTES = 32  # 256 bits


def new_secret(mark: str) -> str:
    """A fresh secret of 256 random bits after ``mark``, so that a leaked one can be recognised by
    scanners.
    """
    return mark + secrets.token_urlsafe(_BYTES)


def digest(secret: str) -> str:
    """What is stored of a secret: the SHA-256 of its UTF-8 bytes, 64 hex digits."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
