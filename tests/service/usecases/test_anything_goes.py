"""Client, maker, helper, a shop's site and strangers at once, in any order, with views old and new."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from artwork.cut import Placement
from service.orders.actors import Actor, Scope
from service.orders.errors import ConflictError, DomainError, NotAllowedError, NotFoundError
from service.orders.order import Carving
from service.orders.states import CARVING_STEPS, ORDER_STEPS, OrderState
from service.usecases import approving, artworks, choosing, cutting, ordering, privacy_and_audit, producing
from service.usecases.answers import OrderAggregate
from service.usecases.commands import CutChange, LineContent, Upload

from . import invariants
from .test_shop import sand_more
from .world import CREST, CannedCompute, World, content, make_sqlite_world, one, shown

STRANGERS = ("stranger", "other-client", "visitor")
ANYBODY = ("client", "maker", "helper", "site", "reader", *STRANGERS)
BURST = 20
MOST_ORDERS = 4
FAR = ("place", "submitted", "offered", "approved", "released")
THE_END = {"cancel", "erase"}  # left to chance, or every order would soon be gone
BACK_TO_THE_START = {
    "give-art",
    "change",
    "amend",
    "recall",
    "batch",
    "forge",
    "reject",
    "ask-change",
    "finish",
}
OVER = {OrderState.DONE, OrderState.CANCELLED}
CLIENTS_PART = {"sign-off", "forge", "waive", "ask-change", "submit"}


class AnythingGoes(RuleBasedStateMachine):
    """Every rule is one request of one person, made from a view of an order that may be out of date."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="slatproof-machine-"))
        self.world: World = make_sqlite_world(self.folder, CannedCompute())
        self.views: list[OrderAggregate] = []
        self.checked: object = None
        self.acts = 0

    def teardown(self) -> None:
        self.world.database.close()
        shutil.rmtree(self.folder)

    @initialize(far=st.sampled_from(FAR))
    def begin(self, far: str) -> None:
        self.begin_another(far, two=True, remarks=False)
        self.begin_another(far, two=False, remarks=True)

    # -- what is tried

    @precondition(lambda self: self.orders() < MOST_ORDERS)
    @rule(far=st.sampled_from(FAR), two=st.booleans(), remarks=st.booleans())
    def begin_another(self, far: str, two: bool, remarks: bool) -> None:
        """An order that has come so far already: what happens next is what is tested."""
        slats = ("back-wide", "back-left") if two else ("back-wide",)
        self.views.append(self.offered_with_remarks() if remarks else getattr(self.world, far)(slats))

    def offered_with_remarks(self) -> OrderAggregate:
        ctx, maker, whole = self.world.ctx, self.world.maker, self.world.submitted()
        for carving in whole.carvings:
            cutting.place(ctx, maker, carving.id, carving.revision, Placement(0.0, 300.0, 2.0))
        self.world.work()
        return approving.offer_proofs(ctx, maker, whole.order.id, shown(self.world.look(whole)))

    @rule(seed=st.integers(0, 2**32))
    def a_busy_moment(self, seed: int) -> None:
        """Requests in a row: mostly what the table of states opens, by whoever may; else anything by anybody.

        Drawn by a generator of its own: hypothesis prefers what it knows, and would rarely get far.
        """
        chance = random.Random(f"{seed} {len(self.views)} {self.acts}")
        for _ in range(BURST):
            self.acts += 1
            if chance.random() < 0.7:
                self.something_that_is_open(chance)
            else:
                self.act(
                    chance.choice(sorted(ACTS)), chance.choice(ANYBODY), chance.choice(self.views), chance
                )
            if chance.random() < 0.4:
                self.world.work()
            if chance.random() < 0.02:
                sand_more(self.world, chance.choice([0.0, 0.1]))

    def something_that_is_open(self, chance: random.Random) -> None:
        latest = {view.order.id: view for view in self.views}
        going_on = [view for view in latest.values() if view.order.state not in OVER]
        whole = self.world.look(chance.choice(going_on or list(latest.values())))
        states = {carving.state for carving in whole.carvings}
        steps = {step.event for step in ORDER_STEPS if whole.order.state in step.sources}
        steps |= {s.event for s in CARVING_STEPS if whole.order.state in s.order and s.sources & states}
        events = sorted((steps & set(ACTS) | {"batch", "forge"}) - THE_END)
        (event,) = chance.choices(events, [1 if each in BACK_TO_THE_START else 4 for each in events])
        self.act(event, "client" if event in CLIENTS_PART else "maker", whole, chance)

    # -- what must hold

    @invariant()
    def nothing_is_cut_that_was_not_approved_so(self) -> None:
        state = invariants.fingerprint(self.world)
        if state != self.checked:
            invariants.check(self.world)
            self.checked = state

    # -- helpers

    def orders(self) -> int:
        return len({view.order.id for view in self.views})

    def actor(self, who: str, whole: OrderAggregate) -> Actor:
        world = self.world
        return {
            "client": world.client(whole.order.id),
            "maker": world.maker,
            "helper": world.helper,
            "site": world.site(Scope.ORDERS_READ, Scope.ORDERS_WRITE, Scope.ORDERS_SIGN),
            "reader": world.site(Scope.ORDERS_READ),
            "stranger": world.stranger,
            "other-client": world.client("some-other-order"),
            "visitor": world.visitor,
        }[who]

    def act(self, event: str, who: str, whole: OrderAggregate, chance: random.Random) -> None:
        """Ask for something: done, or refused in words. Strangers find nothing, whatever they ask."""
        actor = self.actor(who, whole)
        try:
            done = ACTS[event](self.world, actor, whole, chance)
        except DomainError as answer:
            assert str(answer)
            assert who not in STRANGERS or isinstance(answer, NotFoundError | NotAllowedError), (
                event,
                answer,
            )
            return
        assert done is None or who not in STRANGERS, event
        if isinstance(done, OrderAggregate):
            self.views.append(done)


