"""One order opened for change: locked, its steps checked against the table of states, stored when it closes.

Locks are taken in one order everywhere (settings, the order, the record), so nobody waits in a circle;
whatever a decision rests on cannot change until it is stored.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from typing import Any

from sqlalchemy import Connection

from service.access.networks import network_of
from service.access.secrets import digest
from service.orders.actors import Actor, Client, Role, Visitor
from service.orders.artworks import ReadingState
from service.orders.errors import ConflictError, NotFoundError, StaleError
from service.orders.letters import LetterKind
from service.orders.order import Carving, KeptArt, Line, Order, Trouble
from service.orders.proofs import Proof
from service.orders.record import EntryKind
from service.orders.site import OrderKind
from service.orders.states import CarvingState, carving_after, order_after, permit
from service.orders.work import Job, JobKind
from service.orders.workshop import Settings
from service.store import art, orders, record, shop, suites
from service.store.tenant_scope import TenantScope
from service.usecases.answers import OrderAggregate
from service.usecases.asking import ask_for_work
from service.usecases.audit import deed_of
from service.usecases.context import Context
from service.usecases.guard import reach_of, scope_for
from service.usecases.order_aggregate import read_aggregate
from service.usecases.payloads import WHENCE
from service.usecases.telling import write_event, write_letter

_STILL_THERE = "What was on the slat before is still there."
_EARLIER_FILE = "The file sent before it takes its place."


_UNDOING = frozenset({"change", "give-art", "outdate"})
"""Steps that undo what was decided without saying so themselves."""
_SIGNED = frozenset({CarvingState.SIGNED, CarvingState.APPROVED})
_ALONE = frozenset({"change", "give-art"})
"""Steps that a carving of a suite takes only with the whole of it."""


@dataclass(frozen=True)
class Undone:
    """What falls with a step.

    Attributes:
        slat: what people call it.
        signed: whether it was a signature, rather than a wish for a change.
        event: the step, or ``"drop"`` where the slat leaves the order.
    """

    slat: str
    signed: bool
    event: str


class OpenOrder:
    """An order in hand, within one transaction; only :func:`open_order` and :func:`open_carving` make one.

    Attributes:
        order: as it stands now, changes included.
        now: the moment all of this happens at.
        whence: digest of the network that a stranger acts from; background work that follows names it.
    """

    def __init__(self, ctx: Context, actor: Actor, connection: Connection, order: Order) -> None:
        self.ctx = ctx
        self.actor = actor
        self.connection = connection
        self.order = order
        self.now: datetime = ctx.clock.now()
        self.reach = TenantScope(order.workshop_id, order.id)
        self._before = order
        self._touched = False
        self._awaited: set[str] = set()
        self._happened: dict[tuple[str, str], None] = {}
        self._undone: list[Undone] = []
        self.whence = _whence(actor)

    @cached_property
    def settings(self) -> Settings:
        """What the workshop sets; stays so until the transaction ends."""
        return shop.read_settings(self.connection, self.order.workshop_id)

    @cached_property
    def lines(self) -> dict[str, Line]:
        """The order's lines by id, in their order."""
        found = orders.lines_of_orders(self.connection, self.reach, [self.order.id])
        return {line.id: line for line in found}

    @cached_property
    def carvings(self) -> dict[str, Carving]:
        """The order's carvings by id, as they stand now."""
        found = orders.carvings_of_orders(self.connection, self.reach, [self.order.id])
        return {carving.id: carving for carving in found}

    @cached_property
    def proofs(self) -> dict[str, Proof]:
        """Each carving's current proof, by carving id."""
        found = art.current_proofs(self.connection, self.reach, [self.order.id])
        return {proof.carving_id: proof for proof in found}

    def carving(self, carving_id: str, expected_revision: int | None = None) -> Carving:
        """One carving of this order. NotFoundError, StaleError."""
        carving = self.carvings.get(carving_id)
        if carving is None:
            raise NotFoundError("carving")
        if expected_revision is not None and carving.revision != expected_revision:
            raise StaleError(carving.revision)
        return carving

    def slat_name(self, carving: Carving) -> str:
        """What people call the slat a carving is on."""
        model = self.settings.model(self.lines[carving.line_id].model_key)
        placed = () if model is None else model.layout.slats
        return next((p.slat.name for p in placed if p.slat.key == carving.slat_key), carving.slat_key)

    def allow(self, event: str) -> None:
        """Whether the actor may take a step of the order's table now. NotAllowedError, ConflictError."""
        order_after(event, self.order.state, self.actor.role)

    def move(self, event: str, **changes: Any) -> None:
        """Take a step of the order's table, with other changes to the order. NotAllowedError, ConflictError."""
        state = order_after(event, self.order.state, self.actor.role)
        self.order = replace(self.order, state=state, revision=self._before.revision + 1, **changes)
        self._touched = True
        self._happened[f"order.{event}", ""] = None

    def move_carving(self, carving: Carving, event: str, **changes: Any) -> Carving:
        """Take a step of a carving's table, with other changes to the carving. NotAllowedError, ConflictError.

        What people do raises the carving's revision; what background work finds out does not, for nobody
        could overwrite it.
        """
        state = carving_after(event, carving.state, self.actor.role, self.order.state)
        raised = carving.revision + (self.actor.role is not Role.SYSTEM)
        if event in _UNDOING:
            self.undo(carving, event)
        self._happened[f"carving.{event}", carving.id] = None
        return self._put(carving, replace(carving, state=state, revision=raised, **changes))

    def undo(self, carving: Carving, event: str) -> None:
        """Have the other side told of a signature, or of a wish for a change, that falls with what is done now."""
        if carving.state in _SIGNED or carving.state is CarvingState.CHANGE_ASKED:
            self._undone.append(Undone(self.slat_name(carving), carving.state in _SIGNED, event))

    def refuse(self, carving: Carving, trouble: Trouble) -> None:
        """The carving's art goes no further: back to the newest before it that is good or may be, or refused.

        Art that was read is checked anew, art still unread is waited for: in which order files are read
        decides nothing. Falling back raises the revision: whoever saw the new art there must look again.
        """
        back, older = self._fall_back_to(carving.kept)
        if back is None:
            self.move_carving(carving, "refuse", trouble=trouble, kept=())
            return
        read = back.outline is not None
        event, words = ("fall-back", _STILL_THERE) if read else ("fall-back-unread", _EARLIER_FILE)
        after = replace(
            carving,
            state=carving_after(event, carving.state, self.actor.role, self.order.state),
            revision=carving.revision + 1,
            artwork_id=back.artwork_id,
            reading_id=back.reading_id,
            outline=back.outline,
            outline_note=back.outline_note,
            placement=back.placement,
            version=back.version,
            trouble=replace(trouble, cure=f"{trouble.cure} {words}".strip()),
            kept=older,
        )
        self._happened[f"carving.{event}", carving.id] = None
        self._put(carving, after)
        if read:
            self.ask(JobKind.PROVE, after.id, revision=after.revision)
        elif back.reading_id not in self._awaited:  # its own job may have been given up meanwhile
            self._awaited.add(back.reading_id)
            self.ask(JobKind.READ_ARTWORK, back.reading_id)

    def _fall_back_to(self, kept: tuple[KeptArt, ...]) -> tuple[KeptArt | None, tuple[KeptArt, ...]]:
        """The newest art that was not refused, with its outline if it has been read, and what is older."""
        found = art.readings_by_ids(self.connection, self.reach, [each.reading_id for each in kept])
        readings = {reading.id: reading for reading in found}
        for place, each in enumerate(kept, 1):
            reading = readings[each.reading_id]
            if reading.state is not ReadingState.REFUSED:
                return replace(each, outline=each.outline or reading.outline), kept[place:]
        return None, ()

    def _put(self, before: Carving, after: Carving) -> Carving:
        if not orders.update_carving(self.connection, self.order.workshop_id, before, after):
            raise StaleError(before.revision)
        self.carvings[after.id] = after
        self._touched = True
        return after

    def stand(self, proof: Proof, **changes: Any) -> None:
        """Store what was decided about a current proof."""
        changed = replace(proof, **changes)
        art.update_standing(self.connection, changed)
        self.proofs[proof.carving_id] = changed
        self._touched = True

    def changed(self) -> None:
        """Something within the order was stored that this class knows nothing of."""
        self._touched = True

    def forget_read(self) -> None:
        """What was read of lines, carvings and proofs is out of date: read it again when next asked for."""
        for name in ("lines", "carvings", "proofs"):
            self.__dict__.pop(name, None)

    def enter(
        self,
        kind: EntryKind,
        proof: Proof | None = None,
        words: str = "",
        facts: Mapping[str, Any] | None = None,
    ) -> int:
        """Enter what the actor does into the workshop's record; the entry's number."""
        deed = deed_of(
            self.actor,
            kind,
            self.now,
            order_id=self.order.id,
            carving_id=None if proof is None else proof.carving_id,
            proof_id=None if proof is None else proof.id,
            digest=None if proof is None else proof.digest,
            picture=None if proof is None else proof.picture,
            facts=facts or {},
            words=words,
        )
        return record.append(self.connection, self.order.workshop_id, deed).number

    def ask(self, kind: JobKind, subject_id: str, **payload: Any) -> Job:
        """Ask for background work, to begin once this transaction is committed."""
        if self.whence:
            payload.setdefault(WHENCE, self.whence)
        return ask_for_work(self.ctx, self.connection, self.order, kind, subject_id, **payload)

    def write(self, kind: LetterKind, about: str = "", **facts: Any) -> None:
        """Put out a letter about this order; ``about`` tells several events of one kind apart."""
        about = about or str(self.order.activity)
        write_letter(self.ctx, self.connection, self.order, kind, about=about, **facts)

    def whole(self) -> OrderAggregate:
        """Store the order, and read all of it."""
        self.close()
        return read_aggregate(self.connection, self.reach, self.order)

    def close(self) -> None:
        """Store the order if anything in it changed."""
        if not self._touched:
            return
        after = replace(self.order, activity=self._before.activity + 1, updated_at=self.now)
        if not orders.update_order(self.connection, self._before, after):
            raise StaleError(self._before.revision)
        self.order = self._before = after
        self._touched = False
        self._tell()
        self._tell_other_side()

    def _tell_other_side(self) -> None:
        """Mail whoever did not do it what fell with it."""
        theirs = self.actor.role in (Role.CLIENT, Role.SHOP_SITE)
        kind = LetterKind.SIGNATURE_FELL if theirs else LetterKind.SIGN_AGAIN
        told = [each for each in self._undone if theirs or each.signed]
        self._undone.clear()
        if told:
            slats = list(dict.fromkeys(each.slat for each in told if each.signed))
            wishes = list(dict.fromkeys(each.slat for each in told if not each.signed))
            self.write(kind, slats=slats, wishes=wishes, why=sorted({each.event for each in told}))

    def _tell(self) -> None:
        """Write what happened into the workshop's events."""
        for kind, carving_id in self._happened or {("order.change", ""): None}:
            carving = self.carvings.get(carving_id)
            of_carving = (
                {} if carving is None else {"carving_id": carving.id, "carving_state": carving.state.value}
            )
            write_event(self.connection, self.order, kind, self.now, of_carving)
        self._happened.clear()


