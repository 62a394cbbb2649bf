"""Addresses that open one file of one order for a while, with nothing else: for pictures on a site's own pages.

An address is signed with HMAC-SHA-256 (RFC 2104) by a key that is derived from the workshop's own, over its path, its
query, the order and the moment until which it is good. Nothing is kept, so nothing can be revoked: it is short-lived.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from dataclasses import dataclass
from datetime import UTC, datetime

PARAMETER = "signed"
"""Name of the query's parameter that holds the signature, always the last."""
_FOR = b"slatproof signed addresses 1"


@dataclass(frozen=True)
class Signed:
    """What a signature says, before it is believed."""

    order_id: str
    until: datetime
    mark: str


def key_of(signing_key: bytes) -> bytes:
    """The key for addresses, from the one that signs the workshop's batches."""
    return hmac.digest(signing_key, _FOR, hashlib.sha256)


def sign(key: bytes, address: str, order_id: str, until: datetime) -> str:
    """The address with its signature.

    Args:
        key: of the workshop.
        address: path and query.
        order_id: the order that it is a file of.
        until: to the second.
    """
    seconds = int(until.timestamp())
    join = "&" if "?" in address else "?"
    return f"{address}{join}{PARAMETER}={order_id}.{seconds}.{_mark(key, address, order_id, seconds)}"


def read(signed: str) -> Signed | None:
    """What a signature says; ``None`` for what is none."""
    order_id, _, rest = signed.partition(".")
    seconds, _, mark = rest.partition(".")
    if not (seconds.isdecimal() and len(seconds) <= 11 and mark):
        return None
    return Signed(order_id, datetime.fromtimestamp(int(seconds), UTC), mark)


def holds(key: bytes, address: str, said: Signed, now: datetime) -> bool:
    """Whether it was signed by that key for this address, and is still good."""
    right = _mark(key, address, said.order_id, int(said.until.timestamp()))
    return hmac.compare_digest(right, said.mark) and now < said.until


def bare(address: str) -> str:
    """An address without its signature, which is the last of its parameters."""
    return address.rpartition(f"{PARAMETER}=")[0].rstrip("&?")


def _mark(key: bytes, address: str, order_id: str, seconds: int) -> str:
    told = f"{address}\n{order_id}\n{seconds}".encode()
    return base64.urlsafe_b64encode(hmac.digest(key, told, hashlib.sha256)).decode().rstrip("=")
