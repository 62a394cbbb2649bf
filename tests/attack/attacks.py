"""The attacks, each with a figure and its target."""

from __future__ import annotations

import random
import statistics
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass

import httpx2

from tests.attack.victim import SECOND, Victim, going_on, waits
from tests.running import art, carvings
from tests.schema.test_budget import aliased, doubling

DOUBLINGS = 20
ATTACKER = "127.0.0.66"


@dataclass(frozen=True)
class Figure:
    """One row of the table."""

    name: str
    unit: str
    value: float
    target: float | None
    detail: str = ""


def graph(query: str) -> Callable[[httpx2.Client], httpx2.Response]:
    return lambda caller: caller.post("/graphql", json={"query": query})


SIGN_IN = {"email": "nobody@oxbarrow.example", "password": "not it at all, no"}
REQUESTS: dict[str, Callable[[httpx2.Client], httpx2.Response]] = {
    "fragments doubled 20 times": graph(doubling(DOUBLINGS)),
    "one field 370 times": graph("{" + "viewer{role} " * 370 + "}"),
    "the schema 12 times": graph(aliased(12, "__schema { types { name fields { name args { name } } } }")),
    "15 trials": graph(aliased(15, 'trial(carvingId: "a") { __typename }')),
    "a string of 60 kB": graph('{ workshop(key: "' + "a" * 60_000 + '") { key } }'),
    "brackets in brackets": lambda c: c.post(
        "/graphql", content=b"[" * 60_000, headers={"Content-Type": "application/json"}
    ),
    "a wrong password": lambda c: c.post("/api/v1/session", json=SIGN_IN),
    "an order": lambda c: c.post("/api/v1/workshops/oxbarrow/orders", json={"lines": []}),
    "a page": lambda c: c.get("/"),
    "the reference": lambda c: c.get("/reference/graphql"),
}


def dearest_request(victim: Victim, names: Sequence[str] = tuple(REQUESTS)) -> Figure:
    """Processor seconds of the dearest request that needs no credentials."""
    costs: dict[str, float] = {}
    for name in names:
        ask = REQUESTS[name]
        victim.settle()
        before = victim.processor_seconds()
        with victim.caller(ATTACKER, seconds=40) as caller, suppress(httpx2.HTTPError):  # it still costs
            ask(caller)
        victim.settle()
        costs[name] = max(victim.processor_seconds() - before, 0.0)
    dearest = max(costs, key=costs.__getitem__)
    return Figure("dearest anonymous request", "processor s", round(costs[dearest], 2), 1.0, dearest)


def wait_under_fragments(victim: Victim, rounds: int = 4, times: int = 5) -> Figure:
    """An honest visitor's wait for a page, quiet and while four others send documents of doubled fragments."""
    quiet: list[float] = []
    busy: list[float] = []
    attackers = [victim.caller(ATTACKER, seconds=10) for _ in range(4)]

    def asking(caller: httpx2.Client) -> Callable[[], None]:
        def ask() -> None:
            caller.post("/graphql", json={"query": doubling(17)})
            time.sleep(0.05)

        return ask

    for _ in range(rounds):
        quiet += waits(victim, times)
        with going_on([asking(each) for each in attackers]):
            time.sleep(0.5)
            busy += waits(victim, times)
        victim.settle(60)
    for each in attackers:
        each.close()
    before, under = statistics.median(quiet), statistics.median(busy)
    detail = f"{before * 1000:.0f} ms quiet, {under * 1000:.0f} ms under attack"
    return Figure(
        "wait for a page while fragments double", "× of quiet", round(under / before, 1), 3.0, detail
    )


UPLOAD = (
    b"POST /api/v1/orders/%s/artworks HTTP/1.1\r\nHost: a\r\nContent-Type: image/png\r\n"
    b"Content-Length: 1000000\r\n%s\r\n"
)


def _trickle(sockets: list, over: threading.Event, every: float) -> threading.Thread:
    def feed() -> None:
        while not over.wait(every):
            for each in sockets:
                with suppress(OSError):
                    each.send(b"x")

    thread = threading.Thread(target=feed, daemon=True)
    thread.start()
    return thread


def uploads_refused(victim: Victim, tries: int = 5) -> Figure:
    """Of an honest client, while strangers' sockets and one client's own send a byte now and then."""
    with victim.caller(ATTACKER) as attacker:
        own = attacker.send_order()
    link = b"Authorization: Bearer %s\r\n" % own["link_token"].encode()
    of = own["order"]["id"].encode()
    said = [UPLOAD % (of, b"")] * 8 + [UPLOAD % (of, link)] * 8
    sockets = [victim.open_socket(each, f"127.0.0.{66 + n % 4}") for n, each in enumerate(said)]
    over = threading.Event()
    thread = _trickle(sockets, over, 1.0)
    time.sleep(2)
    refused = 0
    with victim.caller() as visitor:
        placed = visitor.send_order()
    with victim.caller(token=placed["link_token"]) as client:
        for number in range(tries):
            try:
                refused += victim.upload(client, placed, "a.svg", b"<svg>%d</svg>" % number) != 201
            except httpx2.HTTPError:
                refused += 1
    over.set()
    thread.join()
    for each in sockets:
        each.close()
    victim.settle()
    return Figure("uploads refused by sockets that trickle", f"of {tries}", refused, 0)


