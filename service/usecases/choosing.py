"""Which version of a drawing is carved: chosen, and taken back."""

from __future__ import annotations

from dataclasses import asdict, replace

from service.orders.actors import Actor
from service.orders.cuts import circumstances
from service.orders.errors import ConflictError
from service.orders.order import Carving
from service.orders.record import EntryKind
from service.orders.states import permit
from service.orders.versions import ChosenVersion, KeptCure, Version, VersionKind
from service.store import art
from service.usecases.answers import OrderAggregate
from service.usecases.blob_refs import add_blob_refs
from service.usecases.context import Context
from service.usecases.guard import need_scope, scope_for
from service.usecases.in_hand import InHand, look_at, renew
from service.usecases.opened import OpenOrder, open_carving
from service.usecases.versions import kept_cures, set_of

_GONE = "This is no longer on offer: something has changed. Look at what there is now."


def choose_version(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, code: str
) -> OrderAggregate:
    """Take one version in place of what was sent; a new proof follows. What was sent is kept.

    NotFoundError, NotAllowedError, StaleError, ConflictError "version-gone".
    """
    hand = look_at(ctx, actor, carving_id)
    permit("change", actor.role)
    need_scope(actor, scope_for("change"))
    found = set_of(ctx, hand)
    version = found.version(code) if found else None
    if version is None:
        raise ConflictError("version-gone", _GONE)
    return _take(ctx, actor, hand, expected_revision, version, gone="version-gone")


def take_as_sent(ctx: Context, actor: Actor, carving_id: str, expected_revision: int) -> OrderAggregate:
    """Go back to what was sent, laid as it lay; a new proof follows.

    NotFoundError, NotAllowedError, StaleError, ConflictError "nothing-chosen", "slat-taken".
    """
    with open_carving(ctx, actor, carving_id, "change", expected_revision) as (opened, carving):
        chosen = carving.version
        readings = art.readings_by_ids(opened.connection, opened.reach, [carving.reading_id or ""])
        if chosen is None or not readings or readings[0].outline is None:
            raise ConflictError(
                "nothing-chosen", "What was sent is carved as it is. There is nothing to undo."
            )
        mine = (carving.line_id, carving.piece)
        others = [each for each in opened.carvings.values() if each.id != carving.id]
        if any((each.line_id, each.piece, each.slat_key) == (*mine, chosen.sent_slat_key) for each in others):
            raise ConflictError("slat-taken", "The slat it lay on carries other art by now.")
        sent = replace(
            carving,
            outline=readings[0].outline,
            outline_note="",
            placement=chosen.sent_placement,
            slat_key=chosen.sent_slat_key,
            bit_key=chosen.sent_bit_key,
            version=None,
        )
        facts = {"kind": VersionKind.AS_SENT.value, "outline": sent.outline, "instead_of": chosen.sentence}
        opened.enter(EntryKind.VERSION, opened.proofs.get(carving.id), facts=facts)
        renew(opened, carving, sent)
        return opened.whole()


def apply_cure(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, code: str
) -> OrderAggregate:
    """Take one cure; a new proof follows. NotFoundError, NotAllowedError, StaleError, ConflictError "cure-gone"."""
    hand = look_at(ctx, actor, carving_id)
    permit("change", actor.role)
    need_scope(actor, scope_for("change"))
    found = set_of(ctx, hand)
    offered = kept_cures(actor, hand, found) if found else ()
    cure = next((each for each in offered if each.code == code), None)
    if found is None or cure is None:
        raise ConflictError("cure-gone", _GONE)
    version = next((each for each in found.versions if each.code == code), None)
    return _take(ctx, actor, hand, expected_revision, version or cure, gone="cure-gone")


def _take(
    ctx: Context,
    actor: Actor,
    hand: InHand,
    expected_revision: int,
    chosen: Version | KeptCure,
    *,
    gone: str,
) -> OrderAggregate:
    """What takes the place of what was carved so far; ``gone``: code of the refusal where it cannot."""
    outline = ctx.blobs.get(chosen.outline)
    usual = circumstances(hand.carving, hand.line, hand.settings).bit.key
    with open_carving(ctx, actor, hand.carving.id, "change", expected_revision) as (opened, carving):
        if carving != hand.carving:
            raise ConflictError(gone, _GONE)
        add_blob_refs(ctx, opened.connection, (chosen.outline, outline))
        _enter(opened, carving, chosen)
        after = replace(
            carving,
            outline=chosen.outline,
            outline_note=chosen.sentence if chosen.changed else carving.outline_note,
            placement=chosen.placement,
            slat_key=chosen.slat_key,
            bit_key=carving.bit_key if chosen.bit_key == usual else chosen.bit_key,
            version=_kept(carving, chosen, actor),
        )
        renew(opened, carving, after)
        return opened.whole()


def _kept(carving: Carving, chosen: Version | KeptCure, actor: Actor) -> ChosenVersion | None:
    """How the art lay before anything was chosen stays known through several choices."""
    first = carving.version
    if first is None and carving.placement is None:
        return None
    return ChosenVersion(
        kind=chosen.kind,
        sentence=chosen.sentence,
        likeness=chosen.likeness,
        chosen_by=actor.role,
        sent_placement=first.sent_placement if first else carving.placement,  # type: ignore[arg-type]
        sent_slat_key=first.sent_slat_key if first else carving.slat_key,
        sent_bit_key=first.sent_bit_key if first else carving.bit_key,
    )


def _enter(opened: OpenOrder, carving: Carving, chosen: Version | KeptCure) -> None:
    """Into the record, before the proof that was looked at is left behind."""
    changes = [{k: v for k, v in asdict(each).items() if k != "areas"} for each in chosen.changes]
    facts = {
        "kind": chosen.kind.value,
        "sentence": chosen.sentence,
        "likeness": chosen.likeness,
        "changes": changes,
        "outline": chosen.outline,
        "instead_of": carving.outline,
    }
    opened.enter(EntryKind.VERSION, opened.proofs.get(carving.id), facts=facts)
