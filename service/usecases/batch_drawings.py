"""The drawings of a whole order: some proofs at a time, side by side, each in every form."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.orders.machine import Machine
from service.orders.proofs import Proof
from service.store import art
from service.usecases import computing
from service.usecases.context import Context
from service.usecases.drawing import FORMS, cut_of
from service.usecases.marked import read_outline
from service.usecases.naming import name_blobs, put_all

_AT_ONCE = 10
"""Proofs drawn by one computation, and kept in one transaction."""

Digests = dict[str, str]
"""Form → digest of a proof's drawing."""


def drawings_of(ctx: Context, proofs: Sequence[Proof], machine: Machine) -> Iterator[Digests]:
    """The drawings of each proof, in their order; those made before are not made again. DamagedFile, Refusal."""
    parts = [proofs[first : first + _AT_ONCE] for first in range(0, len(proofs), _AT_ONCE)]
    known = [_known(ctx, part, machine) for part in parts]
    lacking = [any(len(made) < len(FORMS) for made in before) for before in known]
    calls = (
        ([_piece(ctx, each, made) for each, made in zip(part, before, strict=True)], machine)
        for part, before, lacks in zip(parts, known, lacking, strict=True)
        if lacks
    )
    drawn = ctx.compute.run_each(computing.draw_each, calls)
    for part, before, lacks in zip(parts, known, lacking, strict=True):
        if lacks:
            _keep(ctx, part, machine, before, next(drawn))
        yield from before


def _known(ctx: Context, proofs: Sequence[Proof], machine: Machine) -> list[Digests]:
    """What was drawn before and is still there."""
    with ctx.store.reading() as connection:
        found = art.drawings_of_proofs(connection, [proof.id for proof in proofs])
    codes = {form: f"{form}{machine.drawing_code}" for form in FORMS}
    return [
        {
            form: digest
            for form, code in codes.items()
            if (digest := found.get((proof.id, code))) is not None and ctx.blobs.size(digest) is not None
        }
        for proof in proofs
    ]


def _piece(ctx: Context, proof: Proof, made: Digests) -> tuple[Any, ...]:
    """What :func:`service.usecases.computing.draw_each` is told of one proof. DamagedFile."""
    outline = read_outline(ctx, proof.carving_id, proof.outline)
    return (outline, *cut_of(proof), tuple(form for form in FORMS if form not in made))


def _keep(
    ctx: Context,
    proofs: Sequence[Proof],
    machine: Machine,
    known: Sequence[Digests],
    drawn: Sequence[Mapping[str, bytes]],
) -> None:
    """Keep what was drawn, and add it to what is known."""
    kept = put_all(ctx, (data for made in drawn for data in made.values()))
    with ctx.store.writing() as connection:
        name_blobs(ctx, connection, *((digest, data) for data, digest in kept.items()))
        for proof, made, forms in zip(proofs, known, drawn, strict=True):
            for form, data in forms.items():
                made[form] = kept[data]
                art.keep_drawing(connection, proof.id, f"{form}{machine.drawing_code}", made[form])
