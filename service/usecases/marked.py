"""The workshop's own marks in a batch: carvings of the order, drawn from what their versions were made of."""

from __future__ import annotations

from service.batches.assemble import DamagedFile
from service.batches.content import CarvingContent
from service.orders.machine import Machine
from service.store.blobs import BlobDamaged, BlobMissing
from service.usecases import computing
from service.usecases.context import Context
from service.usecases.drawing import FORMS, cut_from
from service.usecases.freezing import MarkedLine


def content(
    ctx: Context, order_id: str, marked: MarkedLine, model_name: str, machine: Machine
) -> CarvingContent:
    """The mark on the pieces of one line. DamagedFile."""
    mark = marked.mark
    return CarvingContent(
        id=mark.id,
        order_id=order_id,
        line=marked.line,
        model_key=mark.model_key,
        model_name=model_name,
        slat_key=mark.slat_key,
        slat_name=mark.made_of["slat"]["name"],
        piece=None,
        pieces=marked.pieces,
        proof_number=mark.version,
        digest=mark.digest,
        picture=mark.picture,
        check=dict(mark.check),
        waived=mark.remarks,
        artwork=None,
        drawings=_drawings(ctx, marked, machine),
        mark=mark.version,
    )


def bed_piece(ctx: Context, marked: MarkedLine) -> computing.BedPiece:
    """The mark's slats on the bed. DamagedFile."""
    mark = marked.mark
    at, placement = cut_from(mark.made_of)
    outline = read_outline(ctx, mark.id, mark.outline)
    return computing.BedPiece(outline, at, placement, marked.pieces, f"{at.slat.name}, own mark")


def read_outline(ctx: Context, of: str, digest: str) -> bytes:
    """The packed outline of a carving or mark. DamagedFile."""
    try:
        return ctx.blobs.get(digest)
    except (BlobMissing, BlobDamaged) as error:
        raise DamagedFile(f"The outline of carving {of}", digest) from error


def _drawings(ctx: Context, marked: MarkedLine, machine: Machine) -> dict[str, str]:
    mark = marked.mark
    at, placement = cut_from(mark.made_of)
    outline = read_outline(ctx, mark.id, mark.outline)
    made = {
        form: ctx.compute.run(
            computing.draw, outline, at, placement, form, machine, about=mark.outline, wait=None
        )
        for form in FORMS
    }
    return {form: ctx.blobs.put(drawing) for form, drawing in made.items()}
