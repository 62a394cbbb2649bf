"""Versions of a drawing that carve: what there is.

They are worked out in the background (``version_work``), kept once for the same cut, and never while anybody waits
for a page. Which of them is carved is chosen in ``choosing``.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

from service.access import rate_limit
from service.orders.actors import Actor
from service.orders.cuts import circumstances
from service.orders.errors import ConflictError, NotFoundError, TooManyError
from service.orders.proofs import Proof
from service.orders.states import permit
from service.orders.versions import KeptCure, VersionSet, VersionsState
from service.orders.work import Job, JobKind, JobState
from service.store import art, jobs, orders, shop, versions
from service.store.tenant_scope import TenantScope
from service.usecases.answers import BlobFile, Cure, VersionsOffered
from service.usecases.context import Context
from service.usecases.guard import STAFF, need_scope, reach_of, scope_for
from service.usecases.in_hand import InHand, look_at
from service.usecases.opened import open_carving
from service.usecases.version_work import question_about, version_budgets

CURES_WAIT = 10.0
"""Seconds that somebody who asks for cures waits for the work before being told to come back."""
_LOOKS = 0.1
_GONE = "This is no longer on offer: something has changed. Look at what there is now."
_ON_ITS_WAY = frozenset({JobState.WAITING, JobState.RUNNING})
_SHOWN = {"carved": "picture", "changed": "difference"}


def list_versions(ctx: Context, actor: Actor, carving_id: str) -> VersionsOffered:
    """What is proposed for a carving. NotFoundError."""
    hand = look_at(ctx, actor, carving_id)
    return _offered(ctx, actor, hand.carving.order_id, [hand])[0]


def list_order_versions(
    ctx: Context, actor: Actor, order_id: str, carving_ids: Sequence[str]
) -> tuple[VersionsOffered, ...]:
    """What is proposed for some carvings of one order. NotFoundError."""
    return tuple(_offered(ctx, actor, order_id, _in_hand(ctx, actor, order_id, carving_ids)))


def find_versions(ctx: Context, actor: Actor, carving_id: str) -> VersionsOffered:
    """Have versions worked out, unless they are or are being: after a failure, or where nobody asked yet.

    NotFoundError, NotAllowedError, ConflictError "no-outline", TooManyError.
    """
    hand = look_at(ctx, actor, carving_id)
    permit("change", actor.role)
    need_scope(actor, scope_for("change"))
    offered = _offered(ctx, actor, hand.carving.order_id, [hand])[0]
    if offered.state not in {VersionsState.NOT_ASKED, VersionsState.FAILED}:
        return offered
    with open_carving(ctx, actor, carving_id, "change") as (opened, carving):
        if carving.proof_id is None:
            raise ConflictError("no-outline", "There is no proof of it yet. Wait for it.")
        for budget in version_budgets(opened.order.id, opened.whence):
            rate_limit.count_or_refuse(opened.connection, *budget, opened.now)
        opened.ask(JobKind.VERSIONS, carving.id, proof=carving.proof_id)
        opened.changed()
    return replace(offered, state=VersionsState.WORKING, stage="waiting")


def version_picture(ctx: Context, actor: Actor, carving_id: str, code: str, shown: str) -> BlobFile:
    """A picture of a version: ``carved``, or ``changed`` for what is different; ``sent`` with any code.

    NotFoundError.
    """
    found = set_of(ctx, look_at(ctx, actor, carving_id))
    version = found.version(code) if found else None
    digest = getattr(version, _SHOWN[shown], None) if shown in _SHOWN else None
    if found is not None and shown == "sent":
        digest = found.sent
    if digest is None:
        raise NotFoundError("picture")
    return BlobFile(digest, "image/webp", f"{shown}.webp", original=False)


# ── remedies, by their codes ────────────────────────────────────────────────────────────────────────────


def list_cures(ctx: Context, actor: Actor, carving_id: str) -> tuple[Cure, ...]:
    """What would make it carve, best first; each has passed the full check. Waits for the work where it must.

    NotFoundError, ConflictError, TooManyError.
    """
    hand = look_at(ctx, actor, carving_id)
    hand.outline  # noqa: B018 - refused where there is none yet
    return _cures(actor, hand, _awaited(ctx, actor, carving_id))


def list_order_cures(
    ctx: Context, actor: Actor, order_id: str, carving_ids: Sequence[str]
) -> dict[str, tuple[Cure, ...]]:
    """The cures of some carvings of one order, by carving. NotFoundError, ConflictError, TooManyError."""
    _in_hand(ctx, actor, order_id, carving_ids)
    return {carving_id: list_cures(ctx, actor, carving_id) for carving_id in carving_ids}


def _cures(actor: Actor, hand: InHand, found: VersionSet | None) -> tuple[Cure, ...]:
    return () if found is None else tuple(map(_cure, kept_cures(actor, hand, found)))


def kept_cures(actor: Actor, hand: InHand, found: VersionSet) -> tuple[KeptCure, ...]:
    """Clients are offered what they can choose themselves; which bit is used is the maker's to say."""
    if actor.role in STAFF:
        return found.cures
    bit = circumstances(hand.carving, hand.line, hand.settings).bit.key
    return tuple(each for each in found.cures if each.bit_key == bit)


