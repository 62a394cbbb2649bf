"""What must hold of every order at every moment, read from the store alone."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import select

from service.orders.order import Carving
from service.orders.proofs import Proof
from service.orders.record import Entry, EntryKind
from service.orders.states import CarvingState, OrderState, states_with
from service.store import art, orders, record
from service.store.record_tables import record_heads
from service.store.tables import orders as order_rows
from service.store.tenant_scope import TenantScope
from service.usecases import privacy_and_audit
from service.usecases.answers import OrderAggregate
from service.usecases.order_aggregate import read_aggregate

from .world import World

_S = CarvingState
WITHOUT_PROOF = {_S.NO_ART, _S.READING, _S.REFUSED, _S.CHECKING}
SIGNED = {_S.SIGNED, _S.APPROVED, _S.RELEASED}
JUDGED = {_S.FEASIBLE, _S.APPROVED, _S.RELEASED}
AT_BENCH = {OrderState.RELEASED, OrderState.IN_PRODUCTION, OrderState.DONE}


def check(world: World) -> None:
    for shop in (world.shop, world.other):
        reach = TenantScope(shop.id)
        with world.database.reading() as connection:
            entries = list(record.walk(connection, shop.id))
            ids = sorted({entry.order_id for entry in entries if entry.order_id})
            found = orders.orders_by_ids(connection, reach, ids)
            wholes = [read_aggregate(connection, TenantScope(shop.id, order.id), order) for order in found]
            history = {order.id: art.proofs_of_orders(connection, reach, [order.id]) for order in found}
        for whole in wholes:
            about = [entry for entry in entries if entry.order_id == whole.order.id]
            _check_order(whole, about)
            _check_history(history[whole.order.id])
    assert privacy_and_audit.verify_record(world.ctx, world.maker) is None
    assert privacy_and_audit.verify_record(world.ctx, world.stranger) is None


def fingerprint(world: World) -> object:
    """Another value whenever anything that is checked may have changed."""
    with world.database.reading() as connection:
        changes = select(order_rows.c.id, order_rows.c.activity, order_rows.c.state)
        heads = select(record_heads)
        return connection.execute(changes).all(), connection.execute(heads).all()


def _check_order(whole: OrderAggregate, entries: list[Entry]) -> None:
    proofs = {proof.carving_id: proof for proof in whole.proofs}
    states = {carving.state for carving in whole.carvings}
    for state in states:
        assert whole.order.state in states_with(frozenset({state})), (whole.order.state, state)
    if whole.order.state in AT_BENCH and whole.order.erased_at is None:
        assert states == {_S.RELEASED}, states
        assert _last(entries, EntryKind.RELEASE) > _last(entries, EntryKind.RECALL)
    elif whole.order.state is not OrderState.CANCELLED and whole.order.erased_at is None:
        assert _S.RELEASED not in states
    pieces = {line.id: line.quantity for line in whole.lines}
    for carving in whole.carvings:
        if carving.id in proofs:
            assert proofs[carving.id].pieces == pieces[carving.line_id]
        _check_carving(carving, proofs.get(carving.id), entries, erased=whole.order.erased_at is not None)


def _check_carving(carving: Carving, proof: Proof | None, entries: list[Entry], *, erased: bool) -> None:
    if erased:
        assert (proof, carving.outline, carving.artwork_id) == (None, None, None)
        return
    assert (proof is None) == (carving.state in WITHOUT_PROOF), carving.state
    if proof is None:
        assert carving.verdict is None
        return
    assert proof.id == carving.proof_id
    assert carving.verdict == proof.verdict
    assert (proof.signed_at is not None) == (carving.state in SIGNED), carving.state
    assert (proof.judged_at is not None) == (carving.state in JUDGED), carving.state
    assert bool(proof.stale_because) == (carving.state is _S.STALE)
    if carving.state in SIGNED | JUDGED:
        assert proof.verdict != "will-not-carve"
    if carving.state in SIGNED:
        assert set(proof.remarks) <= set(proof.waived)
    _check_record(carving, proof, entries)


def _check_record(carving: Carving, proof: Proof, entries: list[Entry]) -> None:
    """Whatever a carving's state says was decided is on record about this very proof, after what voids it."""
    own = [entry for entry in entries if entry.proof_id == proof.id]
    for entry in own:
        assert (entry.digest, entry.picture, entry.carving_id) == (proof.digest, proof.picture, carving.id)
    voided = max(_last(own, EntryKind.CHANGE_REQUEST), _last(own, EntryKind.REJECTION))
    if carving.state in SIGNED:
        assert _last(own, EntryKind.SIGN_OFF) > voided
    if carving.state in JUDGED:
        assert _last(own, EntryKind.FEASIBILITY) > voided
    if carving.state is _S.RELEASED:
        both = min(_last(own, EntryKind.SIGN_OFF), _last(own, EntryKind.FEASIBILITY))
        assert _last(own, EntryKind.RELEASE) > both > voided


def _check_history(proofs: list[Proof]) -> None:
    """A carving's proofs are numbered without gaps, and only the last one can carry anything."""
    by_carving: dict[str, list[Proof]] = {}
    for proof in proofs:
        by_carving.setdefault(proof.carving_id, []).append(proof)
    for each in by_carving.values():
        assert [proof.number for proof in each] == list(range(1, len(each) + 1))


def _last(entries: Iterable[Entry], kind: EntryKind) -> int:
    return max((entry.number for entry in entries if entry.kind is kind), default=0)
