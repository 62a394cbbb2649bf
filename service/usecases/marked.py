"""The workshop's own marks in a batch: carvings of the order, drawn from what their versions were made of."""

from __future__ import annotations

from service.batches.content import CarvingContent
from service.orders.machine import Machine
from service.orders.standing_mark import StandingMark
from service.usecases.batch_drawings import drawings_of
from service.usecases.context import Context
from service.usecases.freezing import MarkedLine


def content(
    ctx: Context, order_id: str, marked: MarkedLine, model_name: str, machine: Machine
) -> CarvingContent:
    """The mark on the pieces of one line. DamagedFileError."""
    mark = marked.mark
    return CarvingContent(
        id=mark.id,
        order_id=order_id,
        line=marked.line,
        model_key=mark.model_key,
        model_name=model_name,
        slat_key=mark.slat_key,
        slat_name=slat_name(mark),
        piece=None,
        pieces=marked.pieces,
        proof_number=mark.version,
        digest=mark.digest,
        picture=mark.picture,
        check=dict(mark.check),
        waived=mark.remarks,
        artwork=None,
        drawings=next(drawings_of(ctx, [(mark.digest, slat_name(mark))], machine)),
        mark=mark.version,
    )


def slat_name(mark: StandingMark) -> str:
    """What people call the slat that a mark is on."""
    return str(mark.made_of["slat"]["name"])
