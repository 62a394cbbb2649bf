"""One machine and many: starts, memory, the image; outages, hangs, floods and the rate of orders in the large shape."""

from __future__ import annotations

import json
import math
import os
import statistics
import subprocess
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from pathlib import Path

import httpx2
import sqlalchemy as sa

from service.orders.work import JobState
from service.store.record_tables import jobs
from tests.attack.attacks import wait_under_another_shops_flood
from tests.attack.victim import Victim
from tests.bench import bench_engine
from tests.bench.harness import Measured, case
from tests.load.idle import idle
from tests.parts.faulty_line import Trouble
from tests.parts.shape import DATABASE, Shape
from tests.running import FROM_HERE, Caller, art, carvings, placed_order

ROOT = Path(__file__).parents[2]
AWAY_SECONDS, READERS = 300.0, 24
RUSH_ORDERS, RUSH_CALLERS = 400, 16
_OPEN = (JobState.WAITING.value, JobState.RUNNING.value)

case(issue=23, name="start of the service to its first page", n="a folder in use", target=1.0)(
    bench_engine.start
)
case(issue=23, name="idle memory, web and worker", n="20 s after the start", target=220.0)(bench_engine.idle)


@case(issue=23, name="start of the service to its first page", n="a folder in use", target=1.0)
def first_page() -> Measured:
    """Wall-clock time; beside it the processor time until then, which a busy machine does not stretch."""
    with tempfile.TemporaryDirectory() as folder:
        walls, processor = [], []
        for _ in range(6):
            with bench_engine.serving(Path(folder)) as (process, seconds):
                walls.append(seconds)
                processor.append(bench_engine._ticks(process.pid) / os.sysconf("SC_CLK_TCK"))
    note = f"processor time until then {statistics.median(processor[1:]):.2f} s; load average {os.getloadavg()[0]:.1f}"
    return Measured(statistics.median(walls[1:]), note=note)


@case(issue=23, name="the container's image", n="Debian 12", target=600.0)
def image() -> Measured:
    """Of the image that ``scripts/fresh --image`` made last on this machine."""
    environ = os.environ | {"STORAGE_DRIVER": "vfs", "BUILDAH_ISOLATION": "chroot"}
    asked = ["buildah", "inspect", "--type", "image", "localhost/slatproof"]
    told = json.loads(subprocess.run(asked, env=environ, check=True, capture_output=True, text=True).stdout)
    listed = ["buildah", "images", "--json", "localhost/slatproof"]
    size = json.loads(subprocess.run(listed, env=environ, check=True, capture_output=True, text=True).stdout)
    words = size[0]["size"].split()
    megabytes = float(words[0]) * {"MB": 1, "GB": 1000}[words[1]]
    return Measured(megabytes, unit="MB", note=f"made {told['Docker']['created'][:16]}")


@contextmanager
def large(**given: int) -> Iterator[Shape]:
    """The large shape with the made-up workshop in it."""
    with tempfile.TemporaryDirectory(prefix="slatproof-bench-") as home:
        shape = Shape(Path(home) / "shape", **given)
        shape.start(seed=True)
        try:
            yield shape
        finally:
            shape.stop()


@case(issue=22, name="all work done after the files' return", n="away for 5 min, 6 orders", target=30.0)
def done_again() -> Measured:
    """Seconds; for ever where a piece was given up."""
    with large(webs=1, workers=1) as shape:
        engine = sa.create_engine(shape.database.owner_url(DATABASE))
        sent = [placed_order(shape.url) for _ in range(6)]
        for order, client in sent:
            client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
        shape.line.trouble = Trouble.DEAD
        time.sleep(AWAY_SECONDS)
        waited = _count(engine, *_OPEN)
        shape.line.trouble = Trouble.NONE
        began = time.monotonic()
        while _count(engine, *_OPEN):
            time.sleep(0.1)
        took = time.monotonic() - began
        failed = _count(engine, JobState.FAILED.value)
        engine.dispose()
        for _, client in sent:
            client.close()
    return Measured(took if not failed else math.inf, note=f"{waited} pieces waited, {failed} were given up")


