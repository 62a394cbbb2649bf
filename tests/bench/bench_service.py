"""Issue 8: what the background engine, the start and the idling of the service cost."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count

import httpx2
from sqlalchemy import select

from artwork.cut import Placement
from service.orders.actors import System
from service.orders.cuts import circumstances
from service.orders.work import JobState
from service.store.record_tables import jobs as job_rows
from service.usecases import looking
from service.usecases import shop as settings_of
from service.usecases.computing import judge
from tests.bench.harness import Measured, alone, case, compare
from tests.bench.service_shop import family, resident_mb, shop
from tests.running import Caller, Json, Running, art, carvings, revision

JOBS = 60
PORT = 8390


def one_carving(running: Running, name: str) -> tuple[Caller, Json]:
    """An order with one carving of that art, checked; its client."""
    placed = running.caller().send_order()
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.upload(order["id"], name, art(name), [carvings(order)[0]["id"]])
    return client, client.settled(order["id"])


@case(issue=8, name="request to job picked up, p99", n=f"{JOBS} checks, embedded", target=0.150)
def picked_up() -> Measured:
    """From the end of the request that asked for the work until the work begins."""
    waits: list[float] = []
    with shop() as running:
        client, order = one_carving(running, "crest.svg")
        for _ in range(JOBS):
            carving = carvings(client.order(order["id"]))[0]
            client.do("POST", f"/carvings/{carving['id']}/checks", headers=revision(carving))
            asked_at = time.perf_counter()
            while waiting(running):
                time.sleep(0.001)
            waits.append(time.perf_counter() - asked_at)
            client.settled(order["id"])
    return Measured(statistics.quantiles(waits, n=100)[98], note=f"median {statistics.median(waits):.3f} s")


def waiting(running: Running) -> bool:
    with running.service.database.reading() as connection:
        left = select(job_rows.c.id).where(job_rows.c.state == JobState.WAITING.value)
        return connection.execute(left.limit(1)).first() is not None


@case(
    issue=8, name="a proof through the engine against the bare computation", n="scan, centre slat", target=1.3
)
def proof_through_engine() -> Measured:
    """From placing to the proof's being there, against the same function in this process."""
    with shop() as running:
        client, order = one_carving(running, "scan.jpg")
        ctx, placement = running.service.ctx, carvings(order)[0]["placement"]
        actor = System(settings_of.list_workshops(ctx)[0].id)
        whole = looking.get_order(ctx, actor, order["id"])
        at = circumstances(whole.carvings[0], whole.lines[0], settings_of.get_settings(ctx, actor))
        outline = ctx.blobs.get(whole.carvings[0].outline or "")
        sizes = (placement["scale"] * (1 - step / 1000) for step in count(1))

        def through() -> None:
            now = carvings(client.order(order["id"]))[0]
            smaller = placement | {"scale": next(sizes)}
            client.do("PUT", f"/carvings/{now['id']}/placement", json=smaller, headers=revision(now))
            client.settled(order["id"])

        return compare(through, lambda: judge(outline, at, Placement(**placement), True), rounds=7)


@case(issue=8, name="start to first answer", n="scripts/serve, seeded", target=2)
def start() -> Measured:
    def once() -> None:
        with started(folder):
            pass

    with tempfile.TemporaryDirectory() as folder:
        return alone(once, rounds=3)


@case(issue=8, name="idle memory, web and worker", n="embedded, MB", target=250)
def idle_memory() -> Measured:
    with tempfile.TemporaryDirectory() as folder, started(folder) as pid:
        time.sleep(5)
        parts = [resident_mb(one) for one in family(pid)]
    note = "resident, shared pages divided among their users: " + " + ".join(f"{part:.0f}" for part in parts)
    return Measured(sum(parts), unit="MB", note=note)


@contextmanager
def started(folder: str) -> Iterator[int]:
    """The service as ``scripts/serve`` starts it, from its first answer until the block ends; its process."""
    command = [sys.executable, "-m", "service.cli", "serve", "--seed", "--data", folder, "--port", str(PORT)]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        while not answers():
            assert process.poll() is None, "the service did not start"
            time.sleep(0.01)
        yield process.pid
    finally:
        process.terminate()
        process.wait()


def answers() -> bool:
    try:
        return httpx2.get(f"http://127.0.0.1:{PORT}/api/v1/workshops").status_code == 200
    except httpx2.TransportError:
        return False
