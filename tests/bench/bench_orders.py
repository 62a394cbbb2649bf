"""Issue 5: what the two doors cost beside hand-written ones, and a crowd deciding at once on either database."""

from __future__ import annotations

import json
import tempfile
import threading
from collections import Counter
from collections.abc import Callable

import httpx2
from pysqlite3 import dbapi2
from sqlalchemy import event
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from service.rest.in_thread import NAMED
from service.settings import Settings
from tests.bench.harness import Measured, case, compare, seconds
from tests.bench.service_shop import bare, copy_order, proved_order, shop
from tests.parts.database_server import DatabaseServer
from tests.running import Json, Running, art, carvings
from tests.service.usecases.crowd import Crowd
from tests.service.usecases.world import CannedCompute, make_world

PAGE = """query($first: Int!) { orders(first: $first) { edges { node { id number state updatedAt contact { name }
  carvings { id slatKey state proof { id verdict sentence findings { kind severity message measured required } } }
} } } }"""
KEYS = ("kind", "severity", "message", "measured", "required")


def hand_written(settings: Settings) -> Starlette:
    """The same rows as hand-written SQL and JSON, without asking who asks."""
    path = settings.data / "slatproof.db"

    def rows(sql: str, *given: object) -> list[tuple[object, ...]]:
        connection = dbapi2.connect(path)
        try:
            found: list[tuple[object, ...]] = connection.execute(sql, given).fetchall()
            return found
        finally:
            connection.close()

    def page() -> bytes:
        orders = rows(
            "SELECT id, number, state, updated_at, contact_name FROM orders ORDER BY number DESC LIMIT 50"
        )
        marks = ",".join("?" * len(orders))
        found = rows(
            'SELECT c.order_id, c.id, c.slat_key, c.state, p.id, p.verdict, p.sentence, p."check" FROM carvings c '
            f"LEFT JOIN proofs p ON p.id = c.proof_id WHERE c.order_id IN ({marks})",
            *(order[0] for order in orders),
        )
        of_order: dict[object, list[object]] = {}
        for order, carving, slat, state, proof, verdict, sentence, check in found:
            findings = (
                [{key: f[key] for key in KEYS} for f in json.loads(str(check))["findings"]] if check else []
            )
            told = {"id": proof, "verdict": verdict, "sentence": sentence, "findings": findings}
            carved = {"id": carving, "slatKey": slat, "state": state, "proof": told}
            of_order.setdefault(order, []).append(carved)
        names = ("id", "number", "state", "updatedAt", "contact")
        nodes = [dict(zip(names, o, strict=True)) | {"carvings": of_order.get(o[0], [])} for o in orders]
        return json.dumps({"data": {"orders": {"edges": [{"node": node} for node in nodes]}}}).encode()

    async def answer(_request: Request) -> Response:
        return Response(await run_in_threadpool(page), media_type="application/json")

    return Starlette(routes=[Route("/page", answer)])


def asked(call: Callable[[], httpx2.Response], times: int = 1) -> Callable[[], None]:
    """The call so many times; each must be answered well."""

    def run() -> None:
        for _ in range(times):
            assert call().status_code == 200

    return run


def shelf(running: Running, orders: int) -> None:
    """So many proved orders of six carvings each."""
    order = proved_order(running)
    copy_order(running.service.database, order["id"], orders - 1)


@case(issue=5, name="GraphQL page against hand-written SQL and JSON", n="50 orders, 300 carvings", target=4)
def graph_page() -> Measured:
    with shop() as running, bare(hand_written(running.service.settings)) as floor:
        shelf(running, 50)
        maker, rival = running.maker(), httpx2.Client(base_url=floor, timeout=60)
        body = {"query": PAGE, "variables": {"first": 50}}
        ours = maker.post("/graphql", json=body).json()["data"]["orders"]["edges"]
        theirs = rival.get("/page").json()["data"]["orders"]["edges"]
        assert findings_in(ours) == findings_in(theirs) > 0
        found = compare(
            asked(lambda: maker.post("/graphql", json=body)), asked(lambda: rival.get("/page")), 15
        )
        rival.close()
        return found


