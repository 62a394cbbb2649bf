"""Issue 8: the background engine and the start of the service, measured from outside of it."""

from __future__ import annotations

import math
import os
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa

from seeds.shop import load
from service.orders.actors import Client, Visitor
from service.orders.order import Contact
from service.orders.work import JobState
from service.root import Service, build
from service.seeding import seed_shop
from service.settings import Settings
from service.store.record_tables import jobs
from service.usecases import artworks, computing, ordering, shop
from service.usecases.commands import LineContent, OrderContent, Upload
from service.usecases.cutting import check_again
from service.usecases.looking import get_order
from tests.bench.harness import Measured, case
from tests.parts.process import bound

ROOT = Path(__file__).parents[2]
PICKUPS = 100
PROOFS = 12


@contextmanager
def working(folder: Path) -> Iterator[Service]:
    """The embedded service with its worker, without a door."""
    service = build(Settings(data=folder, compute=1))
    service.migrate()
    seed_shop(service.ctx)
    service.start()
    try:
        yield service
    finally:
        service.stop()


def client_of(service: Service) -> tuple[Client, str]:
    """The client of a new order with the seed crest on one slat, proved; and the carving's id."""
    ctx = service.ctx
    workshop = shop.list_workshops(ctx)[0]
    wanted = OrderContent(
        Contact("Imke Harrowdale", "imke@quillfern.example", "", ""),
        (LineContent("longwalk-bench", 1, ("back-centre",)),),
        rights_granted=True,
    )
    whole = ordering.place_order(ctx, Visitor(workshop.id, "192.0.2.7", "visit-1"), wanted).whole
    client = Client(workshop.id, whole.order.id, "link-1", "192.0.2.7")
    crest = load().artwork("crest.svg")
    upload = Upload(crest.data, crest.name, "image/svg+xml", (whole.carvings[0].id,))
    artworks.upload_artwork(ctx, client, whole.order.id, upload)
    settle(service)
    return client, whole.carvings[0].id


def settle(service: Service) -> None:
    """Wait until no work is left."""
    open_states = (JobState.WAITING.value, JobState.RUNNING.value)
    while True:
        with service.database.reading() as connection:
            if not connection.scalar(sa.select(sa.func.count()).where(jobs.c.state.in_(open_states))):
                return
        time.sleep(0.005)


def ask(service: Service, client: Client, carving_id: str) -> None:
    """Ask for the carving's proof once more."""
    carving = next(c for c in get_order(service.ctx, client, client.order_id).carvings if c.id == carving_id)
    check_again(service.ctx, client, carving_id, carving.revision)


@case(issue=8, name="request to job picked up, embedded, p99", n=f"{PICKUPS} requests", target=0.15)
def picked_up() -> Measured:
    """From the commit of the request to the worker's note that it began, by the rows' own times."""
    with tempfile.TemporaryDirectory() as folder, working(Path(folder)) as service:
        client, carving_id = client_of(service)
        begun = service.ctx.store
        waits: list[float] = []
        for _ in range(PICKUPS):
            ask(service, client, carving_id)
            asked = time.perf_counter()
            waiting = sa.select(sa.func.count()).where(jobs.c.state == JobState.WAITING.value)
            while True:
                with begun.reading() as connection:
                    if not connection.scalar(waiting):
                        break
                time.sleep(0.001)
            waits.append(time.perf_counter() - asked)
            settle(service)
    p99 = sorted(waits)[math.ceil(0.99 * PICKUPS) - 1]
    return Measured(p99, note=f"median {statistics.median(waits) * 1e3:.0f} ms")