# -- what people can ask for; each gives what it was given, or nothing when there was nothing to ask about


def one_of(whole: OrderAggregate, chance: random.Random) -> Carving:
    return chance.choice(whole.carvings)


def give_art(world: World, actor: Actor, whole: OrderAggregate, chance: random.Random) -> OrderAggregate:
    data = chance.choice([CREST, CREST, CREST, b"another", b"bad"])
    ids = tuple(carving.id for carving in whole.carvings)
    upload = Upload(data, "art.svg", carving_ids=ids)
    return artworks.upload_artwork(world.ctx, actor, whole.order.id, upload)


def cut_otherwise(world: World, actor: Actor, whole: OrderAggregate, chance: random.Random) -> OrderAggregate:
    carving = one_of(whole, chance)
    place = Placement(chance.choice([0.0, 1.0]), 300.0, chance.choice([0.5, 1.0, 1.0, 2.0]))
    verb, *args = chance.choice(
        [
            (cutting.place, place),
            (choosing.apply_cure, "thicken-1"),
            (cutting.change_cut, CutChange(bit_key="v60-fine")),
            (cutting.change_cut, CutChange(slat_key="back-left")),
            (cutting.check_again,),
        ]
    )
    return verb(world.ctx, actor, carving.id, carving.revision, *args)


def amend(world: World, actor: Actor, whole: OrderAggregate, chance: random.Random) -> OrderAggregate:
    quantity = chance.choice([11, 12, 12, 13])
    lines = tuple(
        LineContent(line.model_key, quantity, tuple(c.slat_key for c in whole.carvings), line.id)
        for line in whole.lines
    )
    asked = replace(content(), lines=lines)
    return ordering.amend_order(world.ctx, actor, whole.order.id, whole.order.revision, asdict(asked))


