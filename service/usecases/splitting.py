"""Part of an order earlier: some of its pieces become an order of their own, with everything that was approved.

Approvals hang on proofs, so nobody signs again: the part's proofs are of the same cuts, and its record names the
carvings whose decisions hold for them. One quote holds for an order and all its parts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.orders.actors import Actor
from service.orders.definition import shared
from service.orders.errors import ConflictError
from service.orders.ids import new_id
from service.orders.letters import LetterKind
from service.orders.order import Carving, Order, OrderTerms
from service.orders.part_orders import LineSplit, PartOfLine, moved_ticks, split_lines
from service.orders.proofs import Proof
from service.orders.record import EntryKind
from service.orders.states import CarvingState, OrderState
from service.store import art, orders, record, suites
from service.store import items as kept
from service.store.tenant_scope import TenantScope
from service.usecases.answers import OrderAggregate
from service.usecases.audit import deed_of
from service.usecases.context import Context
from service.usecases.copying import copy_art
from service.usecases.opened import OpenOrder, open_order
from service.usecases.order_aggregate import read_aggregate
from service.usecases.shifting import signed_shift
from service.usecases.telling import write_event, write_letter

_IN_WORK = frozenset({CarvingState.READING, CarvingState.CHECKING})


def split_order(
    ctx: Context,
    actor: Actor,
    order_id: str,
    expected_revision: int,
    *,
    lines: tuple[PartOfLine, ...],
    needed_by: date | None = None,
) -> OrderAggregate:
    """Make some pieces of an order an order of their own; gives that order.

    Proofs, approvals, accepted remarks and what was said of boards go with the pieces. The client is mailed a link.

    NotFoundError, NotAllowedError, InvalidError (more than there is), StaleError, ConflictError "wrong-state".

    Args:
        lines: what goes, each line once; something must stay.
        needed_by: when it is wanted; ``None``: when the order is.
    """
    with open_order(ctx, actor, order_id, "split", expected_revision) as opened:
        opened.allow("split")
        if any(carving.state in _IN_WORK for carving in opened.carvings.values()):
            raise ConflictError(
                "wrong-state", "Art of this order is being read or checked. Wait until it is done."
            )
        part = _new_order(opened, needed_by)
        splits = split_lines(tuple(opened.lines.values()), lines, part.id)
        opened.move("split")
        orders.insert_order(opened.connection, part)
        orders.insert_lines(opened.connection, part.workshop_id, [split.goes for split in splits])
        art_ids = _copied_art(opened, part)
        moved = [each for split in splits for each in _take(opened, part, split, art_ids)]
        _take_suites(opened, part, splits, moved, art_ids)
        for split in splits:
            _leave(opened, split)
        suites.delete_empty(opened.connection, opened.order.id)
        _move_ticks(opened, part, splits)
        part = orders.give_number(opened.connection, part)
        _enter(opened, part, splits, moved)
        write_event(opened.connection, part, "order.place", opened.now)
        if part.contact.email:
            write_letter(ctx, opened.connection, part, LetterKind.LINK, about="first")
        return read_aggregate(opened.connection, TenantScope(part.workshop_id, part.id), part)


@dataclass(frozen=True)
class _ArtIds:
    """The part's files and readings by the ids of those they are copies of."""

    files: Mapping[str, str]
    readings: Mapping[str, str]


@dataclass(frozen=True)
class _Taken:
    """A carving of the part, the one it comes from, and its proof in the part."""

    before: Carving
    after: Carving
    proof: Proof | None


def _new_order(opened: OpenOrder, needed_by: date | None) -> Order:
    old = opened.order
    wanted = {} if needed_by is None else {"needed_by": needed_by}
    return Order(
        id=new_id(),
        workshop_id=old.workshop_id,
        number=orders.provisional_number(),
        state=OrderState.SUBMITTED,
        revision=1,
        activity=1,
        **shared(OrderTerms, old) | wanted,
        created_at=opened.now,
        updated_at=opened.now,
        submitted_at=old.submitted_at,
        part_of=old.part_of or old.id,
        site=replace(old.site, unique=False),  # its number stays the only one of the order it is part of
        kind=old.kind,
        payment=old.payment,
        payment_reference=old.payment_reference,
    )


def _copied_art(opened: OpenOrder, part: Order) -> _ArtIds:
    files, readings = copy_art(opened.connection, opened.order, part, opened.now)
    return _ArtIds(
        {old: file.id for old, file in files.items()}, {old: reading.id for old, reading in readings.items()}
    )


def _take(opened: OpenOrder, part: Order, split: LineSplit, art_ids: _ArtIds) -> Iterator[_Taken]:
    """The carvings of the pieces that go: of all pieces, and of each of its own."""
    for carving in list(opened.carvings.values()):
        if carving.line_id != split.line.id:
            continue
        goes, piece = (True, None) if carving.piece is None else split.place(carving.piece)
        if not goes:
            continue
        new = replace(
            carving,
            id=new_id(),
            order_id=part.id,
            line_id=split.goes.id,
            piece=piece,
            revision=1,
            artwork_id=art_ids.files.get(carving.artwork_id or ""),
            reading_id=art_ids.readings.get(carving.reading_id or ""),
            kept=(),
        )
        proof = opened.proofs.get(carving.id)
        pieces = split.goes.quantity if piece is None else 1
        copy = None if proof is None else _proof_of(proof, new, pieces)
        after = replace(new, proof_id=None if copy is None else copy.id)
        orders.insert_carvings(opened.connection, part.workshop_id, [after])
        if copy is not None:
            art.insert_proof(opened.connection, part.workshop_id, copy)
        yield _Taken(carving, after, copy)