@case(issue=8, name="a proof in the engine against the bare computation", n=f"{PROOFS} proofs", target=1.3)
def engine_share() -> Measured:
    """From the moment a proof's job begins to its end, against the same judging with nothing around it.

    Both sides run the computation in the same warm process; ours adds what the engine does: looking up,
    keeping files, storing, telling how far it is, and its own bookkeeping.
    """
    with tempfile.TemporaryDirectory() as folder, working(Path(folder)) as service:
        client, carving_id = client_of(service)
        ours, bare = [], []
        for _ in range(PROOFS):
            ours.append(_proof(service, client, carving_id))
            bare.append(_bare(service, client))
    return Measured(statistics.median(ours), statistics.median(bare))


def _proof(service: Service, client: Client, carving_id: str) -> float:
    ask(service, client, carving_id)
    running = sa.select(sa.func.count()).where(jobs.c.state == JobState.RUNNING.value)
    while True:
        with service.database.reading() as connection:
            if connection.scalar(running):
                break
        time.sleep(0.001)
    begun = time.perf_counter()
    settle(service)
    return time.perf_counter() - begun


def _bare(service: Service, client: Client) -> float:
    from service.orders.cuts import circumstances
    from service.store import shop as stored

    whole = get_order(service.ctx, client, client.order_id)
    (carving,) = whole.carvings
    with service.database.reading() as connection:
        settings = stored.read_settings(connection, client.workshop_id)
    at = circumstances(carving, whole.lines[0], settings)
    outline = service.ctx.blobs.get(carving.outline or "")
    begun = time.perf_counter()
    service.processes.run(computing.judge, outline, at, carving.placement, True, about=carving.outline)
    return time.perf_counter() - begun


@contextmanager
def serving(folder: Path) -> Iterator[tuple[subprocess.Popen[bytes], float]]:
    """The service as a process of its own, and how long its first answer took."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "service.cli", "serve", "--data", str(folder), "--port", str(port)]
    begun = time.perf_counter()
    process = subprocess.Popen(
        bound(command),
        cwd=ROOT,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "SLATPROOF_LOG_LEVEL": "warning"},
    )
    try:
        while not _answers(port):
            assert process.poll() is None, "the service did not start"
            time.sleep(0.01)
        yield process, time.perf_counter() - begun
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait()


def _answers(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5) as answer:
            return bool(answer.status == 200)
    except urllib.error.HTTPError:
        return True
    except OSError:
        return False


@case(issue=8, name="start of the service to its first answer", n="a folder in use", target=2.0)
def start() -> Measured:
    with tempfile.TemporaryDirectory() as folder:
        with serving(Path(folder)) as (_, first):
            pass
        found = []
        for _ in range(5):
            with serving(Path(folder)) as (_, seconds):
                found.append(seconds)
    return Measured(statistics.median(found), note=f"on a new folder {first:.2f} s")


@case(issue=8, name="idle memory, web and worker", n="20 s after the start", target=250.0)
def idle() -> Measured:
    """Proportional set size of the process and its children: what they share counts once."""
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder)) as (process, _):
        time.sleep(15)
        before, begun = _ticks(process.pid), time.perf_counter()
        time.sleep(5)
        share = (_ticks(process.pid) - before) / os.sysconf("SC_CLK_TCK") / (time.perf_counter() - begun)
        family = [process.pid, *_children(process.pid)]
        memory = sum(_kilobytes(pid, "smaps_rollup", "Pss:") for pid in family) / 1024
        resident = sum(_kilobytes(pid, "status", "VmRSS:") for pid in family) / 1024
    note = f"resident, shared pages counted in each: {resident:.0f} MB; idle processor {share:.1%}"
    return Measured(memory, unit="MB", note=note)


def _children(pid: int) -> list[int]:
    return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()] + [
        int(one)
        for task in Path(f"/proc/{pid}/task").iterdir()
        if task.name != str(pid)
        for one in (task / "children").read_text().split()
    ]


def _kilobytes(pid: int, file: str, field: str) -> int:
    lines = Path(f"/proc/{pid}/{file}").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith(field))


def _ticks(pid: int) -> int:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return int(fields[11]) + int(fields[12])
