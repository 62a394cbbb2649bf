"""From a carving that waits to its proof: judged outside of transactions, stored in one if nothing has changed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from artwork import ENGINE_VERSION
from artwork.cut import Placement
from artwork.errors import EngineError
from artwork.jsonable import allowances_to_json, bit_to_json, placement_to_json, slat_to_json
from service.metering import REFUSALS
from service.orders import file_remarks
from service.orders.actors import System
from service.orders.artworks import StoredReading
from service.orders.cuts import Circumstances, basis_of, circumstances
from service.orders.errors import ConflictError
from service.orders.ids import new_id
from service.orders.order import Carving, Line, Trouble
from service.orders.proofs import Proof
from service.orders.states import CarvingState, OrderState
from service.orders.work import JobKind
from service.orders.workshop import Settings
from service.store import art, orders, shop
from service.store.tenant_scope import TenantScope
from service.usecases import computing, patience
from service.usecases.blob_refs import add_blob_refs
from service.usecases.computing import JudgedCut
from service.usecases.context import Context
from service.usecases.opened import OpenOrder, open_carving
from service.usecases.payloads import WHENCE
from service.usecases.progress import Progress
from service.usecases.version_work import ask_versions

OPEN = frozenset({OrderState.DRAFT, OrderState.SUBMITTED})


def make_proof(ctx: Context, payload: Mapping[str, Any], progress: Progress) -> None:
    """The body of :func:`service.usecases.jobs.prove_job`."""
    hand = _cut_in_hand(ctx, payload)
    if hand is None:
        return  # overtaken
    try:
        at = circumstances(hand.carving, hand.line, hand.settings)
        placement = hand.carving.placement
        outline = ctx.blobs.get(hand.outline)
        if placement is None:
            progress.say("placing", 0.1)
            placement = hand.beside_pair(at) or ctx.compute.run(
                computing.lay, outline, at, about=hand.outline
            )
        progress.say("checking", 0.2)
        judged = ctx.compute.run(
            computing.judge,
            outline,
            at,
            placement,
            True,
            about=hand.outline,
            **patience.of_try(payload),
        )
    except (EngineError, ConflictError) as error:
        if isinstance(error, EngineError) and patience.is_to_be_tried_longer(payload, error):
            spent = patience.try_longer(ctx, JobKind.PROVE, payload, hand.carving.order_id)
            if spent is None:
                return
            error = spent
        _refuse_cut(ctx, payload, trouble_of(error))
        return
    progress.say("keeping", 0.9)
    ctx.blobs.put(judged.facts)
    picture = ctx.blobs.put(judged.picture)
    _keep_proof(ctx, payload, Proved(at, placement, judged, picture, hand.carving.reading_id))


@dataclass(frozen=True)
class _Hand:
    """A carving that waits for its proof, as it stood when work on it began."""

    carving: Carving
    line: Line
    settings: Settings
    outline: str
    siblings: tuple[Carving, ...] = ()

    def beside_pair(self, at: Circumstances) -> Placement | None:
        """Where the same art lies on the slat that is this one's mirror image, mirrored; ``None`` for nowhere yet."""
        from artwork.placing import mirrored_place

        model = self.settings.model(self.line.model_key)
        twin = None if model is None else model.layout.mirror_of(self.carving.slat_key)
        if model is None or twin is None:
            return None
        for other in self.siblings:
            alike = (other.line_id, other.piece, other.outline) == (
                self.line.id,
                self.carving.piece,
                self.outline,
            )
            if alike and other.slat_key == twin.slat.key and other.placement is not None:
                return mirrored_place(other.placement, twin.slat, at.slat)
        return None


@dataclass(frozen=True)
class Proved:
    """What came of judging a carving's cut.

    Attributes:
        picture: its digest.
        reading: id of the reading that the cut's art is from, ``None`` for art that is no file's.
    """

    at: Circumstances
    placement: Placement
    judged: JudgedCut
    picture: str
    reading: str | None