def _count(engine: sa.Engine, *states: str) -> int:
    with engine.connect() as connection:
        return connection.scalar(sa.select(sa.func.count()).where(jobs.c.state.in_(states))) or 0


@case(issue=22, name="GET order while the files hang", n=f"{READERS} readers of a picture", target=0.2)
def order_while_files_hang() -> Measured:
    """The worst and the median of what is asked from the first reader on, until the breaker has answered all."""
    with large(webs=1, workers=1) as shape:
        order, client = placed_order(shape.url)
        sent = client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
        client.settled(order["id"], 120)
        picture = f"{shape.url}/api/v1/artworks/{sent['artworks'][0]['id']}/original"
        took: list[float] = []
        with ExitStack() as stack, ThreadPoolExecutor(READERS) as readers:
            # made beforehand: 24 clients in the making keep this process from asking for the order
            each_own = [
                stack.enter_context(httpx2.Client(headers=client.headers, timeout=60)) for _ in range(READERS)
            ]
            shape.line.trouble = Trouble.HUNG
            asked = [readers.submit(_status, reader, picture) for reader in each_own]
            while not all(each.done() for each in asked) or len(took) < 10:
                began = time.perf_counter()
                client.order(order["id"])
                took.append(time.perf_counter() - began)
                time.sleep(0.02)
            statuses = {each.result() for each in asked}
        shape.line.trouble = Trouble.NONE
        client.close()
    note = f"ours: the median; figure: the worst of {len(took)}; the readers got {statuses}"
    return Measured(sorted(took)[len(took) // 2], figure=max(took), note=note)


def _status(reader: httpx2.Client, url: str) -> int:
    return reader.get(url).status_code


@case(issue=22, name="another shop's proof under a flood", n="50 scans of one shop", target=3.0)
def flood() -> Measured:
    with tempfile.TemporaryDirectory() as home:
        victim = Victim(ROOT, Path(home))
        try:
            found = wait_under_another_shops_flood(victim)
        finally:
            victim.stop()
    return Measured(found.value, unit="×", note=found.detail)


@case(
    issue=22,
    name="orders placed a second in one shop",
    n=f"{RUSH_CALLERS} callers",
    target=100,
    sense="at least",
)
def orders_a_second() -> Measured:
    """Two web replicas on PostgreSQL, callers on the same two cores."""
    with large(webs=2, workers=1) as shape:
        placed_order(shape.url)[1].close()
        each = RUSH_ORDERS // RUSH_CALLERS

        def rush() -> None:
            with Caller(base_url=shape.url, timeout=60, headers=FROM_HERE) as visitor:
                for _ in range(each):
                    visitor.send_order()

        before, began = _processor(shape), time.perf_counter()
        with ThreadPoolExecutor(RUSH_CALLERS) as callers:
            for done in [callers.submit(rush) for _ in range(RUSH_CALLERS)]:
                done.result()
        took = time.perf_counter() - began
        spent = (_processor(shape) - before) / RUSH_ORDERS
    return Measured(
        RUSH_ORDERS / took, unit="/s", note=f"web replicas' processor time per order {spent * 1e3:.1f} ms"
    )


def _processor(shape: Shape) -> float:
    ticks = sum(bench_engine._ticks(part.pid) for part in shape.webs)
    return ticks / os.sysconf("SC_CLK_TCK")


@case(issue=22, name="statements a second while nobody acts", n="2 workers, 20 listeners", target=20)
def idle_statements() -> Measured:
    with tempfile.TemporaryDirectory(prefix="slatproof-bench-") as home:
        found = idle(Path(home))
    empty = found["empty_questions_per_second"]
    return Measured(
        found["statements_per_second"], unit="/s", note=f"and {empty} empty questions of the pool"
    )
