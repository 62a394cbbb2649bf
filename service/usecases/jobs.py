"""Bodies of the background work. Each may be run again after a crash: what is done is not done twice."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.usecases.context import Context


def read_artwork_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Read a file, lay it on the carvings that wait for it, and ask for their proofs."""
    raise NotImplementedError


def prove_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Check the carving's cut and draw it: a new proof, unless the carving has changed since."""
    raise NotImplementedError


def batch_job(ctx: Context, payload: Mapping[str, Any]) -> None:
    """Assemble a batch's archive from released proofs."""
    raise NotImplementedError


def fail_job(ctx: Context, payload: Mapping[str, Any], message: str) -> None:
    """The work was given up after too many tries: say so where people look."""
    raise NotImplementedError
