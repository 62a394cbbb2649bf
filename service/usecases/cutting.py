"""Where and how it is cut: trials, placements, cures, the maker's changes."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace

from artwork.cut import Placement
from artwork.errors import EngineError
from artwork.workpiece import Bit, Slat
from service.metering import FAILED_PROPOSALS
from service.orders.actors import Actor, Role
from service.orders.cuts import (
    Circumstances,
    allowance_problems,
    circumstances,
    placement_problems,
    thickness_problems,
)
from service.orders.errors import ConflictError, FieldError, InvalidError, NotFoundError
from service.orders.order import Carving, Line
from service.orders.states import permit
from service.orders.work import JobKind
from service.orders.workshop import Settings
from service.store import orders, shop
from service.usecases import computing
from service.usecases.answers import Cure, Judged, WholeOrder
from service.usecases.blob_refs import name_blobs
from service.usecases.commands import CutChange, Trial
from service.usecases.computing import FoundCure
from service.usecases.context import Context
from service.usecases.guard import STAFF, need_role, need_scope, reach_of, scope_for
from service.usecases.opened import OpenOrder, open_carving

log = logging.getLogger("slatproof.cutting")

TRIAL_WAIT = 10.0
"""Seconds that somebody waits for a free process before being told to come back."""


def try_cut(ctx: Context, actor: Actor, carving_id: str, trial: Trial, picture: bool = False) -> Judged:
    """Judge a cut at once, keeping nothing.

    NotFoundError, NotAllowedError, InvalidError, ConflictError "no-outline", TooManyError.
    """
    hand = _look_at(ctx, actor, carving_id)
    carving = _changed(hand, trial.change, actor)
    at = circumstances(carving, hand.line, hand.settings)
    placement = trial.placement or carving.placement
    outline, whose = ctx.blobs.get(hand.outline), carving.order_id
    with _answering():
        if trial.largest:
            placement = ctx.compute.run(
                computing.lay_largest,
                outline,
                at,
                placement,
                about=hand.outline,
                wait=TRIAL_WAIT,
                whose=whose,
            )
        elif placement is None:
            placement = ctx.compute.run(
                computing.lay, outline, at, about=hand.outline, wait=TRIAL_WAIT, whose=whose
            )
        _check_placement(placement)
        judged = ctx.compute.run(
            computing.judge, outline, at, placement, picture, about=hand.outline, wait=TRIAL_WAIT, whose=whose
        )
    return Judged(
        judged.digest, placement, judged.verdict, judged.sentence, judged.check, judged.picture or None
    )


def place(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, placement: Placement
) -> WholeOrder:
    """Lay the art; a new proof follows in the background.

    NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError.
    """
    _check_placement(placement)
    with open_carving(ctx, actor, carving_id, "change", expected_revision) as (opened, carving):
        _renew(opened, carving, replace(carving, placement=placement))
        return opened.whole()


def change_cut(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, change: CutChange
) -> WholeOrder:
    """Change slat, bit, board or allowances.

    NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError.
    """
    with open_carving(ctx, actor, carving_id, "change", expected_revision) as (opened, carving):
        hand = _InHand(
            carving, opened.lines[carving.line_id], opened.settings, tuple(opened.carvings.values())
        )
        _renew(opened, carving, _changed(hand, change, actor))
        return opened.whole()


def check_again(ctx: Context, actor: Actor, carving_id: str, expected_revision: int) -> WholeOrder:
    """A new proof of the same cut under today's settings. NotFoundError, NotAllowedError, StaleError, ConflictError."""
    with open_carving(ctx, actor, carving_id, "change", expected_revision) as (opened, carving):
        _renew(opened, carving, carving)
        return opened.whole()


def list_cures(ctx: Context, actor: Actor, carving_id: str) -> tuple[Cure, ...]:
    """What would make it carve, best first; each has passed the full check.

    NotFoundError, ConflictError, TooManyError.
    """
    return _named(_cures(ctx, actor, _look_at(ctx, actor, carving_id)))


def _named(found: Iterable[FoundCure]) -> tuple[Cure, ...]:
    return tuple(
        Cure(cure.code, cure.sentence, cure.placement, cure.slat_key, cure.bit_key, cure.change)
        for cure in found
    )


