"""Issue 19: processor time of a request, in the server's process, against a bare Starlette hello in one run.

The process works for itself too. Nothing is measured before its queue is empty, and what it spends while nobody asks
is measured in the same run and taken off.
"""

from __future__ import annotations

import os
import socket
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx2

from seeds.shop import load
from service.settings import Settings
from service.store.engine import Database
from service.store.vault import Vault
from tests.bench.harness import Measured, case
from tests.bench.service_shop import LINES, copy_order
from tests.parts.process import Part, free_port, listens
from tests.parts.small import SmallShape
from tests.running import API, FROM_HERE, Caller, Json, art, carvings
from tests.waiting import until

HELLO = """
import sys, uvicorn
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse
from starlette.routing import Route

async def hello(request):
    return PlainTextResponse("hello")

app = Starlette(routes=[Route("/", hello)])
uvicorn.run(app, host="127.0.0.1", port=int(sys.argv[1]), log_level="warning", access_log=False)
"""
ROUNDS = 5


def spent(pid: int) -> float:
    """Processor time of a process so far, all its threads, seconds.

    By the process's own clock (clock_getcpuclockid(3); the kernel's number of it), not by proc(5), which counts in
    ticks of 10 ms: 2,000 hellos are a dozen of them.
    """
    return time.clock_gettime((~pid << 3) | 2)


def idle(pid: int, seconds: float = 10.0) -> float:
    """Share of a core that a process takes while nobody asks it for anything."""
    before = spent(pid)
    time.sleep(seconds)
    return (spent(pid) - before) / seconds


def each(pid: int, call: Callable[[], httpx2.Response], times: int, resting: float = 0.0) -> float:
    """Processor time of one call, seconds, without what the process spends at rest (share of a core)."""
    before, begun = spent(pid), time.monotonic()
    for _ in range(times):
        assert call().status_code == 200
    return (spent(pid) - before - resting * (time.monotonic() - begun)) / times


@contextmanager
def served() -> Iterator[tuple[SmallShape, Part, str]]:
    """The small shape as processes, and a bare hello."""
    with tempfile.TemporaryDirectory() as folder:
        home, port = Path(folder), free_port()
        hello = Part("hello", [sys.executable, "-c", HELLO, str(port)], home / "hello.log")
        # repairs are cut short: what they find is not asked for here, and all of them are to be over
        shape = SmallShape(home / "shape", repair_seconds=1, streams_at_once=600)
        hello.start()
        shape.start()
        try:
            hello.wait_until(lambda: listens(port))
            yield shape, hello, f"http://127.0.0.1:{port}"
        finally:
            shape.stop()
            hello.stop()


def shelf(shape: SmallShape) -> tuple[Caller, Json]:
    """Fifty proved orders of six carvings each; the maker, and one of the orders."""
    with Caller(base_url=shape.url, timeout=60, headers=FROM_HERE) as visitor:
        placed = visitor.send_order(lines=LINES)
    client = Caller(
        base_url=shape.url, timeout=60, headers={"Authorization": f"Bearer {placed['link_token']}"}
    )
    order = placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [c["id"] for c in carvings(order)])
    order = client.settled(order["id"], seconds=300)
    _wait_until_done(client, order["id"])
    client.close()
    database = Database(Settings(data=shape.data).database_url, Vault.of(None))
    copy_order(database, order["id"], 49)
    database.close()
    maker = Caller(base_url=shape.url, timeout=60, headers=FROM_HERE)
    who = next(person for person in load().people if person.role == "maker")
    maker.do("POST", "/session", json={"email": who.email, "password": load().password})
    return maker, order


def _wait_until_done(client: Caller, order_id: str, seconds: float = 300) -> None:
    """Until nothing waits or is worked on any more."""

    def done() -> bool:
        jobs = client.do("GET", f"/orders/{order_id}/jobs")["items"]
        return not any(job["state"] in {"waiting", "running"} for job in jobs)

    until(done, seconds)


