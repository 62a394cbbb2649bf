"""Names that cannot be guessed."""

from __future__ import annotations

import base64
import re
import secrets
from collections.abc import Iterable

ID_BITS = 128
ID_PATTERN = r"^[a-z2-7]{26}$"
KEY_PATTERN = r"^[a-z0-9][a-z0-9-]{0,62}$"
"""Of what a workshop names itself: models, slats, bits."""
_ID = re.compile(r"[a-z2-7]{26}")


def new_id() -> str:
    """128 random bits in lower-case base32 without padding: 26 characters."""
    return base64.b32encode(secrets.token_bytes(ID_BITS // 8)).decode().rstrip("=").lower()


def is_id(text: str) -> bool:
    """Whether ``text`` could be one of our ids; what could not is looked for nowhere."""
    return _ID.fullmatch(text) is not None


def ids_among(texts: Iterable[str]) -> list[str]:
    """Those of the texts that could be ids."""
    return list(filter(_ID.fullmatch, texts))
