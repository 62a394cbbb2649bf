"""Many people who decide about a few orders at the same moment, and what must be true afterwards."""

from __future__ import annotations

import random
import threading
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from artwork.cut import Placement
from service.orders.errors import DomainError
from service.orders.record import EntryKind
from service.store import record
from service.usecases import approving, cutting, producing
from service.usecases.answers import OrderAggregate

from . import invariants
from .world import World, one, shown

Done = list[tuple[EntryKind, str]]
"""What was accepted: the kind of decision, and the proof it is about."""
ONCE_EACH = {EntryKind.CHANGE_REQUEST, EntryKind.RELEASE, EntryKind.RECALL}
"""Every accepted one of these is an entry of its own; the others may repeat what was decided already."""


@dataclass
class Crowd:
    """So many people on so many orders of two carvings.

    Attributes:
        accepted: what the people were told is decided, each as often as they were told so.
        refused: how often somebody was told no, by kind of answer.
        broken: anything else that came out.
    """

    world: World
    people: int
    orders: int = 6
    accepted: Counter[tuple[EntryKind, str]] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    broken: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._wholes = [self.world.offered(("back-wide", "back-left")) for _ in range(self.orders)]
        self._tally = threading.Lock()

    def decide(self, seconds: float) -> None:
        """Let everybody decide for so long, with one worker beside them; then finish the work."""
        end = time.monotonic() + seconds
        threads = [threading.Thread(target=self._person, args=(seed, end)) for seed in range(self.people)]
        threads.append(threading.Thread(target=self._worker, args=(end,)))
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.world.work()

    def faults(self) -> list[str]:
        """Wrong states, lost decisions, a broken chain; each in words."""
        found = list(self.broken)
        try:
            invariants.check(self.world)
        except AssertionError as wrong:
            found.append(f"wrong state: {wrong}")
        return found + self._lost()

    def _lost(self) -> list[str]:
        with self.world.database.reading() as connection:
            entries = list(record.walk(connection, self.world.shop.id))
        stored = Counter((entry.kind, entry.proof_id) for entry in entries)
        lost = []
        for (kind, proof), count in self.accepted.items():
            there = stored[kind, proof]
            if there == 0 or (kind in ONCE_EACH and there != count):
                lost.append(f"{kind} of {proof}: accepted {count} times, {there} on record")
        return lost

    def _worker(self, end: float) -> None:
        while time.monotonic() < end:
            try:
                self.world.work()
            except DomainError as answer:
                self._note(answer)
            time.sleep(0.02)

    def _person(self, seed: int, end: float) -> None:
        chance = random.Random(seed)
        while time.monotonic() < end:
            try:
                whole = self.world.look(chance.choice(self._wholes))
                done = chance.choice(ACTS)(self.world, whole, chance, seed) if whole.proofs else []
            except DomainError as answer:
                self._note(answer)
            except Exception as error:  # noqa: BLE001 - the caller looks at it
                with self._tally:
                    self.broken.append(repr(error))
            else:
                with self._tally:
                    self.accepted.update(done)

    def _note(self, answer: DomainError) -> None:
        with self._tally:
            self.refused[type(answer).__name__] += 1


def _each(kind: EntryKind, whole: OrderAggregate) -> Done:
    return [(kind, proof.id) for proof in whole.proofs]


def _offer(world: World, whole: OrderAggregate, _chance: random.Random, _seed: int) -> Done:
    approving.offer_proofs(world.ctx, world.maker, whole.order.id, shown(whole))
    return _each(EntryKind.OFFER, whole)


def _sign(world: World, whole: OrderAggregate, _chance: random.Random, _seed: int) -> Done:
    world.sign(whole)
    return _each(EntryKind.SIGN_OFF, whole)


def _judge(world: World, whole: OrderAggregate, _chance: random.Random, seed: int) -> Done:
    maker = replace(world.maker, account_id=f"maker-{seed}")
    approving.find_feasible(world.ctx, maker, whole.order.id, shown(whole))
    return _each(EntryKind.FEASIBILITY, whole)


def _ask_for_change(world: World, whole: OrderAggregate, chance: random.Random, _seed: int) -> Done:
    proof = chance.choice(whole.proofs)
    approving.ask_for_change(world.ctx, world.client(whole.order.id), one(proof), "larger")
    return [(EntryKind.CHANGE_REQUEST, proof.id)]


def _reject(world: World, whole: OrderAggregate, chance: random.Random, _seed: int) -> Done:
    proof = chance.choice(whole.proofs)
    approving.reject(world.ctx, world.maker, one(proof), "a knot")
    return [(EntryKind.REJECTION, proof.id)]


def _release(world: World, whole: OrderAggregate, _chance: random.Random, _seed: int) -> Done:
    order = whole.order
    producing.release(world.ctx, world.maker, order.id, order.revision, shown(whole))
    return _each(EntryKind.RELEASE, whole)


def _recall(world: World, whole: OrderAggregate, _chance: random.Random, _seed: int) -> Done:
    order = whole.order
    producing.recall(world.ctx, world.maker, order.id, order.revision, "wrong board")
    return _each(EntryKind.RECALL, whole)


def _lay(world: World, whole: OrderAggregate, chance: random.Random, _seed: int) -> Done:
    carving = chance.choice(whole.carvings)
    place = Placement(chance.choice([0.0, 1.0]), 300.0, 1.0)
    cutting.place(world.ctx, world.client(whole.order.id), carving.id, carving.revision, place)
    return []


Act = Callable[[World, OrderAggregate, random.Random, int], Done]
ACTS: tuple[Act, ...] = (
    *[_offer] * 4, *[_sign] * 6, *[_judge] * 6, *[_release] * 6, _recall, _ask_for_change, _reject, _lay,
)  # fmt: skip
