"""Client, maker, helper and strangers at once, in any order, through the REST door of the running service.

The rules underneath are tried the same way, and at greater length, in tests/service/usecases. Here the table of
states is held against what the doors answer: a step that the table refuses is refused, one that is taken leads
where the table says, strangers find nothing, and nothing is released that was not approved so.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from hypothesis import Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from service.orders.actors import Role
from service.orders.states import CARVING_STEPS, ORDER_STEPS, CarvingStep, OrderStep
from service.usecases import people, shop
from tests.running import API, FROM_HERE, Caller, Json, Running, art, carvings, revision, shown

BURST = 25
REASON = {"reason": "the pavilion moved"}
ROLES = {"client": Role.CLIENT, "maker": Role.MAKER, "helper": Role.HELPER}
STRANGERS = ("other-client", "nobody", "foreign-token")
DECIDED = {"signed": {"sign-off"}, "feasible": {"feasibility"}}
BOTH = {"approved", "released"}
ONE_ACT = {"sign-off": ("submit", "offer", "sign-off")}
"""A client who signs sends the order and has it offered by the same act."""
PASSWORD = "shavings up to the knees"
TAKEN: Counter[str] = Counter()
"""How often each step was taken, one after another."""


def places(order: Json) -> str:
    return f"{API}/orders/{order['id']}"


def on_first(order: Json) -> str:
    return f"{API}/carvings/{carvings(order)[0]['id']}"


def step(path: str, body: Json | None = None) -> Callable[[Json], dict[str, Any]]:
    def ask(order: Json) -> dict[str, Any]:
        return {"method": "POST", "url": places(order) + path, "json": body, "headers": revision(order)}

    return ask


def decision(path: str, **more: Any) -> Callable[[Json], dict[str, Any]]:
    def ask(order: Json) -> dict[str, Any]:
        return {"method": "POST", "url": places(order) + path, "json": {"shown": shown(order)} | more,
                "headers": revision(order)}  # fmt: skip

    return ask


def about_first(path: str, **more: Any) -> Callable[[Json], dict[str, Any]]:
    def ask(order: Json) -> dict[str, Any]:
        return {"method": "POST", "url": API + path, "json": {"shown": shown(order)[0]} | more}

    return ask


def lay(order: Json) -> dict[str, Any]:
    carving = carvings(order)[0]
    turned = carving["placement"] | {"rotation_deg": (carving["placement"]["rotation_deg"] + 180) % 360}
    return {
        "method": "PUT",
        "url": on_first(order) + "/placement",
        "json": turned,
        "headers": revision(carving),
    }


def upload(data: bytes) -> Callable[[Json], dict[str, Any]]:
    def ask(order: Json) -> dict[str, Any]:
        ids = ",".join(carving["id"] for carving in carvings(order))
        sent = {"files": {"file": ("a.svg", data)}, "data": {"carvings": ids}}
        return {"method": "POST", "url": places(order) + "/artworks"} | sent

    return ask


Act = tuple[str, Callable[[Json], dict[str, Any]]]
# What can be asked for: the step of the table, and the request. Some steps have several.
ACTS: tuple[Act, ...] = (
    ("submit", step("/submission")), ("cancel", step("/cancellation", REASON)), ("recall", step("/recall", REASON)),
    ("start", step("/production")), ("finish", step("/completion")), ("release", decision("/release")),
    ("offer", decision("/offers")), ("find-feasible", decision("/feasibility")),
    ("ask-change", about_first("/change-requests", words="larger, please")),
    ("reject", about_first("/rejections", reason="a knot")),
    ("change", lay), ("give-art", upload(art("crest.svg"))), ("give-art", upload(b"no picture at all")),
)  # fmt: skip
# What leads on is tried more often than what leads back.
WEIGHTS = {"cancel": 0.1, "give-art": 0.1, "change": 0.3, "reject": 0.3, "ask-change": 0.3, "recall": 0.5,
           "find-feasible": 4, "release": 6, "offer": 3, "start": 2}  # fmt: skip


class AnythingGoes(RuleBasedStateMachine):
    """Each act is one request of one person, made from a view of the order that may be out of date."""

    def __init__(self, running: Running, callers: dict[str, Caller]) -> None:
        super().__init__()
        self.running, self.callers = running, dict(callers)
        self.views: list[Json] = []

    @initialize(far=st.sampled_from(["checked", "offered", "approved"]))
    def an_order_with_art(self, far: str) -> None:
        placed = self.running.caller().send_order()
        self.callers["client"] = client = self.running.caller(placed["link_token"])
        order = placed["order"]
        client.upload(order["id"], "crest.svg", art("crest.svg"), [c["id"] for c in carvings(order)])
        self.order_id, maker = order["id"], self.callers["maker"]
        order = client.settled(order["id"])
        if far != "checked":
            client.do("POST", f"/orders/{order['id']}/submission", headers=revision(order))
            maker.do("POST", f"/orders/{order['id']}/offers", json={"shown": shown(order)})
        if far == "approved":
            client.sign(client.order(order["id"]))
            maker.do("POST", f"/orders/{order['id']}/feasibility", json={"shown": shown(order)})
        self.views = [client.settled(order["id"])]

    @rule(seed=st.integers(0, 2**32))
    def a_busy_moment(self, seed: int) -> None:
        """One rule, for hypothesis would leave one of two out of most examples."""
        chance = random.Random(f"{seed} {len(self.views)}")
        self.one_after_another(chance)
        self.all_at_once(chance)

    def one_after_another(self, chance: random.Random) -> None:
        """Mostly what the table opens, by whoever may; else anything by anybody, from views old and new."""
        for _ in range(BURST):
            now = self.now()
            view = now if chance.random() < 0.85 else chance.choice(self.views)
            may = [(who, act) for act in ACTS for who, role in ROLES.items() if self.may(role, act[0], now)]
            if chance.random() < 0.25:
                self.sign(view)
            elif may and chance.random() < 0.6:
                ((who, act),) = chance.choices(may, [WEIGHTS.get(act[0], 1.0) for _, act in may])
                self.act(who, act, view)
            else:
                self.act(chance.choice([*ROLES, *STRANGERS]), chance.choice(ACTS), view)

    def all_at_once(self, chance: random.Random) -> None:
        """From one view, at the same moment: whatever comes of it, each gets a proper answer."""
        view = self.now()
        with ThreadPoolExecutor(5) as together:
            asked = [
                together.submit(self.ask, who, chance.choice(ACTS)[1], view)
                for who in ("client", "maker", "maker", "helper", chance.choice(STRANGERS))
            ]
        for who, done in zip(("client", "maker", "maker", "helper", "stranger"), asked, strict=True):
            if (status := done.result()) is not None:
                assert status in (200, 201, 403, 409, 412, 422) or (
                    who == "stranger" and status in (401, 404)
                )
                assert who != "stranger" or status in (401, 403, 404)

    @invariant()
    def what_stands_was_decided(self) -> None:
        if not self.views:
            return
        order = self.now()
        found = self.callers["maker"].do("GET", f"/orders/{self.order_id}/decisions")["items"]
        at_bench = order["state"] in ("released", "in-production", "done")
        for carving in carvings(order):
            assert (carving["state"] == "released") == at_bench or order["state"] == "cancelled"
            needed = (
                {"sign-off", "feasibility"}
                if carving["state"] in BOTH
                else DECIDED.get(carving["state"], set())
            )
            proof = carving["proof"]
            about = [e["kind"] for e in found if proof and e["proof_id"] == proof["id"]]
            voided = max(
                (i for i, kind in enumerate(about) if kind in ("change-request", "rejection")), default=-1
            )
            assert needed <= set(about[voided + 1 :]), (carving["state"], about)

    def now(self) -> Json:
        order = self.callers["maker"].settled(self.order_id, seconds=60)
        self.views.append(order)
        return order

    def ask(self, who: str, request: Callable[[Json], dict[str, Any]], view: Json) -> int | None:
        """The status of the answer; ``None`` where the view holds nothing to ask about."""
        try:
            made = request(view)
        except (IndexError, TypeError):
            return None
        answer = self.callers[who].request(**made)
        assert answer.status_code < 500, answer.text
        return answer.status_code

    def act(self, who: str, act: Act, view: Json) -> None:
        event, request = act
        before = self.callers["maker"].settled(self.order_id, seconds=60)
        status = self.ask(who, request, view)
        if status is None:
            return
        if who in STRANGERS:
            assert status in (401, 403, 404), (who, event, status)
            return
        steps = [s for s in (*ORDER_STEPS, *CARVING_STEPS) if s.event == event]
        if not any(ROLES[who] in s.by for s in steps):
            assert status == 403, (who, event, status)
        elif not self.may(ROLES[who], event, before):
            assert status in (200, 409, 412, 422), (
                who,
                event,
                status,
            )  # 200: decided already, so nothing changes
        else:
            assert status in (200, 201, 409, 412, 422), (who, event, status)
        if status < 300:
            TAKEN[event] += 1
        self.leads_where_the_table_says(event, status, before)

    def sign(self, view: Json) -> None:
        """Sign what is seen, remarks and price accepted; refused where it is not open."""
        client = self.callers["client"]
        for carving, seen in zip(carvings(view), shown(view), strict=False):
            if carving["proof"] and carving["proof"]["remarks"]:
                given = {"shown": seen, "remarks": carving["proof"]["remarks"]}
                assert client.post(f"{API}/waivers", json=given).status_code in (200, 409, 422)
        before = self.callers["maker"].settled(self.order_id, seconds=60)
        if shown(view):
            given = {"shown": shown(view), "quote": client.quote(self.order_id)}
            status = client.post(f"{API}/orders/{self.order_id}/sign-offs", json=given).status_code
            assert status in (200, 409, 422)
            self.leads_where_the_table_says("sign-off", status, before)

    def may(self, role: Role, event: str, order: Json) -> bool:
        by_order = any(s.event == event and order["state"] in s.sources and role in s.by for s in ORDER_STEPS)
        states = {carving["state"] for carving in carvings(order)}
        by_carving = any(
            s.event == event and role in s.by and order["state"] in s.order and s.sources & states
            for s in CARVING_STEPS
        )
        return by_order or by_carving

    def leads_where_the_table_says(self, event: str, status: int, before: Json) -> None:
        after = self.callers["maker"].order(self.order_id)
        if status >= 400:
            assert (after["state"], after["revision"]) == (before["state"], before["revision"]), event
            return
        events = ONE_ACT.get(event, (event,))
        assert after["state"] in self.within_reach(ORDER_STEPS, events, before["state"]), (
            event,
            before,
            after,
        )
        later = {"reading", "checking", "checked", "refused"} if event in ("change", "give-art") else set()
        for was, now in zip(carvings(before), carvings(after), strict=True):
            within = self.within_reach(CARVING_STEPS, events, was["state"])
            assert now["state"] in within | later, (event, was["state"], now["state"])

    @staticmethod
    def within_reach(
        table: Sequence[OrderStep | CarvingStep], events: tuple[str, ...], state: str
    ) -> set[str]:
        """Where the events, one after another and each where it is open, lead from a state; the state itself too."""
        states = {state}
        for event in events:
            states |= {s.to for s in table if s.event == event and s.to and s.sources & states}
        return states


@pytest.fixture(scope="module")
def callers(running: Running) -> dict[str, Caller]:
    ctx = running.service.ctx
    mine = shop.find_workshop(ctx, "oxbarrow")
    people.open_account(ctx, mine.id, "pim@oxbarrow.example", name="Pim", role=Role.HELPER, password=PASSWORD)
    helper = running.caller(headers=FROM_HERE)
    helper.do("POST", "/session", json={"email": "pim@oxbarrow.example", "password": PASSWORD})
    return {
        "maker": running.maker(),
        "helper": helper,
        "other-client": running.caller(running.caller().send_order()["link_token"]),
        "nobody": running.caller(),
        "foreign-token": running.caller("sptoken_made-up"),
    }


def test_the_doors_keep_to_the_table(running: Running, callers):
    run_state_machine_as_test(
        lambda: AnythingGoes(running, callers),
        # What a running service answers depends on its moment: a smaller example cannot be looked for, only waited for.
        settings=settings(
            max_examples=3, stateful_step_count=4, deadline=None, phases=(Phase.explicit, Phase.generate)
        ),
    )
    assert callers["maker"].do("GET", "/record/verification")["holds"]
    assert len(TAKEN) >= 5, TAKEN  # it really got about: not all was refused
