"""Random secrets and their digests."""

from __future__ import annotations

import base64
import hashlib
import hmac
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


def derived_secret(mark: str, key: str, salt: str) -> str:
    """A secret that whoever knows ``key`` and ``salt`` makes again, and nobody else (RFC 2104, SHA-256)."""
    made = hmac.digest(salt.encode(), key.encode("utf-8", "surrogatepass"), hashlib.sha256)
    return mark + base64.urlsafe_b64encode(made).decode().rstrip("=")


def digest(secret: str) -> str:
    """What is stored of a secret: the SHA-256 of its UTF-8 bytes, 64 hex digits."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
