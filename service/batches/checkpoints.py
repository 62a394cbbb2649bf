"""Checkpoints of the record, signed with the workshop's key (Ed25519, RFC 8032) and kept outside the database."""

from __future__ import annotations

import json
from base64 import b64decode, b64encode
from dataclasses import asdict, dataclass

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from service.batches.signing import Signature
from service.orders.record import Checkpoint


@dataclass(frozen=True)
class SignedCheckpoint:
    """A checkpoint, and who signed it.

    Attributes:
        key: the workshop's public key, base64.
        signature: over the RFC 8785 canonical JSON of the checkpoint, base64.
    """

    checkpoint: Checkpoint
    key: str
    signature: str

    @property
    def line(self) -> str:
        """One line of JSON, as it is kept."""
        return json.dumps({**asdict(self.checkpoint), "key": self.key, "signature": self.signature})


class BadCheckpointError(ValueError):
    """A kept line is no checkpoint, or was changed since it was signed."""


def sign_checkpoint(checkpoint: Checkpoint, private_key: bytes) -> SignedCheckpoint:
    """Sign one with the workshop's private key, 32 bytes."""
    signer = Ed25519PrivateKey.from_private_bytes(private_key)
    key = signer.public_key().public_bytes_raw()
    signature = signer.sign(rfc8785.dumps(asdict(checkpoint)))
    return SignedCheckpoint(checkpoint, b64encode(key).decode(), b64encode(signature).decode())


def read_checkpoint(line: str) -> SignedCheckpoint:
    """A kept line back. Raises BadCheckpointError."""
    try:
        facts = json.loads(line)
        checkpoint = Checkpoint(str(facts["workshop"]), int(facts["number"]), str(facts["this"]))
        signature = Signature(b64decode(facts["key"]), b64decode(facts["signature"]))
        fits = signature.fits(rfc8785.dumps(asdict(checkpoint)))
    except (ValueError, KeyError, TypeError) as error:
        raise BadCheckpointError("this line is no checkpoint of ours") from error
    if not fits:
        raise BadCheckpointError("this line was changed: it no longer fits its signature")
    return SignedCheckpoint(checkpoint, facts["key"], facts["signature"])