def _whence(actor: Actor) -> str:
    network = network_of(actor.address) if isinstance(actor, Client | Visitor) else ""
    return digest(network) if network else ""


@contextmanager
def open_order(
    ctx: Context, actor: Actor, order_id: str, event: str, expected_revision: int | None = None
) -> Iterator[OpenOrder]:
    """Open an order for a step of either table. NotFoundError, NotAllowedError, StaleError."""
    with ctx.store.writing() as connection:
        opened = open_within(ctx, actor, connection, order_id, event)
        if expected_revision is not None and opened.order.revision != expected_revision:
            raise StaleError(opened.order.revision)
        yield opened
        opened.close()


@contextmanager
def open_carving(
    ctx: Context, actor: Actor, carving_id: str, event: str, expected_revision: int | None = None
) -> Iterator[tuple[OpenOrder, Carving]]:
    """Open the order of a carving.

    NotFoundError, NotAllowedError, Stale (its revision), ConflictError "part-of-suite".
    """
    with ctx.store.writing() as connection:
        found = orders.carvings_by_ids(connection, reach_of(actor, scope_for(event)), [carving_id])
        if not found:
            raise NotFoundError("carving")
        opened = open_within(ctx, actor, connection, found[0].order_id, event)
        if event in _ALONE:
            refuse_part(connection, carving_id)
        yield opened, opened.carving(carving_id, expected_revision)
        opened.close()


def refuse_unless_order(order: Order, doing: str) -> None:
    """Checks and tests are never made. ConflictError "not-an-order"."""
    if order.kind is not OrderKind.ORDER:
        raise ConflictError("not-an-order", f"You cannot {doing}: this is a {order.kind}, not an order.")


def refuse_part(connection: Connection, carving_id: str) -> None:
    """What is made as part of a whole is not changed alone. ConflictError "part-of-suite"."""
    if suites.suite_of_carving(connection, carving_id) is not None:
        raise ConflictError(
            "part-of-suite",
            "This is part of a list or of a larger picture. Change that, or take it off first.",
        )


def open_within(ctx: Context, actor: Actor, connection: Connection, order_id: str, event: str) -> OpenOrder:
    """Open an order in the caller's transaction; the caller closes it. NotFoundError, NotAllowedError.

    Who never takes this step is told so before anything of the order's state or revision is.
    """
    reach = reach_of(actor, scope_for(event))
    orders.lock_workshop_settings(connection, reach.workshop_id, to_change=False)
    order = orders.find_order(connection, reach, order_id, lock=True)
    if order is None:
        raise NotFoundError("order")
    permit(event, actor.role)
    return OpenOrder(ctx, actor, connection, order)