def _proof_of(proof: Proof, carving: Carving, pieces: int) -> Proof:
    """The same judged cut on so many pieces of another order, with what was decided about it."""
    return replace(
        proof, id=new_id(), order_id=carving.order_id, carving_id=carving.id, number=1, pieces=pieces
    )


def _leave(opened: OpenOrder, split: LineSplit) -> None:
    """What stays of a line: fewer pieces of the same cuts, approved as they were."""
    theirs = [each for each in opened.carvings.values() if each.line_id == split.line.id]
    places = {each.id: split.place(each.piece) for each in theirs if each.piece is not None}
    gone = [each.id for each in theirs if split.stays is None or places.get(each.id, (False, 0))[0]]
    art.delete_proofs_of_carvings(opened.connection, gone)
    orders.delete_carvings(opened.connection, gone)
    for carving in sorted(theirs, key=lambda each: each.piece or 0):
        if carving.id in gone:
            continue
        if carving.piece is not None:
            _renumber(opened, carving, places[carving.id][1])
        elif carving.id in opened.proofs and split.stays is not None:
            _recount(opened, carving, opened.proofs[carving.id], split.stays.quantity)
    if split.stays is None:
        orders.delete_lines(opened.connection, [split.line.id])
    else:
        orders.update_line(opened.connection, split.stays)
    opened.forget_read()


def _recount(opened: OpenOrder, carving: Carving, proof: Proof, pieces: int) -> None:
    """A proof never changes: another one of the same cut, on fewer pieces, takes its place with its approvals."""
    number = art.next_proof_number(opened.connection, carving.id)
    fewer = replace(proof, id=new_id(), number=number, pieces=pieces)
    art.insert_proof(opened.connection, opened.order.workshop_id, fewer)
    after = replace(carving, proof_id=fewer.id, revision=carving.revision + 1)
    orders.update_carving(opened.connection, opened.order.workshop_id, carving, after)


def _renumber(opened: OpenOrder, carving: Carving, piece: int) -> None:
    if piece == carving.piece:
        return
    after = replace(carving, piece=piece, revision=carving.revision + 1)
    orders.update_carving(opened.connection, opened.order.workshop_id, carving, after)
    suites.place_part(opened.connection, carving.id, piece)


def _take_suites(
    opened: OpenOrder, part: Order, splits: Iterable[LineSplit], moved: Sequence[_Taken], art_ids: _ArtIds
) -> None:
    """Lists and large pictures of those lines are made twice: each holds what is on its own side."""
    only = [opened.order.id]
    lines = {split.line.id: split.goes.id for split in splits}
    taken = {each.before.id: each.after for each in moved}
    parts = suites.parts_of_orders(opened.connection, opened.reach, only)
    for suite in suites.suites_of_orders(opened.connection, opened.reach, only):
        mine = [each for each in parts if each.suite_id == suite.id and each.carving_id in taken]
        if not mine:
            continue
        wanted = dict(suite.wanted)
        if "reading" in wanted:
            wanted["reading"] = art_ids.readings[wanted["reading"]]
        new = replace(
            suite, id=new_id(), order_id=part.id, line_id=lines[suite.line_id], revision=1, wanted=wanted
        )
        placed = [
            replace(
                each, carving_id=taken[each.carving_id].id, suite_id=new.id,
                place=taken[each.carving_id].piece or each.place,
            )
            for each in mine
        ]  # fmt: skip
        suites.insert_suite(opened.connection, new, placed)


def _move_ticks(opened: OpenOrder, part: Order, splits: Sequence[LineSplit]) -> None:
    """What was said of boards before a recall goes with them."""
    said = kept.ticks_of_order(opened.connection, opened.reach)
    stay, go = moved_ticks(said, splits)
    kept.forget_lines(opened.connection, opened.reach, [split.line.position for split in splits])
    kept.keep_ticks(opened.connection, opened.reach, stay)
    kept.keep_ticks(opened.connection, TenantScope(part.workshop_id, part.id), go)


def _enter(opened: OpenOrder, part: Order, splits: Iterable[LineSplit], moved: Iterable[_Taken]) -> None:
    """On the order, what went; on the part, for each proof whose decisions hold for it."""
    lines = [
        {
            "line": split.line.position,
            "pieces": sorted(split.taken),
            "left": split.line.quantity - len(split.taken),
        }
        for split in splits
    ]
    signed = record.about_orders(opened.connection, part.workshop_id, [opened.order.id])
    opened.enter(EntryKind.SPLIT, facts={"part": part.id, "number": part.number, "lines": lines})
    for each in moved:
        if each.proof is None:
            continue
        deed = deed_of(
            opened.actor,
            EntryKind.SPLIT,
            opened.now,
            order_id=part.id,
            carving_id=each.after.id,
            proof_id=each.proof.id,
            digest=each.proof.digest,
            picture=each.proof.picture,
            facts={
                "order": opened.order.id,
                "of": each.before.id,
                "pieces": each.proof.pieces,
                "may_shift": signed_shift(signed, each.proof.digest),
            },
        )
        record.append(opened.connection, part.workshop_id, deed)
