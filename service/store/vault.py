"""Keys sealed by a key of their own, which lies outside the database: who copies the one without the other has none.

AES-SIV (RFC 5297), each value bound to whose it is. Without a key file, keys are kept as they are.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from pathlib import Path

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESSIV
from cryptography.hazmat.primitives.hashes import SHA512
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from sqlalchemy import Connection

LEAST_BYTES = 32
OPTION = "slatproof_vault"
"""Name of the connection's option that holds the vault."""


class SealedError(Exception):
    """What is sealed cannot be opened with the key at hand, or there is none."""

    def __init__(self) -> None:
        super().__init__(
            "The keys in this database are sealed, and the key that opens them is not at hand: set "
            "SLATPROOF_KEY_FILE to the file that they were sealed with."
        )


@dataclass(frozen=True)
class Vault:
    """Seals and opens.

    Attributes:
        key: 64 bytes; none: nothing is sealed, and what is stays shut.
    """

    key: bytes = b""

    @classmethod
    def of(cls, path: Path | None) -> Vault:
        """With what a file holds, at least 32 bytes. OSError; ValueError where it is shorter."""
        if path is None:
            return cls()
        secret = path.read_bytes()
        if (
            secret.isascii()
        ):  # typed or printed, so the end of its line is no part of it; random bytes all are
            secret = secret.strip()
        if len(secret) < LEAST_BYTES:
            raise ValueError(
                f"{path} holds {len(secret)} bytes; a key takes {LEAST_BYTES} random ones or more"
            )
        return cls(HKDF(SHA512(), 64, None, b"slatproof keys at rest").derive(secret))

    def seal(self, plain: bytes, whose: str) -> str | None:
        """The value sealed, as text; ``None`` where there is no key."""
        if not self.key:
            return None
        return base64.urlsafe_b64encode(AESSIV(self.key).encrypt(plain, [whose.encode()])).decode()

    def open(self, sealed: str, whose: str) -> bytes:
        """The value again. SealedError."""
        if not self.key:
            raise SealedError
        try:
            return AESSIV(self.key).decrypt(base64.urlsafe_b64decode(sealed), [whose.encode()])
        except (InvalidTag, ValueError):
            raise SealedError from None


OPEN = Vault()
"""Without a key: what is kept is kept as it is."""


def vault_of(connection: Connection) -> Vault:
    """The vault that a connection came with."""
    vault: Vault = connection.get_execution_options().get(OPTION, OPEN)
    return vault
