"""The batch's signature: Ed25519 (RFC 8032) over ``batch.json``, which names all other files by digest."""

from __future__ import annotations

import hashlib
import json
from base64 import b64decode, b64encode
from dataclasses import dataclass

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

ALGORITHM = "Ed25519"


@dataclass(frozen=True)
class Signature:
    """A signature as it stands in the archive.

    Attributes:
        key: the public key, 32 bytes.
        value: 64 bytes.
    """

    key: bytes
    value: bytes

    @property
    def fingerprint(self) -> str:
        """The key's SHA-256 in groups of four hex digits, to be compared by eye."""
        return fingerprint(self.key)

    def fits(self, data: bytes) -> bool:
        """Whether the holder of the key signed these bytes."""
        try:
            Ed25519PublicKey.from_public_bytes(self.key).verify(self.value, data)
        except InvalidSignature:
            return False
        return True


def public_key(private_key: bytes) -> bytes:
    """The public key of a private one, 32 bytes both."""
    return Ed25519PrivateKey.from_private_bytes(private_key).public_key().public_bytes_raw()


def fingerprint(key: bytes) -> str:
    """A public key's SHA-256, its first 32 hex digits in groups of four."""
    digest = hashlib.sha256(key).hexdigest()[:32]
    return " ".join(digest[i : i + 4] for i in range(0, 32, 4))


def sign(data: bytes, signer: Ed25519PrivateKey) -> bytes:
    """The signature file's bytes."""
    key = signer.public_key().public_bytes_raw()
    facts = {
        "algorithm": ALGORITHM,
        "fingerprint": fingerprint(key),
        "public_key": b64encode(key).decode(),
        "signature": b64encode(signer.sign(data)).decode(),
        "signs": "batch.json",
    }
    return json.dumps(facts, indent=1).encode() + b"\n"


def read_signature(data: bytes) -> Signature | None:
    """The signature in a signature file; ``None`` when it holds none."""
    try:
        facts = json.loads(data)
        if facts["algorithm"] != ALGORITHM:
            return None
        signature = Signature(
            b64decode(facts["public_key"], validate=True), b64decode(facts["signature"], validate=True)
        )
        Ed25519PublicKey.from_public_bytes(signature.key)
    except (ValueError, KeyError, TypeError):
        return None
    return signature