def _cut_in_hand(ctx: Context, payload: Mapping[str, Any]) -> _Hand | None:
    reach = TenantScope(payload["workshop"])
    with ctx.store.reading() as connection:
        found = orders.carvings_by_ids(connection, reach, [payload["subject"]])
        if not found or not still_waits(found[0], payload) or found[0].outline is None:
            return None
        lines = orders.lines_of_orders(connection, reach, [found[0].order_id])
        siblings = orders.carvings_of_orders(connection, reach, [found[0].order_id])
        settings = shop.read_settings(connection, payload["workshop"])
    line = next(line for line in lines if line.id == found[0].line_id)
    return _Hand(found[0], line, settings, found[0].outline, tuple(siblings))


def still_waits(carving: Carving, payload: Mapping[str, Any]) -> bool:
    """Whether nobody has changed the carving since its proof was asked for."""
    return carving.state is CarvingState.CHECKING and carving.revision == payload["revision"]


def _keep_proof(ctx: Context, payload: Mapping[str, Any], proved: Proved) -> None:
    with _waiting_carving(ctx, payload) as (opened, carving):
        if carving is None:
            return
        line = opened.lines[carving.line_id]
        basis = basis_of(proved.at)
        if basis != basis_of(circumstances(carving, line, opened.settings)):
            opened.ask(JobKind.PROVE, carving.id, revision=carving.revision)
            return
        proof = store_proof(opened, carving, line, proved)
        ask_versions(opened, carving, proof, payload.get(WHENCE, ""))


def store_proof(opened: OpenOrder, carving: Carving, line: Line, proved: Proved) -> Proof:
    """A carving that is being checked has its proof; its outline is stored with the carving already."""
    judged = proved.judged
    made = (judged.digest, judged.facts), (proved.picture, judged.picture)
    add_blob_refs(opened.ctx, opened.connection, *made)
    proof = _proof(opened, carving, line, basis_of(proved.at), proved)
    art.insert_proof(opened.connection, opened.order.workshop_id, proof)
    changes = {"placement": proved.placement, "proof_id": proof.id, "verdict": proof.verdict}
    opened.move_carving(carving, "prove", kept=(), **changes)
    return proof


def _proof(opened: OpenOrder, carving: Carving, line: Line, basis: str, proved: Proved) -> Proof:
    judged = proved.judged
    of_file = file_remarks.of_reading(_reading(opened, proved.reading))
    return Proof(
        id=new_id(),
        order_id=carving.order_id,
        carving_id=carving.id,
        number=art.next_proof_number(opened.connection, carving.id),
        digest=judged.digest,
        basis=basis,
        facts={
            "engine": ENGINE_VERSION,
            "slat": slat_to_json(proved.at.slat),
            "bit": bit_to_json(proved.at.bit),
            "allowances": allowances_to_json(proved.at.allowances),
            "placement": placement_to_json(proved.placement),
            file_remarks.FACT: of_file,
        },
        outline=carving.outline or "",
        picture=proved.picture,
        pieces=line.quantity if carving.piece is None else 1,
        verdict=judged.verdict,
        sentence=judged.sentence,
        check=judged.check,
        remarks=(*judged.remarks, *of_file),
        waived=(),
        signed_at=None,
        judged_at=None,
        stale_because="",
        made_at=opened.now,
    )


def _reading(opened: OpenOrder, reading_id: str | None) -> StoredReading | None:
    if reading_id is None:
        return None
    found = art.readings_by_ids(opened.connection, opened.reach, [reading_id])
    return found[0] if found else None


def _refuse_cut(ctx: Context, payload: Mapping[str, Any], trouble: Trouble) -> None:
    with _waiting_carving(ctx, payload) as (opened, carving):
        if carving is not None:
            opened.refuse(carving, trouble)


@contextmanager
def _waiting_carving(ctx: Context, payload: Mapping[str, Any]) -> Iterator[tuple[OpenOrder, Carving | None]]:
    """The carving a proof is for, in hand; ``None`` when it has moved on."""
    with open_carving(ctx, System(payload["workshop"]), payload["subject"], "prove") as (opened, carving):
        wanted = still_waits(carving, payload) and opened.order.state in OPEN
        yield opened, carving if wanted else None


def trouble_of(error: EngineError | ConflictError) -> Trouble:
    """What is told about a carving that goes no further."""
    REFUSALS.labels("work", error.code).inc()
    if isinstance(error, EngineError):
        return Trouble(error.code, error.message, error.cure)
    return Trouble(error.code, error.message, "")