def list_order_cures(
    ctx: Context, actor: Actor, order_id: str, carving_ids: Sequence[str]
) -> dict[str, tuple[Cure, ...]]:
    """The cures of some carvings of one order, by carving. NotFoundError, ConflictError, TooManyError."""
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        order = orders.find_order(connection, reach, order_id)
        if order is None:
            raise NotFoundError("order")
        lines = {line.id: line for line in orders.lines_of_orders(connection, reach, [order_id])}
        carvings = orders.carvings_of_orders(connection, reach, [order_id])
        settings = shop.read_settings(connection, reach.workshop_id)
    of_id = {carving.id: carving for carving in carvings}
    if any(each not in of_id for each in carving_ids):
        raise NotFoundError("carving")
    found = {}
    for carving_id in carving_ids:
        carving = of_id[carving_id]
        hand = _InHand(carving, lines[carving.line_id], settings, tuple(carvings))
        found[carving_id] = _named(_cures(ctx, actor, hand))
    return found


def apply_cure(ctx: Context, actor: Actor, carving_id: str, expected_revision: int, code: str) -> WholeOrder:
    """Take one cure; a new proof follows. NotFoundError, NotAllowedError, StaleError, ConflictError "cure-gone"."""
    hand = _look_at(ctx, actor, carving_id)
    permit("change", actor.role)
    need_scope(actor, scope_for("change"))
    cure = next((cure for cure in _cures(ctx, actor, hand) if cure.code == code), None)
    if cure is None:
        raise ConflictError("cure-gone", "This cure is no longer on offer. Look at the ones there are now.")
    outline = ctx.blobs.put(cure.outline) if cure.changed else hand.outline
    with open_carving(ctx, actor, carving_id, "change", expected_revision) as (opened, carving):
        if carving != hand.carving:
            raise ConflictError(
                "cure-gone", "The carving was changed in the meantime. Look at its cures again."
            )
        if cure.changed:
            name_blobs(ctx, opened.connection, (outline, cure.outline))
        _renew(opened, carving, _cured(hand, cure, outline))
        return opened.whole()


@dataclass(frozen=True)
class _InHand:
    """A carving with what its cut depends on, and the other carvings of its order."""

    carving: Carving
    line: Line
    settings: Settings
    siblings: tuple[Carving, ...]

    @property
    def outline(self) -> str:
        """Digest of the outline that is carved."""
        if self.carving.outline is None:
            raise ConflictError(
                "no-outline", "The artwork has not been read yet. Wait for it, or send another file."
            )
        return self.carving.outline

    def taken_slats(self) -> frozenset[str]:
        """Slats of the same line and piece that carry other art."""
        return frozenset(
            other.slat_key
            for other in self.siblings
            if other.id != self.carving.id
            and (other.line_id, other.piece) == (self.carving.line_id, self.carving.piece)
        )

    def art_slats(self) -> tuple[Slat, ...]:
        """Slats of the model that carry art."""
        model = self.settings.model(self.line.model_key)
        return () if model is None else tuple(each.slat for each in model.layout.slats if each.carries_art)


def _look_at(ctx: Context, actor: Actor, carving_id: str) -> _InHand:
    reach = reach_of(actor)
    with ctx.store.reading() as connection:
        found = orders.carvings_by_ids(connection, reach, [carving_id])
        if not found:
            raise NotFoundError("carving")
        order_id = found[0].order_id
        lines = orders.lines_of_orders(connection, reach, [order_id])
        siblings = tuple(orders.carvings_of_orders(connection, reach, [order_id]))
        settings = shop.read_settings(connection, reach.workshop_id)
    line = next(line for line in lines if line.id == found[0].line_id)
    return _InHand(found[0], line, settings, siblings)


def _changed(hand: _InHand, change: CutChange, actor: Actor) -> Carving:
    """The carving as ``change`` would have it; it is not moved. NotAllowedError, InvalidError, ConflictError."""
    if (change.bit_key, change.thickness, change.allowances) != (None, None, None):
        need_role(actor, "change bit, board or allowances", Role.MAKER, Role.HELPER)
    problems = tuple(_change_problems(hand, change))
    if problems:
        raise InvalidError(*problems)
    carving = hand.carving
    if change.slat_key is not None and change.slat_key != carving.slat_key:
        if change.slat_key in hand.taken_slats():
            raise ConflictError("slat-taken", "That slat carries other art already. Choose another.")
        carving = replace(carving, slat_key=change.slat_key, placement=None)
    if change.bit_key is not None:
        carving = replace(carving, bit_key=change.bit_key or None)
    if change.thickness is not None:
        carving = replace(carving, thickness=change.thickness or None)
    if change.allowances is not None:
        carving = replace(carving, allowances=dict(change.allowances))
    return carving


