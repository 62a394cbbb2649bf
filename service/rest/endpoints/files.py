"""Files: originals, what was read, previews, drawings, archives."""

from __future__ import annotations

from service.rest.operation import Bytes, Call, Operation, tagged
from service.rest.use import Does, as_it_is
from service.usecases import looking

TAG = "Files"


def _drawing(call: Call) -> Bytes:
    form = call.path["form"]
    data, kind = looking.proof_drawing(call.ctx, call.actor, call.path["proof"], form)
    return Bytes(data, kind, f"proof-{call.path['proof']}.{form}")


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /artworks/{artwork}/original",
        "getOriginal",
        "Get a file back, byte for byte, as an attachment.",
        Does(looking.artwork_file, as_it_is),
        file=("application/octet-stream",),
    ),
    Operation(
        "GET /readings/{reading}/picture",
        "getReadingPicture",
        "Get a picture of what was read from a file.",
        Does(looking.reading_picture, as_it_is),
        file=("image/png",),
    ),
    Operation(
        "GET /proofs/{proof}/picture",
        "getProofPicture",
        "Get the preview that people sign.",
        Does(looking.proof_picture, as_it_is),
        file=("image/png",),
    ),
    Operation(
        "GET /proofs/{proof}/drawing.{form}",
        "getProofDrawing",
        "Get the placed art at true size as SVG, DXF or PDF.",
        _drawing,
        file=("image/svg+xml", "image/vnd.dxf", "application/pdf"),
    ),
    Operation(
        "GET /batches/{batch}/archive",
        "getBatchArchive",
        "Get a batch's archive.",
        Does(looking.batch_file, as_it_is),
        file=("application/zip",),
        problems=("not-ready",),
    ),
)