def answers_refused(victim: Victim, sockets_at_once: int = 210, tries: int = 5) -> Figure:
    """Pages and health refused while two hundred sockets send a byte now and then."""
    said = UPLOAD % (b"a", b"")
    sockets = []
    for number in range(sockets_at_once):
        with suppress(OSError):
            sockets.append(victim.open_socket(said, f"127.0.0.{66 + number % 4}"))
    over = threading.Event()
    thread = _trickle(sockets, over, 1.0)
    time.sleep(2)
    refused = 0
    for _ in range(tries):
        for path in ("/health/ready", "/"):
            try:
                with victim.caller(seconds=10) as visitor:
                    refused += visitor.get(path).status_code >= 500
            except httpx2.HTTPError:
                refused += 1
    over.set()
    thread.join()
    for each in sockets:
        each.close()
    victim.settle()
    name = f"pages and health refused by {sockets_at_once} sockets that trickle"
    return Figure(name, f"of {2 * tries}", refused, 0)


def silent_connections(victim: Victim, seconds: float = 25.0, count: int = 20) -> Figure:
    """Of connections that never say a word, those that are still open after a while."""
    sockets = [victim.open_socket(b"", ATTACKER) for _ in range(count)]
    time.sleep(seconds)
    still = 0
    for each in sockets:
        each.setblocking(False)
        try:
            still += each.recv(1) != b""
        except BlockingIOError:
            still += 1
        except OSError:
            pass
        each.close()
    return Figure(f"silent connections open after {seconds:.0f} s", f"of {count}", still, 0)


def slow_art(number: int, points: int = 5000) -> bytes:
    """A drawing of one line that crosses itself as often as it can: much to work out for its size."""
    dice = random.Random(number)
    walk = " ".join(f"{dice.uniform(0, 900):.2f},{dice.uniform(0, 900):.2f}" for _ in range(points))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="900" height="900"><path d="M{walk}Z" fill="#000" '
        'fill-rule="evenodd"/></svg>'
    ).encode()


def wait_under_slow_art(victim: Victim, files: int = 12, times: int = 3) -> Figure:
    """From ordinary art to its proof, while an order of somebody else's has drawings that take long."""
    victim.from_file_to_proof()
    quiet = statistics.median(victim.from_file_to_proof() for _ in range(times))
    with victim.caller(ATTACKER) as attacker:
        placed = attacker.send_order()
    with victim.caller(ATTACKER, placed["link_token"]) as attacker:
        for number in range(files):
            victim.upload(attacker, placed, f"slow-{number}.svg", slow_art(number))
        time.sleep(1)
        busy = statistics.median(victim.from_file_to_proof() for _ in range(times))
        jobs = attacker.do("GET", f"/orders/{placed['order']['id']}/jobs")["items"]
        unread = sum(each["state"] in ("waiting", "running") for each in jobs)
    detail = (
        f"{quiet:.2f} s quiet, {busy:.2f} s under attack; {unread} of its {files} files still waited then"
    )
    return Figure(
        f"wait for a proof behind {files} drawings that take long",
        "× of quiet",
        round(busy / quiet, 1),
        3.0,
        detail,
    )


def wait_under_another_shops_flood(victim: Victim, files: int = 50, times: int = 3) -> Figure:
    """From ordinary art to its proof, while another workshop of the place has fifty orders with a scan each."""
    victim.from_file_to_proof()
    quiet = statistics.median(victim.from_file_to_proof() for _ in range(times))
    scan = art("scan.jpg")
    with victim.caller(ATTACKER) as visitor:
        placed = [visitor.send_order_to(SECOND) for _ in range(files)]
    for each in placed:
        with victim.caller(ATTACKER, each["link_token"]) as client:
            assert victim.upload(client, each, "scan.jpg", scan) == 201
    busy = statistics.median(victim.from_file_to_proof() for _ in range(times))
    open_still = sum(
        carvings(victim.caller(ATTACKER, each["link_token"]).order(each["order"]["id"]))[0]["proof"] is None
        for each in placed
    )
    detail = f"{quiet:.2f} s quiet, {busy:.2f} s under the flood; {open_still} of its {files} files still waited then"
    return Figure(
        "wait for a proof while another shop floods", "× of quiet", round(busy / quiet, 1), 3.0, detail
    )


ATTACKS = (
    dearest_request,
    wait_under_fragments,
    uploads_refused,
    answers_refused,
    silent_connections,
    wait_under_slow_art,
    wait_under_another_shops_flood,
)
