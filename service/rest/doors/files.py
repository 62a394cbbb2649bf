"""Files: originals, what was read, previews, drawings, archives."""

from __future__ import annotations

from service.rest.operation import Bytes, Call, Operation
from service.usecases import looking
from service.usecases.answers import BlobFile

TAG = "Files"


def _original(call: Call) -> BlobFile:
    return looking.artwork_file(call.ctx, call.actor, call.path["artwork"])


def _reading(call: Call) -> BlobFile:
    return looking.reading_picture(call.ctx, call.actor, call.path["reading"])


def _proof(call: Call) -> BlobFile:
    return looking.proof_picture(call.ctx, call.actor, call.path["proof"])


def _drawing(call: Call) -> Bytes:
    form = call.path["form"]
    data, kind = looking.proof_drawing(call.ctx, call.actor, call.path["proof"], form)
    return Bytes(data, kind, f"proof-{call.path['proof']}.{form}")


def _archive(call: Call) -> BlobFile:
    return looking.batch_file(call.ctx, call.actor, call.path["batch"])


OPERATIONS = (
    Operation(
        "GET",
        "/artworks/{artwork}/original",
        "getOriginal",
        "Get a file back, byte for byte, as an attachment.",
        TAG,
        _original,
        file=("application/octet-stream",),
    ),
    Operation(
        "GET",
        "/readings/{reading}/picture",
        "getReadingPicture",
        "Get a picture of what was read from a file.",
        TAG,
        _reading,
        file=("image/png",),
    ),
    Operation(
        "GET",
        "/proofs/{proof}/picture",
        "getProofPicture",
        "Get the preview that people sign.",
        TAG,
        _proof,
        file=("image/png",),
    ),
    Operation(
        "GET",
        "/proofs/{proof}/drawing.{form}",
        "getProofDrawing",
        "Get the placed art at true size as SVG, DXF or PDF.",
        TAG,
        _drawing,
        file=("image/svg+xml", "image/vnd.dxf", "application/pdf"),
    ),
    Operation(
        "GET",
        "/batches/{batch}/archive",
        "getBatchArchive",
        "Get a batch's archive.",
        TAG,
        _archive,
        file=("application/zip",),
        problems=("not-ready",),
    ),
)