def findings_in(edges: list[Json]) -> int:
    return sum(len(c["proof"]["findings"]) for edge in edges for c in edge["node"]["carvings"])


@case(issue=5, name="REST order GET against a bare Starlette JSON route", n="1 carving, unchanged", target=2)
def rest_order() -> Measured:
    """The route gives the very same document from memory: no database, nobody to be asked for."""
    document: Json = {}

    async def answer(_request: Request) -> Response:
        return JSONResponse(document)

    with shop() as running, bare(Starlette(routes=[Route("/order", answer)])) as floor:
        placed = running.caller().send_order()
        client, order = running.caller(placed["link_token"]), placed["order"]
        client.upload(order["id"], "crest.svg", art("crest.svg"), [c["id"] for c in carvings(order)])
        document |= client.settled(order["id"])
        maker, rival = running.maker(), httpx2.Client(base_url=floor, timeout=60)
        path = f"/api/v1/orders/{order['id']}"
        found = compare(asked(lambda: maker.get(path), 50), asked(lambda: rival.get("/order"), 50), 11)
        bare_once = seconds(asked(lambda: rival.get("/order"), 50))
        copies = copy_order(running.service.database, order["id"], 50)
        first = seconds(lambda: look_at(maker, copies)) / bare_once
        rival.close()
        note = f"50 looks in turn at an order that does not change; first looks: {first:.1f} times the bare route"
        return Measured(found.ours, found.rival, note=note)


def look_at(maker: httpx2.Client, orders: list[str]) -> None:
    """One look at each."""
    for order in orders:
        assert maker.get(f"/api/v1/orders/{order}").status_code == 200


@case(issue=5, name="SQL statements of a GraphQL page", n="500 carvings beside 50", target=1)
def statements() -> Measured:
    """The ratio of statements for 10 times the orders on a page."""
    with shop() as running:
        shelf(running, 84)
        maker, counted = running.maker(), [0]

        def count(*_: object) -> None:
            counted[-1] += threading.current_thread().name.startswith(NAMED)

        def page(first: int) -> None:
            counted.append(0)
            answer = maker.post("/graphql", json={"query": PAGE, "variables": {"first": first}}).json()
            assert len(answer["data"]["orders"]["edges"]) == first

        page(84)
        event.listen(running.service.database.engine, "before_cursor_execute", count)
        page(84)
        page(9)
        event.remove(running.service.database.engine, "before_cursor_execute", count)
        many, few = counted[-2:]
        return Measured(
            many, few, unit="statements", note=f"84 orders with 504 carvings: {many}; 9 with 54: {few}"
        )


SECONDS = 60.0


@case(issue=5, name="64 people deciding at once, wrong states and lost decisions", n="SQLite, 60 s", target=0)
def crowd_on_sqlite() -> Measured:
    with tempfile.TemporaryDirectory() as folder:
        return crowded(f"sqlite:///{folder}/crowd.db")


@case(
    issue=5,
    name="64 people deciding at once, wrong states and lost decisions",
    n="PostgreSQL, 60 s",
    target=0,
)
def crowd_on_postgres() -> Measured:
    server = DatabaseServer()
    server.start()
    try:
        return crowded(server.create("crowd"))
    finally:
        server.remove()


def crowded(url: str) -> Measured:
    world = make_world(url, CannedCompute())
    crowd = Crowd(world, people=64, orders=12)
    crowd.decide(SECONDS)
    wrong = crowd.faults()
    told = Counter(kind.value for kind, _ in crowd.accepted.elements())
    world.database.close()
    accepted = ", ".join(f"{count} × {kind}" for kind, count in sorted(told.items()))
    refused = ", ".join(f"{count} × {kind}" for kind, count in sorted(crowd.refused.items()))
    note = f"accepted: {accepted}; refused in words: {refused}; the chain holds"
    return Measured(SECONDS, figure=float(len(wrong)), unit="faults", note="; ".join(wrong) or note)