def offer(world: World, actor: Actor, whole: OrderAggregate, _chance: random.Random) -> OrderAggregate:
    return approving.offer_proofs(world.ctx, actor, whole.order.id, shown(whole))


def waive(world: World, actor: Actor, whole: OrderAggregate, chance: random.Random) -> OrderAggregate | None:
    done = None
    for proof in whole.proofs:
        if proof.remarks:
            names = proof.remarks[: chance.choice([1, 2, 2])]
            done = approving.waive(world.ctx, actor, one(proof), names)
    return done


def sign_off(world: World, actor: Actor, whole: OrderAggregate, _chance: random.Random) -> OrderAggregate:
    return approving.sign_off(world.ctx, actor, whole.order.id, shown(whole))


def forge(world: World, actor: Actor, whole: OrderAggregate, chance: random.Random) -> None:
    """Decide about something else than the current proof: never accepted."""
    field = chance.choice(["digest", "picture"])
    wrong = tuple(replace(each, **{field: "0" * 64}) for each in shown(whole))
    for verb in (approving.sign_off, approving.find_feasible, approving.offer_proofs):
        try:
            verb(world.ctx, actor, whole.order.id, wrong)
        except DomainError:
            continue
        raise AssertionError(f"{verb.__name__} took a forged proof")


def ask_for_change(
    world: World, actor: Actor, whole: OrderAggregate, _chance: random.Random
) -> OrderAggregate | None:
    for proof in whole.proofs[:1]:
        return approving.ask_for_change(world.ctx, actor, one(proof), "larger", (1.0, 2.0))
    return None


def find_feasible(
    world: World, actor: Actor, whole: OrderAggregate, _chance: random.Random
) -> OrderAggregate:
    return approving.find_feasible(world.ctx, actor, whole.order.id, shown(whole))


def reject(
    world: World, actor: Actor, whole: OrderAggregate, _chance: random.Random
) -> OrderAggregate | None:
    for proof in whole.proofs[:1]:
        return approving.reject(world.ctx, actor, one(proof), "a knot")
    return None


def release(world: World, actor: Actor, whole: OrderAggregate, _chance: random.Random) -> OrderAggregate:
    return producing.release(world.ctx, actor, whole.order.id, whole.order.revision, shown(whole))


def take_batch(world: World, actor: Actor, whole: OrderAggregate, _chance: random.Random) -> None:
    try:
        producing.take_batch(world.ctx, actor, (whole.order.id,))
    except ConflictError:
        assert world.look(whole).order.state not in invariants.AT_BENCH or world.look(whole).order.erased_at
    else:
        assert world.look(whole).order.state in invariants.AT_BENCH


def by_revision(verb: Callable[..., OrderAggregate], *args: Any) -> Callable[..., OrderAggregate]:
    def ask(world: World, actor: Actor, whole: OrderAggregate, _chance: random.Random) -> OrderAggregate:
        return verb(world.ctx, actor, whole.order.id, whole.order.revision, *args)

    return ask


ACTS: dict[str, Callable[[World, Actor, OrderAggregate, random.Random], OrderAggregate | None]] = {
    "give-art": give_art,
    "change": cut_otherwise,
    "amend": amend,
    "submit": by_revision(ordering.submit_order),
    "offer": offer,
    "waive": waive,
    "sign-off": sign_off,
    "forge": forge,
    "ask-change": ask_for_change,
    "find-feasible": find_feasible,
    "reject": reject,
    "release": release,
    "recall": by_revision(producing.recall, "wrong board"),
    "start": by_revision(producing.start_production),
    "finish": by_revision(producing.finish_production),
    "batch": take_batch,
    "cancel": by_revision(ordering.cancel_order, "no"),
    "erase": by_revision(privacy_and_audit.erase_client),
}

TestAnythingGoes = AnythingGoes.TestCase
TestAnythingGoes.settings = settings(max_examples=6, stateful_step_count=10)
