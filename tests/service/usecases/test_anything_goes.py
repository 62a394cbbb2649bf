"""Client, maker, helper, a shop's site and strangers at once, in any order, with views old and new."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from artwork.cut import Placement
from service.orders.actors import Actor, Scope
from service.orders.errors import NotAllowed, NotFound, Refused
from service.usecases import approving, artworks, cutting, keeping, ordering, producing
from service.usecases.answers import WholeOrder
from service.usecases.commands import CutChange, LineContent, Upload

from . import invariants
from .test_shop import sand_more
from .world import CREST, CannedCompute, World, content, make_sqlite_world, one, shown

STRANGERS = ("stranger", "other-client", "visitor")
# Most often whoever is right for it, so that orders get far; then anybody.
ANYBODY = st.sampled_from(["right"] * 8 + ["client", "maker", "helper", "site", "reader", *STRANGERS])
RIGHT = {"sign_off": "client", "waive": "client", "ask_for_change": "client", "submit_order": "client"}
PICK = st.integers(0, 10_000)


class AnythingGoes(RuleBasedStateMachine):
    """Every rule is one request of one person, made from a view of an order that may be out of date."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="slatproof-machine-"))
        self.world: World = make_sqlite_world(self.folder, CannedCompute())
        self.views: list[WholeOrder] = []
        self.checked: object = None

    def teardown(self) -> None:
        self.world.database.close()
        shutil.rmtree(self.folder)

    @initialize()
    def begin(self) -> None:
        self.keep(self.world.submitted())

    # -- helpers

    def keep(self, whole: WholeOrder | None) -> None:
        if whole is not None:
            self.views.append(whole)

    def view(self, pick: int) -> WholeOrder:
        """Most often the latest view of an order, sometimes an older one."""
        chosen = self.views[-1 - pick % min(len(self.views), 12)]
        return self.world.look(chosen) if pick % 4 else chosen

    def actor(self, who: str, whole: WholeOrder) -> Actor:
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

    def ask(self, verb: Callable[..., Any], who: str, whole: WholeOrder, *args: Any) -> Any:
        """Ask for something: done, or refused in words. Strangers find nothing, whatever they ask."""
        who = RIGHT.get(verb.__name__, "maker") if who == "right" else who
        try:
            done = verb(self.world.ctx, self.actor(who, whole), *args)
        except Refused as answer:
            assert str(answer)
            if who in STRANGERS:
                assert isinstance(answer, NotFound | NotAllowed), (verb, answer)
            return None
        assert who not in STRANGERS, verb
        if isinstance(done, WholeOrder):
            self.keep(done)
        return done

    # -- what people do

    @rule(two=st.booleans(), far=st.sampled_from(["place", "submitted", "offered", "approved", "released"]))
    def begin_another(self, two: bool, far: str) -> None:
        """An order that has come so far already: what happens next is what is tested."""
        if len({view.order.id for view in self.views}) < 4:
            self.keep(getattr(self.world, far)(("back-wide", "back-left") if two else ("back-wide",)))

    @rule()
    def begin_one_with_remarks(self) -> None:
        if len({view.order.id for view in self.views}) < 5:
            whole = self.world.submitted()
            for carving in whole.carvings:
                place = Placement(0.0, 300.0, 2.0)
                cutting.place(self.world.ctx, self.world.maker, carving.id, carving.revision, place)
            self.world.work()
            whole = self.world.look(whole)
            self.keep(approving.offer_proofs(self.world.ctx, self.world.maker, whole.order.id, shown(whole)))

    @rule(pick=PICK, who=ANYBODY, good=st.booleans())
    def upload(self, pick: int, who: str, good: bool) -> None:
        whole = self.view(pick)
        ids = tuple(carving.id for carving in whole.carvings)
        data = CREST if good else b"bad"
        self.ask(
            artworks.upload_artwork, who, whole, whole.order.id, Upload(data, "art.svg", carving_ids=ids)
        )

    @rule()
    def work(self) -> None:
        self.world.work()

    @rule(pick=PICK, who=ANYBODY, scale=st.sampled_from([0.5, 1.0, 2.0]), how=st.integers(0, 5))
    def cut_otherwise(self, pick: int, who: str, scale: float, how: int) -> None:
        whole = self.view(pick)
        for carving in whole.carvings[:1]:
            place = Placement(float(pick % 7), 300.0, scale)
            bit = CutChange(bit_key="v60-fine" if pick % 2 else "")
            verb, *args = [
                (cutting.place, place),
                (cutting.place, place),
                (cutting.apply_cure, "thicken-1"),
                (cutting.change_cut, bit),
                (cutting.change_cut, CutChange(slat_key="back-left")),
                (cutting.check_again,),
            ][how]
            self.ask(verb, who, whole, carving.id, carving.revision, *args)

    @rule(pick=PICK, who=ANYBODY)
    def submit(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        self.ask(ordering.submit_order, who, whole, whole.order.id, whole.order.revision)

    @rule(pick=PICK, who=ANYBODY, quantity=st.integers(0, 3))
    def amend(self, pick: int, who: str, quantity: int) -> None:
        whole = self.view(pick)
        lines = tuple(
            LineContent(line.model_key, quantity, tuple(c.slat_key for c in whole.carvings), "", line.id)
            for line in whole.lines
        )
        asked = replace(content(), lines=lines)
        self.ask(ordering.amend_order, who, whole, whole.order.id, whole.order.revision, asked)

    @rule(pick=PICK, who=ANYBODY)
    def offer(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        self.ask(approving.offer_proofs, who, whole, whole.order.id, shown(whole))

    @rule(pick=PICK, who=ANYBODY, some=st.booleans())
    def waive(self, pick: int, who: str, some: bool) -> None:
        whole = self.view(pick)
        for proof in whole.proofs:
            self.ask(approving.waive, who, whole, one(proof), proof.remarks[:1] if some else proof.remarks)

    @rule(pick=PICK, who=ANYBODY, forge=st.booleans())
    def sign(self, pick: int, who: str, forge: bool) -> None:
        whole = self.view(pick)
        seen = tuple(replace(each, picture="0" * 64) for each in shown(whole)) if forge else shown(whole)
        done = self.ask(approving.sign_off, who, whole, whole.order.id, seen)
        assert not (forge and done)

    @rule(pick=PICK, who=ANYBODY)
    def judge(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        self.ask(approving.find_feasible, who, whole, whole.order.id, shown(whole))

    @rule(pick=PICK, who=ANYBODY)
    def ask_for_change(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        for proof in whole.proofs[:1]:
            self.ask(approving.ask_for_change, who, whole, one(proof), "larger", (1.0, 2.0))

    @rule(pick=PICK, who=ANYBODY)
    def reject(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        for proof in whole.proofs[:1]:
            self.ask(approving.reject, who, whole, one(proof), "a knot")

    @rule(pick=PICK, who=ANYBODY)
    def release(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        self.ask(producing.release, who, whole, whole.order.id, whole.order.revision, shown(whole))

    @rule(pick=PICK, who=ANYBODY)
    def recall(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        self.ask(producing.recall, who, whole, whole.order.id, whole.order.revision, "wrong board")

    @rule(pick=PICK, who=ANYBODY, finish=st.booleans())
    def produce(self, pick: int, who: str, finish: bool) -> None:
        whole = self.view(pick)
        verb = producing.finish_production if finish else producing.start_production
        self.ask(verb, who, whole, whole.order.id, whole.order.revision)

    @rule(pick=PICK, who=ANYBODY)
    def batch(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        batch = self.ask(producing.take_batch, who, whole, (whole.order.id,))
        if batch is not None:
            assert self.world.look(whole).order.state in invariants.AT_BENCH

    @precondition(lambda self: len(self.views) > 10)
    @rule(pick=PICK, who=ANYBODY)
    def cancel(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        self.ask(ordering.cancel_order, who, whole, whole.order.id, whole.order.revision, "no")

    @precondition(lambda self: len(self.views) > 10)
    @rule(pick=PICK, who=ANYBODY)
    def erase(self, pick: int, who: str) -> None:
        whole = self.view(pick)
        self.ask(keeping.erase_client, who, whole, whole.order.id, whole.order.revision)

    @rule(pick=PICK, who=ANYBODY)
    def order_again(self, pick: int, who: str) -> None:
        if len({view.order.id for view in self.views}) < 4:
            whole = self.view(pick)
            placed = self.ask(ordering.reorder, who, whole, whole.order.id)
            self.keep(placed and placed.whole)

    @rule(more=st.booleans())
    def change_settings(self, more: bool) -> None:
        sand_more(self.world, 0.1 if more else 0.0)

    # -- what must hold

    @invariant()
    def nothing_is_cut_that_was_not_approved_so(self) -> None:
        state = invariants.fingerprint(self.world)
        if state != self.checked:
            invariants.check(self.world)
            self.checked = state


TestAnythingGoes = AnythingGoes.TestCase
TestAnythingGoes.settings = settings(max_examples=25, stateful_step_count=40)