IDS = "{ orders(first: 50) { edges { node { id } } } }"
CARVED = "{ orders(first: 50) { edges { node { id number state carvings { id slatKey state } } } } }"
PROVED = """{ orders(first: 50) { edges { node { id number state
  carvings { id slatKey state proof { id verdict sentence digest } } } } } }"""
Call = Callable[[Caller, Json], httpx2.Response]


def graph(query: str) -> Call:
    """A query as a call."""
    return lambda maker, _: maker.post("/graphql", json={"query": query})


REQUESTS: tuple[tuple[str, float, int, Call], ...] = (
    ("order GET, unchanged", 6, 400, lambda maker, order: maker.get(f"{API}/orders/{order['id']}")),
    ("list of 50 orders", 15, 200, lambda maker, _: maker.get(f"{API}/orders?first=50")),
    ("models, unchanging catalogue", 6, 200, lambda maker, _: maker.get(f"{API}/workshops/oxbarrow/models")),
    ("GraphQL, 50 orders: ids", 25, 100, graph(IDS)),
    ("GraphQL, 50 orders: + carvings", 70, 100, graph(CARVED)),
    ("GraphQL, 50 orders: + proofs", 110, 100, graph(PROVED)),
    ("form page", 40, 60, lambda maker, _: maker.get("/at/oxbarrow/longwalk-bench")),
)


def measured(name: str) -> Measured:
    """Medians over rounds in turn with the hello."""
    (_, _, times, call) = next(row for row in REQUESTS if row[0] == name)
    with served() as (shape, hello, url), httpx2.Client(base_url=url) as rival:
        maker, order = shelf(shape)
        each(shape.part.pid, lambda: call(maker, order), times)
        each(hello.pid, lambda: rival.get("/"), 200)
        resting = idle(shape.part.pid)
        ours, theirs = [], []
        for _ in range(ROUNDS):
            ours.append(each(shape.part.pid, lambda: call(maker, order), times, resting))
            theirs.append(each(hello.pid, lambda: rival.get("/"), 2000))
        maker.close()
        note = f"queue empty; {resting:.2%} of a core at rest taken off; load {os.getloadavg()[0]:.0f}"
        return Measured(
            statistics.median(ours) * 1e6,
            statistics.median(theirs) * 1e6,
            unit="µs of a processor",
            note=note,
        )


LISTENERS = 50
LISTENED_SECONDS = 70.0
"""Who listens is looked up anew once a minute, and a sign of life is sent every 14 s: all of that is in it."""


@contextmanager
def listening(shape: SmallShape, path: str, cookies: str) -> Iterator[None]:
    """Many who listen, each by a connection of their own, and hear nothing."""
    ask = f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept: text/event-stream\r\nCookie: {cookies}\r\n\r\n"
    held = [socket.create_connection(("127.0.0.1", shape.port)) for _ in range(LISTENERS)]
    try:
        for each_one in held:
            each_one.sendall(ask.encode())
            assert b" 200 " in each_one.recv(4096).split(b"\r\n")[0]
        yield
    finally:
        for each_one in held:
            each_one.close()


@case(
    issue=19, name="share of a core that silent listeners take", n="50 event streams of an order", target=0.5
)
def silent_listeners() -> Measured:
    """With them and without, by turns."""
    with served() as (shape, _, _):
        maker, order = shelf(shape)
        cookies = "; ".join(f"{name}={value}" for name, value in maker.cookies.items())
        alone, heard = [], []
        for _ in range(2):
            alone.append(idle(shape.part.pid, LISTENED_SECONDS))
            with listening(shape, f"{API}/orders/{order['id']}/events", cookies):
                time.sleep(5)
                heard.append(idle(shape.part.pid, LISTENED_SECONDS))
        maker.close()
    more = (statistics.mean(heard) - statistics.mean(alone)) * 100
    note = f"{statistics.mean(alone):.2%} of a core at rest taken off; load {os.getloadavg()[0]:.0f}"
    return Measured(more, unit="% of a core", note=note)


for _name, _target, _, _ in REQUESTS:

    @case(
        issue=19,
        name=f"processor time of a request against a bare hello: {_name}",
        n="50 orders",
        target=_target,
    )
    def cost(name: str = _name) -> Measured:
        return measured(name)
