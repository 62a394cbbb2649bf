"""Proofs made visible: pictures for pages, prints on paper, solids to turn, sections."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from service.rest.operation import Answer, Bytes, Call, Operation, tagged
from service.rest.requests.base import Ask, Millimetres
from service.rest.responses.showing import SectionBody, section_body
from service.usecases import showing
from service.usecases.showing import View

TAG = "Files"
Wood = Annotated[Literal["fresh", "weathered"], Field(description="from the shop, or after a year outdoors")]


class ViewQuery(Ask):
    """How a proof is to be seen."""

    wood: Wood = "fresh"
    density: Annotated[Literal["1", "2", "4", "8"], Field(description="pixels per millimetre")] = "4"
    marks: Annotated[bool, Field(description="mark the found places")] = False
    part: Annotated[
        Literal["sheet", "slat", "art"],
        Field(
            description="on paper with a scale bar; the slat alone; the proof's `close_up`. Only the sheet has marks"
        ),
    ] = "sheet"


class WoodQuery(Ask):
    """Which wood."""

    wood: Wood = "fresh"


class PieceQuery(Ask):
    """Which wood; `of` is ignored: let it change with the proofs, so that a browser asks again."""

    wood: Wood = "fresh"
    of: Annotated[str, Field(max_length=500)] = ""


class PaperQuery(Ask):
    """Which paper to print on."""

    paper: Literal["A4", "Letter"] = "A4"


class SectionQuery(Ask):
    """Where to look at the groove, slat mm; straight across the line there unless a direction is given."""

    x: Millimetres
    y: Millimetres
    turn_deg: Annotated[float | None, Field(ge=-360, le=360, allow_inf_nan=False)] = None


def _view(call: Call) -> Bytes:
    query = call.query
    view = View(query.wood, int(query.density), query.marks, query.part)
    made = showing.proof_view(call.ctx, call.actor, call.path["proof"], view)
    return Bytes(made, "image/webp", f"proof-{call.path['proof']}.webp", lasting=True)


def _print(call: Call) -> Bytes:
    made = showing.proof_print(call.ctx, call.actor, call.path["proof"], call.query.paper)
    return Bytes(made, "application/pdf", f"true-size-{call.query.paper}.pdf", lasting=True)


def _solid(call: Call) -> Bytes:
    made = showing.proof_solid(call.ctx, call.actor, call.path["proof"], call.query.wood)
    return Bytes(made, "model/gltf-binary", f"proof-{call.path['proof']}.glb", lasting=True)


def _section(call: Call) -> Answer[SectionBody]:
    query = call.query
    found = showing.proof_section(
        call.ctx, call.actor, call.path["proof"], (query.x, query.y), query.turn_deg
    )
    return Answer(section_body(found))


def _piece(call: Call) -> Bytes:
    made = showing.piece_view(call.ctx, call.actor, call.path["order"], call.path["line"], call.query.wood)
    return Bytes(made, "image/webp", f"piece-{call.path['line']}.webp")


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /proofs/{proof}/view.webp",
        "getProofView",
        "Get a small picture of a proof, for pages.",
        _view,
        query=ViewQuery,
        file=("image/webp",),
        more="Drawn from the same relief as the picture that people sign, which stays the one they sign.",
    ),
    Operation(
        "GET /proofs/{proof}/print.pdf",
        "getProofPrint",
        "Get the placed art at true size over sheets of paper, with a bar to check the print by.",
        _print,
        query=PaperQuery,
        file=("application/pdf",),
    ),
    Operation(
        "GET /proofs/{proof}/solid.glb",
        "getProofSolid",
        "Get the carved slat as a solid to turn (binary glTF 2.0, metres).",
        _solid,
        query=WoodQuery,
        file=("model/gltf-binary",),
    ),
    Operation(
        "GET /proofs/{proof}/section",
        "getProofSection",
        "Get the cross-section at a place, on an even, a low and a high board.",
        _section,
        query=SectionQuery,
    ),
    Operation(
        "GET /orders/{order}/lines/{line}/piece.webp",
        "getPieceView",
        "Get a picture of the whole piece with every proved carving in its place.",
        _piece,
        query=PieceQuery,
        file=("image/webp",),
        more="The workshop's own marks are in it: those of the release, before it those of today.",
    ),
)
