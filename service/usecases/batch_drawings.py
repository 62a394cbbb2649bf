"""The drawings of many proofs, from the bytes that their digests name: some at a time, side by side.

Nothing that was drawn before is taken: what leaves, and what a release says will leave, is drawn of what was
signed, each time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.batches.drawn import DrawnProof
from service.batches.errors import DamagedFileError
from service.orders.machine import Machine
from service.store.blobs import BlobDamagedError, BlobMissingError
from service.usecases import computing
from service.usecases.context import Context

_AT_ONCE = 10
"""Proofs drawn by one computation."""

Drawings = dict[str, bytes]
"""File ending → a proof's drawing."""


def drawings_of(ctx: Context, proofs: Sequence[tuple[str, str]], machine: Machine) -> Iterator[Drawings]:
    """The drawings of each proof (digest and slat name), in their order. DamagedFileError, EngineError."""
    parts = (proofs[first : first + _AT_ONCE] for first in range(0, len(proofs), _AT_ONCE))
    calls = (([drawn_proof(ctx, *proof) for proof in part], machine) for part in parts)
    for made in ctx.compute.run_each(computing.draw_each, calls):
        yield from made


def drawn_proof(ctx: Context, digest: str, slat_name: str) -> DrawnProof:
    """A proof as it is drawn: its facts are the bytes of that digest. DamagedFileError."""
    try:
        return DrawnProof(ctx.blobs.get(digest), slat_name)
    except (BlobMissingError, BlobDamagedError) as error:
        raise DamagedFileError(f"The proof of {slat_name}", digest) from error