def _change_problems(hand: _InHand, change: CutChange) -> Iterator[FieldError]:
    if change.slat_key is not None and change.slat_key not in {slat.key for slat in hand.art_slats()}:
        yield FieldError("slat_key", "unknown", "This model has no such slat that carries art.")
    if change.bit_key and hand.settings.bit(change.bit_key) is None:
        yield FieldError("bit_key", "unknown", "The workshop has no such bit.")
    if change.thickness:
        yield from thickness_problems(change.thickness)
    if change.allowances is not None:
        yield from allowance_problems("allowances", change.allowances)


def _renew(opened: OpenOrder, before: Carving, after: Carving) -> None:
    """Store another cut for a carving, and ask for its proof; the old proof is left behind."""
    if before.outline is None:
        raise ConflictError(
            "no-outline", "The artwork has not been read yet. Wait for it, or send another file."
        )
    moved = opened.move_carving(
        before,
        "change",
        slat_key=after.slat_key,
        outline=after.outline,
        outline_note=after.outline_note,
        placement=after.placement,
        bit_key=after.bit_key,
        thickness=after.thickness,
        allowances=after.allowances,
        proof_id=None,
        verdict=None,
        trouble=None,
    )
    opened.ask(JobKind.PROVE, moved.id, revision=moved.revision)


def _cures(ctx: Context, actor: Actor, hand: _InHand) -> tuple[FoundCure, ...]:
    carving, at = hand.carving, circumstances(hand.carving, hand.line, hand.settings)
    if carving.placement is None:
        return ()
    asked = (hand.outline, at, carving.placement, _other_slats(hand, at), _other_bits(hand, actor, at))
    known: tuple[FoundCure, ...] | None = ctx.kept.get(("cures", *asked))
    if known is None:
        with _answering():
            found = ctx.compute.run(
                computing.find_cures,
                ctx.blobs.get(hand.outline),
                *asked[1:],
                about=hand.outline,
                wait=TRIAL_WAIT,
                whose=carving.order_id,
            )
        for proposal, why in found.failed:
            FAILED_PROPOSALS.labels(proposal).inc()
            log.warning("the proposal %s failed for carving %s: %s", proposal, carving.id, why)
        known = found.cures
        ctx.kept.put(("cures", *asked), known)
    return known


def _other_slats(hand: _InHand, at: Circumstances) -> tuple[Slat, ...]:
    taken = hand.taken_slats() | {at.slat.key}
    board = hand.carving.thickness
    return tuple(
        slat if board is None else replace(slat, thickness=board)
        for slat in hand.art_slats()
        if slat.key not in taken
    )


def _other_bits(hand: _InHand, actor: Actor, at: Circumstances) -> tuple[Bit, ...]:
    """Clients are offered what they can choose themselves; which bit is used is the maker's to say."""
    if actor.role not in STAFF:
        return ()
    return tuple(o.bit for o in hand.settings.bits if not o.retired and o.bit.key != at.bit.key)


def _cured(hand: _InHand, cure: FoundCure, outline: str) -> Carving:
    carving = hand.carving
    at = circumstances(carving, hand.line, hand.settings)
    note = f"{carving.outline_note} {cure.sentence}".strip() if cure.changed else carving.outline_note
    return replace(
        carving,
        outline=outline,
        outline_note=note,
        placement=cure.placement,
        slat_key=cure.slat_key,
        bit_key=carving.bit_key if cure.bit_key == at.bit.key else cure.bit_key,
    )


def _check_placement(placement: Placement) -> None:
    problems = tuple(placement_problems(placement))
    if problems:
        raise InvalidError(*problems)


@contextmanager
def _answering() -> Iterator[None]:
    """What the engine refuses is an answer to whoever asked."""
    try:
        yield
    except EngineError as refusal:
        raise ConflictError(refusal.code, str(refusal)) from refusal
