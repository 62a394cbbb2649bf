"""Proofs made visible: pictures for pages, prints on paper, solids to turn, sections through a groove.

None of them is what people sign (that is the proof's own picture, named by its digest); each is made from
the proof's own facts when first asked for, and kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from service.orders.actors import Actor
from service.orders.errors import FieldError, InvalidError, NotFoundError
from service.orders.proofs import Proof
from service.store import art
from service.usecases import computing_views
from service.usecases.context import Context
from service.usecases.drawing import cut_from, cut_of
from service.usecases.freezing import marks_of_order
from service.usecases.looking import get_order, proofs_by_ids
from service.usecases.shop import get_model

WOODS = ("fresh", "weathered")
DENSITIES = (1, 2, 4, 8)
"""Pixels per millimetre that pictures come in."""
PARTS = ("sheet", "slat", "art")
"""All of it on paper with a scale bar; the whole slat, or what is around its art, clear where there is no wood."""
PAPERS = ("A4", "Letter")
_WAIT = 10.0


@dataclass(frozen=True)
class View:
    """How a proof is to be seen.

    Attributes:
        wood: one of :data:`WOODS`.
        density: one of :data:`DENSITIES`.
        marks: whether found places are marked.
        part: one of :data:`PARTS`; marks are drawn on the sheet alone.
    """

    wood: str = "fresh"
    density: int = 4
    marks: bool = False
    part: str = "sheet"

    @property
    def code(self) -> str:
        """Short name it is kept under (``"f4m"``)."""
        kind = ("m" if self.marks else "b") if self.part == "sheet" else self.part[0]
        return f"{self.wood[0]}{self.density}{kind}"


def proof_view(ctx: Context, actor: Actor, proof_id: str, view: View) -> bytes:
    """A picture of the proof for pages, as WebP. NotFoundError, InvalidError, TooManyError."""
    if view.wood not in WOODS or view.density not in DENSITIES or view.part not in PARTS:
        words = f"Wood: {WOODS}; pixels per mm: {DENSITIES}; part: {PARTS}."
        raise InvalidError(FieldError("", "unknown-view", words))
    return _made(ctx, _proof(ctx, actor, proof_id), view.code)


def proof_print(ctx: Context, actor: Actor, proof_id: str, paper: str) -> bytes:
    """The placed art at true size over sheets of paper, as PDF. NotFoundError, InvalidError, TooManyError."""
    if paper not in PAPERS:
        raise InvalidError(FieldError("paper", "unknown-paper", f"Ask for one of {', '.join(PAPERS)}."))
    return _made(ctx, _proof(ctx, actor, proof_id), f"pdf{paper[0]}")


def proof_solid(ctx: Context, actor: Actor, proof_id: str, wood: str = "fresh") -> bytes:
    """The carved slat as a solid to turn, as binary glTF 2.0. NotFoundError, InvalidError, TooManyError."""
    if wood not in WOODS:
        raise InvalidError(FieldError("wood", "unknown-view", f"Wood: {WOODS}."))
    return _made(ctx, _proof(ctx, actor, proof_id), f"glb{wood[0]}")


def proof_section(
    ctx: Context, actor: Actor, proof_id: str, at: tuple[float, float], turn_deg: float | None
) -> dict[str, Any]:
    """What a cross-section at a place (slat mm) looks like on the worst boards. NotFoundError, TooManyError."""
    proof = _proof(ctx, actor, proof_id)
    circumstances, placement = cut_of(proof)
    outline = ctx.blobs.get(proof.outline)
    return ctx.compute.run(
        computing_views.section, outline, circumstances, placement, at, turn_deg,
        about=proof.outline, wait=_WAIT, drawing=True,
    )  # fmt: skip


def piece_view(ctx: Context, actor: Actor, order_id: str, line_id: str, wood: str) -> bytes:
    """The whole piece of one line as WebP: every proved carving in place, the workshop's own marks too.

    NotFoundError, InvalidError, TooManyError.
    """
    if wood not in WOODS:
        raise InvalidError(FieldError("wood", "unknown-view", f"Wood: {WOODS}."))
    whole = get_order(ctx, actor, order_id)
    line = next((line for line in whole.lines if line.id == line_id), None)
    if line is None:
        raise NotFoundError("line")
    first = (None, 1)  # of pieces with texts of their own, the first stands for all
    of_line = {c.proof_id for c in whole.carvings if c.line_id == line_id and c.piece in first}
    proofs = [proof for proof in whole.proofs if proof.id in of_line]
    model = get_model(ctx, actor, line.model_key)
    own = [each.mark for each in marks_of_order(ctx, whole) if each.line == line.position]
    of_what = (
        "piece",
        whole.order.workshop_id,
        model.layout.key,
        model.revision,
        # what is cut, not for whom: orders with the same art share it
        *sorted((proof.digest, proof.picture) for proof in proofs),
        *sorted(mark.id for mark in own),
        wood,
    )
    known: bytes | None = ctx.kept.get(of_what)
    if known is None:
        cuts = [(ctx.blobs.get(proof.outline), *cut_of(proof)) for proof in proofs]
        cuts += [(ctx.blobs.get(mark.outline), *cut_from(mark.made_of)) for mark in own]
        known = ctx.compute.run(computing_views.piece, model.layout, cuts, wood, wait=_WAIT, drawing=True)
        ctx.kept.put(of_what, known)
    return known


def _proof(ctx: Context, actor: Actor, proof_id: str) -> Proof:
    proof = proofs_by_ids(ctx, actor, [proof_id])[0]
    if proof is None:
        raise NotFoundError("proof")
    return proof


def _made(ctx: Context, proof: Proof, code: str) -> bytes:
    with ctx.store.reading() as connection:
        known = art.find_drawing(connection, proof.id, code)
    if known is not None and ctx.blobs.size(known) is not None:
        return ctx.blobs.get(known)
    at, placement = cut_of(proof)
    outline = ctx.blobs.get(proof.outline)
    made = ctx.compute.run(
        computing_views.show,
        outline,
        at,
        placement,
        code,
        proof.close_up,
        about=proof.outline,
        wait=_WAIT,
        drawing=True,
    )
    digest = ctx.blobs.put(made)
    with ctx.store.writing() as connection:
        art.keep_drawing(connection, proof.id, code, digest)
    return made
