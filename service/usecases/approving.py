"""Proofs and what people decide about them. Everything here names the proof shown and is recorded.

Deciding the same thing about the same proof again changes nothing and is no error: a double click is safe.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from service.batches.released import check_digest
from service.orders import file_remarks
from service.orders.actors import Actor
from service.orders.errors import ConflictError, FieldError, InvalidError, StaleError
from service.orders.letters import LetterKind
from service.orders.limits import LONGEST_NOTE
from service.orders.order import Carving
from service.orders.proofs import Proof, Shown
from service.orders.record import EntryKind
from service.orders.states import CarvingState, OrderState
from service.orders.suites import SuiteShown
from service.orders.texts import text_problems
from service.usecases.answers import OrderAggregate
from service.usecases.commands import ACCEPTING_NOTHING, Accepting
from service.usecases.context import Context
from service.usecases.opened import OpenOrder, open_carving, open_order
from service.usecases.ordering import checked_reason, submit
from service.usecases.pricing import agree
from service.usecases.receipts import send_receipt
from service.usecases.suite_decisions import shown_together

_BEFORE_CLIENT = frozenset(
    {CarvingState.OFFERED, CarvingState.SIGNED, CarvingState.FEASIBLE, CarvingState.APPROVED}
)
_NOT_OFFERED = frozenset({CarvingState.CHECKED, CarvingState.CHANGE_ASKED})
_SIGNED = frozenset({CarvingState.SIGNED, CarvingState.APPROVED})
_FEASIBLE = frozenset({CarvingState.FEASIBLE, CarvingState.APPROVED})
_FARTHEST = 100_000.0
SuiteFacts = Mapping[str, Mapping[str, str]]
"""By carving, what the record holds of its suite."""


def offer_proofs(
    ctx: Context, actor: Actor, order_id: str, shown: tuple[Shown, ...], whole: tuple[SuiteShown, ...] = ()
) -> OrderAggregate:
    """Put checked proofs, and whole suites, before the client. NotFoundError, NotAllowedError, ConflictError."""
    with open_order(ctx, actor, order_id, "offer") as opened:
        every, facts = shown_together(opened, shown, whole)
        for each in _some(every):
            carving, proof = current(opened, each)
            if carving.state in _BEFORE_CLIENT:
                continue
            _offer(opened, carving, proof, facts.get(carving.id))
            opened.write(LetterKind.PROOF_READY)
        return opened.whole()


def _offer(opened: OpenOrder, carving: Carving, proof: Proof, facts: Mapping[str, str] | None) -> Carving:
    _can_carve(proof)
    moved = opened.move_carving(carving, "offer")
    opened.enter(EntryKind.OFFER, proof, facts=facts)
    return moved


def waive(ctx: Context, actor: Actor, shown: Shown, remarks: tuple[str, ...]) -> OrderAggregate:
    """The client accepts named remarks of one proof. NotFoundError, NotAllowedError, InvalidError, ConflictError."""
    with open_carving(ctx, actor, shown.carving_id, "waive") as (opened, _):
        carving, proof = current(opened, shown)
        _accept(opened, carving, proof, _known_remarks(proof, remarks))
        return opened.whole()


def _known_remarks(proof: Proof, remarks: tuple[str, ...]) -> tuple[str, ...]:
    """Remarks of this proof, by name, at least one. InvalidError."""
    if not remarks or not set(remarks) <= set(proof.remarks):
        known = ", ".join(proof.remarks) or "none"
        raise InvalidError(FieldError("remarks", "unknown", f"Name remarks of this proof: {known}."))
    return remarks


def _known_kinds(proofs: Iterable[Proof], kinds: tuple[str, ...]) -> tuple[str, ...]:
    """Kinds of remarks that these proofs have, at least one. InvalidError."""
    known = {kind_of(name) for proof in proofs for name in proof.remarks}
    if not kinds or not set(kinds) <= known:
        told = ", ".join(sorted(known)) or "none"
        raise InvalidError(FieldError("kinds", "unknown", f"Name kinds of remarks that are there: {told}."))
    return kinds


def _accept(
    opened: OpenOrder,
    carving: Carving,
    proof: Proof,
    names: Iterable[str],
    facts: Mapping[str, str] | None = None,
) -> None:
    """Those remarks are accepted; what was accepted before is not entered again."""
    new = sorted(set(names) - set(proof.waived))
    if not new:
        return
    opened.move_carving(carving, "waive")
    accepted = tuple(name for name in proof.remarks if name in {*proof.waived, *new})
    opened.stand(proof, waived=accepted)
    opened.enter(EntryKind.WAIVER, proof, facts=_accepted(proof, new) | dict(facts or {}))


def waive_together(
    ctx: Context, actor: Actor, whole: SuiteShown, kinds: tuple[str, ...], order_id: str
) -> OrderAggregate:
    """The client accepts every remark of these kinds in a suite.

    NotFoundError, NotAllowedError, InvalidError, ConflictError.

    Args:
        kinds: of remarks (``"tip"``): all of a kind at once, on whichever pieces they are.
    """
    with open_order(ctx, actor, order_id, "waive") as opened:
        every, facts = shown_together(opened, (), (whole,))
        seen = [current(opened, each) for each in every]
        _known_kinds((proof for _, proof in seen), kinds)
        for carving, proof in seen:
            names = [name for name in proof.remarks if kind_of(name) in kinds]
            _accept(opened, carving, proof, names, facts[carving.id])
        return opened.whole()


def kind_of(remark: str) -> str:
    """The kind of finding a remark is about: ``"tip"`` of ``"tip-2"``."""
    return remark.rpartition("-")[0]


def _accepted(proof: Proof, names: list[str]) -> dict[str, Any]:
    """What the record holds of remarks being accepted: a finding is in the check that the proof names, a file's
    reading may be gone one day, so that the record says in words what it lacked."""
    return {"remarks": names} | file_remarks.among(proof.facts, names)


def sign_off(
    ctx: Context,
    actor: Actor,
    order_id: str,
    shown: tuple[Shown, ...],
    quote: str = "",
    *,
    whole: tuple[SuiteShown, ...] = (),
    accepting: Accepting = ACCEPTING_NOTHING,
    draft_revision: int | None = None,
) -> OrderAggregate:
    """The client signs exactly these proofs and suites, and the price: ``quote`` is the digest of what they saw.

    One act: a draft of ``draft_revision`` is sent to the maker with it, proofs not offered yet are, remarks are
    accepted. Where any of it is refused, none of it has happened.

    NotFoundError, NotAllowedError, InvalidError, StaleError, ConflictError "remarks-open", "not-current",
    "quote-changed", "no-price".
    """
    with open_order(ctx, actor, order_id, "sign-off") as opened:
        if draft_revision is not None and opened.order.state is OrderState.DRAFT:
            if opened.order.revision != draft_revision:
                raise StaleError(opened.order.revision)
            submit(opened)
        every, suite_facts = shown_together(opened, shown, whole)
        seen = [current(opened, each) for each in _some(every)]
        for carving, proof in seen:
            if carving.state in _NOT_OFFERED:
                _offer(opened, carving, proof, suite_facts.get(carving.id))
        _accept_each(opened, accepting, frozenset(carving.id for carving, _ in seen), suite_facts)
        _sign(opened, [carving.id for carving, _ in seen], quote, suite_facts)
        return opened.whole()


def _accept_each(
    opened: OpenOrder, accepting: Accepting, signed: frozenset[str], suite_facts: SuiteFacts
) -> None:
    """The remarks accepted with a signature: of the carvings that are signed, nothing else. InvalidError."""
    unknown = (accepting.remarks.keys() - signed) | (
        accepting.kinds.keys() - {facts["suite"] for facts in suite_facts.values()}
    )
    if unknown:
        raise InvalidError(FieldError("accepted", "unknown", "Accept remarks of what is signed here."))
    for carving_id, names in accepting.remarks.items():
        proof = opened.proofs[carving_id]
        _accept(opened, opened.carving(carving_id), proof, _known_remarks(proof, names))
    for suite_id, kinds in accepting.kinds.items():
        parts = [opened.proofs[of] for of, facts in suite_facts.items() if facts["suite"] == suite_id]
        _known_kinds(parts, kinds)
        for proof in parts:
            names = tuple(name for name in proof.remarks if kind_of(name) in kinds)
            carving = opened.carving(proof.carving_id)
            _accept(opened, carving, proof, names, suite_facts[carving.id])


def _sign(opened: OpenOrder, carving_ids: Sequence[str], quote: str, suite_facts: SuiteFacts) -> None:
    agreed = agree(opened, quote)
    price = {} if agreed is None else {"quote": agreed.digest}
    same_price = agreed is None or not agreed.new
    for carving_id in carving_ids:
        carving, proof = opened.carving(carving_id), opened.proofs[carving_id]
        if carving.state in _SIGNED and same_price:
            continue
        _can_carve(proof)
        left = [name for name in proof.remarks if name not in proof.waived]
        moved = carving if carving.state in _SIGNED else opened.move_carving(carving, "sign-off")
        if left:
            raise ConflictError("remarks-open", f"Accept or cure these remarks first: {', '.join(left)}.")
        opened.stand(proof, signed_at=opened.now)
        facts = {
            "waived": list(proof.waived),
            "pieces": proof.pieces,
            "state": moved.state.value,
            "check": check_digest(proof.check),
            **({"may_shift": opened.order.may_shift} if opened.order.may_shift else {}),
        }
        opened.enter(EntryKind.SIGN_OFF, proof, facts={**facts, **price, **suite_facts.get(carving.id, {})})
    send_receipt(opened, agreed)


def ask_for_change(
    ctx: Context,
    actor: Actor,
    shown: Shown,
    words: str,
    place: tuple[float, float] | None = None,
) -> OrderAggregate:
    """The client asks for a change, pinned on a place (slat mm).

    NotFoundError, NotAllowedError, InvalidError, ConflictError.
    """
    words = checked_reason("words", words)
    if place is not None and not all(abs(figure) <= _FARTHEST for figure in place):
        raise InvalidError(FieldError("place", "out-of-range", "Pin the place on the slat."))
    with open_carving(ctx, actor, shown.carving_id, "ask-change") as (opened, _):
        carving, proof = current(opened, shown)
        opened.move_carving(carving, "ask-change")
        opened.stand(proof, signed_at=None, judged_at=None)
        facts = {} if place is None else {"place": [float(figure) for figure in place]}
        opened.enter(EntryKind.CHANGE_REQUEST, proof, words=words, facts=facts)
        opened.write(LetterKind.CHANGE_ASKED, about=proof.id, words=words, slat=opened.slat_name(carving))
        return opened.whole()


def find_feasible(
    ctx: Context,
    actor: Actor,
    order_id: str,
    shown: tuple[Shown, ...],
    words: str = "",
    *,
    whole: tuple[SuiteShown, ...] = (),
) -> OrderAggregate:
    """The maker judges these proofs and suites feasible.

    NotFoundError, NotAllowedError, InvalidError, ConflictError.
    """
    problems = tuple(text_problems("words", words, LONGEST_NOTE, lines=True))
    if problems:
        raise InvalidError(*problems)
    with open_order(ctx, actor, order_id, "find-feasible") as opened:
        every, facts = shown_together(opened, shown, whole)
        for each in _some(every):
            carving, proof = current(opened, each)
            if carving.state in _FEASIBLE:
                continue
            _can_carve(proof)
            opened.move_carving(carving, "find-feasible")
            opened.stand(proof, judged_at=opened.now)
            opened.enter(EntryKind.FEASIBILITY, proof, words=words, facts=facts.get(carving.id))
        return opened.whole()


def reject(ctx: Context, actor: Actor, shown: Shown, reason: str) -> OrderAggregate:
    """The maker rejects one proof with a reason. NotFoundError, NotAllowedError, InvalidError, ConflictError."""
    reason = checked_reason("reason", reason)
    with open_carving(ctx, actor, shown.carving_id, "reject") as (opened, _):
        carving, proof = current(opened, shown)
        if carving.state is CarvingState.REJECTED:
            return opened.whole()
        opened.move_carving(carving, "reject")
        opened.stand(proof, signed_at=None, judged_at=None)
        opened.enter(EntryKind.REJECTION, proof, words=reason)
        opened.write(LetterKind.REJECTED, about=proof.id, reason=reason)
        return opened.whole()


def current(opened: OpenOrder, shown: Shown) -> tuple[Carving, Proof]:
    """The carving and its current proof, if that was shown. NotFoundError, Conflict (not-current, proof-stale)."""
    carving = opened.carving(shown.carving_id)
    proof = opened.proofs.get(carving.id)
    if proof is None or (proof.digest, proof.picture) != (shown.digest, shown.picture):
        raise ConflictError(
            "not-current", "This proof is no longer the current one. Look at the new one, then decide."
        )
    if proof.stale_because:
        raise ConflictError("proof-stale", f"{proof.stale_because} Have the carving checked again.")
    return carving, proof


def _some(shown: tuple[Shown, ...]) -> tuple[Shown, ...]:
    """Each carving once, at least one."""
    if not shown or len({each.carving_id for each in shown}) != len(shown):
        raise InvalidError(FieldError("shown", "missing", "Name at least one proof, and each carving once."))
    return shown


def _can_carve(proof: Proof) -> None:
    if proof.verdict == "will-not-carve":
        raise ConflictError("will-not-carve", f"{proof.sentence} Nobody can approve what will not carve.")