def _cure(kept: KeptCure) -> Cure:
    return Cure(kept.code, kept.sentence, kept.placement, kept.slat_key, kept.bit_key, kept.change)


def _awaited(ctx: Context, actor: Actor, carving_id: str) -> VersionSet | None:
    """What was worked out, once it is; ``None`` where nothing is wrong or it failed. TooManyError."""
    deadline = time.monotonic() + CURES_WAIT
    while True:
        hand = look_at(ctx, actor, carving_id)
        state = _offered(ctx, actor, hand.carving.order_id, [hand])[0].state
        if state is not VersionsState.WORKING:
            return set_of(ctx, hand) if state is VersionsState.READY else None
        if time.monotonic() > deadline:
            raise TooManyError(retry_after=2.0)
        time.sleep(_LOOKS)


# ── what is worked out already ──────────────────────────────────────────────────────────────────────────


def _in_hand(ctx: Context, actor: Actor, order_id: str, carving_ids: Sequence[str]) -> list[InHand]:
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        if not carving_ids and orders.find_order(connection, reach, order_id) is None:
            raise NotFoundError("order")
        lines = {line.id: line for line in orders.lines_of_orders(connection, reach, [order_id])}
        carvings = orders.carvings_of_orders(connection, reach, [order_id])
        settings = shop.read_settings(connection, reach.workshop_id)
    of_id = {carving.id: carving for carving in carvings}
    if any(each not in of_id for each in carving_ids):
        raise NotFoundError("carving")
    wanted = [of_id[each] for each in carving_ids]
    return [InHand(carving, lines[carving.line_id], settings, tuple(carvings)) for carving in wanted]


def _keys(proofs: Sequence[Proof], hands: Sequence[InHand]) -> dict[str, str]:
    """Carving → the question whose answer is looked for."""
    digests = {proof.carving_id: proof.digest for proof in proofs}
    found = {}
    for hand in hands:
        digest = digests.get(hand.carving.id)
        if digest is not None and hand.carving.proof_id is not None:
            found[hand.carving.id] = question_about(hand, digest)
    return found


def set_of(ctx: Context, hand: InHand) -> VersionSet | None:
    """What was worked out for a carving as it is now, as far as the work has come."""
    workshop, order = hand.settings.workshop.id, hand.carving.order_id
    with ctx.store.reading() as connection:
        proofs = art.current_proofs(connection, TenantScope(workshop, order), [order])
        keys = _keys(proofs, [hand])
        found = versions.sets_by_keys(connection, workshop, list(keys.values()))
    return found[0] if found else None


def _offered(ctx: Context, actor: Actor, order_id: str, hands: Sequence[InHand]) -> list[VersionsOffered]:
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        keys = _keys(art.current_proofs(connection, reach, [order_id]), hands)
        sets = {key: known for key in keys.values() if (known := ctx.kept.get(_kept_as(reach, key)))}
        missing = [key for key in keys.values() if key not in sets]
        work = _newest_work(jobs.jobs_of_orders(connection, reach, [order_id])) if missing else {}
        if missing:
            for each in versions.sets_by_keys(connection, reach.workshop_id, missing):
                sets[each.key] = each
                if each.whole:
                    ctx.kept.put(_kept_as(reach, each.key), each)
    return [_offer(actor, hand, keys.get(hand.carving.id, ""), sets, work) for hand in hands]


def _kept_as(reach: TenantScope, key: str) -> tuple[str, str, str]:
    return "versions", reach.workshop_id, key


def _on_its_way(job: Job | None) -> bool:
    return job is not None and job.state in _ON_ITS_WAY


def _newest_work(found: Sequence[Job]) -> dict[str, Job]:
    work: dict[str, Job] = {}
    for job in found:  # newest first
        if job.kind is JobKind.VERSIONS:
            work.setdefault(job.subject_id, job)
    return work


def _offer(
    actor: Actor, hand: InHand, key: str, sets: dict[str, VersionSet], work: dict[str, Job]
) -> VersionsOffered:
    carving = hand.carving
    found, job = sets.get(key), work.get(carving.id)
    if carving.proof_id is None or carving.verdict == "carves":
        return VersionsOffered(carving.id, VersionsState.NOT_NEEDED)
    if found is not None and found.whole:
        shown = {each.code for each in found.versions}
        others = tuple(_cure(each) for each in kept_cures(actor, hand, found) if each.code not in shown)
        return VersionsOffered(
            carving.id,
            VersionsState.READY,
            "",
            1.0,
            key,
            found.versions,
            others,
            found.reason,
            found.sturdier,
        )
    if job is not None and _on_its_way(job):
        first = found.versions if found else ()
        return VersionsOffered(carving.id, VersionsState.WORKING, job.stage, job.fraction, key, first)
    if job is not None and job.state is JobState.FAILED:
        return VersionsOffered(carving.id, VersionsState.FAILED, key=key)
    stops = carving.verdict == "will-not-carve"
    return VersionsOffered(
        carving.id, VersionsState.NOT_ASKED if stops else VersionsState.NOT_NEEDED, key=key
    )
