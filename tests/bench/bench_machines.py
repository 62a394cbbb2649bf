"""One machine and many: starts, memory, the image; outages, hangs, floods and the rate of orders in the large shape."""

from __future__ import annotations

import json
import math
import os
import statistics
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from pathlib import Path

import httpx2
import psycopg
import sqlalchemy as sa

from seeds.shop import load
from service.orders.work import JobState
from service.store.record_tables import jobs
from tests.attack.attacks import wait_under_another_shops_flood
from tests.attack.victim import Victim
from tests.bench import bench_engine
from tests.bench.harness import Measured, case
from tests.bench.plain_caller import PlainCaller
from tests.faults.rounds import sign_in
from tests.load.idle import idle
from tests.load.workers import compared
from tests.parts.faulty_line import Trouble
from tests.parts.process import processor_seconds
from tests.parts.shape import DATABASE, Shape
from tests.running import API, FROM_HERE, ORDER_BODY, art, carvings, placed_order, revision

ROOT = Path(__file__).parents[2]
AWAY_SECONDS, READERS = 300.0, 24
RUSH_ORDERS, RUSH_CALLERS, WARM_UP = 640, 16, 64
QUEUE_ORDERS, LOOKERS, LOOK_SECONDS = 40, 8, 8.0
_ROWS = {
    "orders": "id", "lines": "order_id", "carvings": "order_id", "client_links": "order_id", "messages": "order_id",
    "events": "order_id", "order_words": "order_id",
}  # fmt: skip
"""Tables that a new order has rows in, and by what they are found."""
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
    """Two web replicas on PostgreSQL, callers on the same two cores.

    The floor: the same threads put as many rows into the same server, in a statement a table and a commit an order,
    without a service, indexes, triggers or keys of other tables.
    """
    with large(webs=2, workers=1) as shape:
        _in_turns(lambda _: _rush(shape, WARM_UP // RUSH_CALLERS))
        before = _processor(shape)
        rate = _in_turns(lambda _: _rush(shape, RUSH_ORDERS // RUSH_CALLERS)) * RUSH_ORDERS
        spent = {name: (seconds - before[name]) / RUSH_ORDERS for name, seconds in _processor(shape).items()}
        floor = _in_turns(_BareRows(shape).put) * RUSH_ORDERS
    note = f"processor time per order, ms: {_told(spent)}; {_load()}"
    return Measured(rate, floor, figure=rate, unit="/s", note=note)


def _told(spent: Mapping[str, float]) -> str:
    return ", ".join(f"{name} {seconds * 1e3:.1f}" for name, seconds in spent.items())


def _load() -> str:
    return f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"


def _in_turns(each: Callable[[int], None]) -> float:
    """What all callers do side by side, a second."""
    began = time.perf_counter()
    with ThreadPoolExecutor(RUSH_CALLERS) as callers:
        list(callers.map(each, range(RUSH_CALLERS)))
    return 1 / (time.perf_counter() - began)


def _rush(shape: Shape, many: int) -> None:
    with PlainCaller(shape.url, FROM_HERE) as visitor:
        for _ in range(many):
            visitor.post(f"{API}/workshops/{load().key}/orders", ORDER_BODY)


class _BareRows:
    """The rows of one order, put in again and again."""

    def __init__(self, shape: Shape) -> None:
        self._url = shape.database.owner_url(DATABASE).replace("+psycopg", "")
        with psycopg.connect(self._url) as connection:
            (self._order,) = connection.execute(
                "SELECT id FROM orders ORDER BY number DESC LIMIT 1"
            ).fetchone()
            for table in _ROWS:
                connection.execute(f"CREATE TABLE bare_{table} (LIKE {table})")

    def put(self, _caller: int) -> None:
        with psycopg.connect(self._url) as connection:
            for _ in range(RUSH_ORDERS // RUSH_CALLERS):
                for table, key in _ROWS.items():
                    copied = f"INSERT INTO bare_{table} SELECT * FROM {table} WHERE {key} = %s"
                    connection.execute(copied, [self._order])
                connection.commit()


def _processor(shape: Shape) -> dict[str, float]:
    """Seconds of a processor that each part has had."""
    here = os.times()
    return {
        "web replicas": sum(processor_seconds(part.pid) for part in shape.webs),
        "worker": sum(processor_seconds(part.pid) for part in shape.workers),
        "database": processor_seconds(shape.database.part.pid),
        "callers": here.user + here.system,
    }


@case(issue=22, name="two workers to one", n="60 scans", target=1.75, sense="at least")
def two_workers() -> Measured:
    """Pieces of work a second by two workers and by one, on these cores."""
    with tempfile.TemporaryDirectory(prefix="slatproof-bench-") as home:
        found = compared(Path(home))
    rates, ratio = found["work_per_second"], found["two_to_one"]
    spent = found["processor_seconds_a_piece"]
    note = f"processor time a piece, s: by one {spent['1']}, by two {spent['2']}; {_load()}"
    return Measured(rates["2"], rates["1"], figure=ratio, unit="/s", note=note)


@case(issue=22, name="two replicas to one, queue page", n=f"{LOOKERS} lookers", target=1.6, sense="at least")
def two_replicas() -> Measured:
    """Pages a second of the maker's queue by two replicas and by one, in turn; lookers on the same cores."""
    with large(webs=2, workers=1) as shape:
        for _ in range(QUEUE_ORDERS):
            order, client = placed_order(shape.url)
            with client:
                client.do("POST", f"/orders/{order['id']}/submission", headers=revision(order))
        maker = sign_in(shape.url)
        seen: dict[int, list[tuple[float, dict[str, float]]]] = {1: [], 2: []}
        for _ in range(3):
            for count, rounds in seen.items():
                rounds.append(_looked(shape, shape.web_urls[:count], maker))
    one, two = (statistics.median(rate for rate, _ in seen[count]) for count in seen)
    spent = "; ".join(f"by {count}: {_told(min(rounds, key=_whole)[1])}" for count, rounds in seen.items())
    note = f"processor time per page, ms, {spent}; {_load()}"
    return Measured(two, one, figure=two / one, unit="/s", note=note)


def _whole(found: tuple[float, dict[str, float]]) -> float:
    return sum(found[1].values())


def _looked(shape: Shape, urls: Sequence[str], maker: dict[str, str]) -> tuple[float, dict[str, float]]:
    """Pages a second, and processor time per page."""
    before, began = _processor(shape), time.perf_counter()
    end = began + LOOK_SECONDS
    headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in maker.items())}

    def look(caller: int) -> int:
        many = 0
        with PlainCaller(urls[caller % len(urls)], headers) as looker:
            while time.perf_counter() < end:
                looker.get("/bench?show=clients")
                many += 1
        return many

    with ThreadPoolExecutor(LOOKERS) as lookers:
        pages = sum(lookers.map(look, range(LOOKERS)))
    rate = pages / (time.perf_counter() - began)
    return rate, {name: (after - before[name]) / pages for name, after in _processor(shape).items()}


@case(issue=22, name="statements a second while nobody acts", n="2 workers, 20 listeners", target=20)
def idle_statements() -> Measured:
    with tempfile.TemporaryDirectory(prefix="slatproof-bench-") as home:
        found = idle(Path(home))
    empty = found["empty_questions_per_second"]
    return Measured(
        found["statements_per_second"], unit="/s", note=f"and {empty} empty questions of the pool"
    )
