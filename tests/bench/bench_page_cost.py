"""What an order's pages weigh and ask of the database, also for art with many findings."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from contextlib import contextmanager

from tests.bench.harness import Measured, case
from tests.bench.service_shop import LINES, shop
from tests.pages.test_page_cost import watched
from tests.running import Caller, Running, art, carvings


@contextmanager
def _pages(name: str) -> Iterator[tuple[Running, Caller, Caller, str]]:
    """A service with one order of six proofs of a file: its client's browser, the maker's, and the order."""
    with shop() as running:
        placed = running.caller().send_order(lines=LINES)
        client, order = running.caller(placed["link_token"]), placed["order"]
        client.upload(order["id"], name, art(name), [c["id"] for c in carvings(order)])
        client.settled(order["id"], seconds=300)
        browser = running.caller(follow_redirects=True)
        browser.get(f"/link/{placed['link_token']}")
        yield running, browser, running.maker(), order["id"]


def _cost(running: Running, who: Caller, path: str) -> tuple[Measured, Measured]:
    who.get(path)  # what would help is worked out once
    with watched(running) as asked:
        answer = who.get(path)
    assert answer.status_code == 200
    packed = len(gzip.compress(answer.content))
    note = f"{packed / 1000:.1f} kB packed; {asked.transactions} transactions, {asked.who} authentication"
    plain = Measured(len(answer.content) / 1000, unit="kB of HTML", note=note)
    return plain, Measured(len(asked.statements), unit="statements", note=note)


def _measured(name: str, *, bench: bool) -> tuple[Measured, Measured]:
    with _pages(name) as (running, client, maker, order):
        return _cost(
            running, maker if bench else client, f"/bench/orders/{order}" if bench else f"/order/{order}"
        )


for _file, _n in (("crest.svg", "6 proofs, 183 findings"), ("thin.png", "6 proofs, 55 findings")):
    for _bench, _name, _kilobytes, _statements in (
        (False, "client's order page", 200, 12),
        (True, "bench order page", 120, 20),
    ):

        @case(issue=14, name=f"weight of the {_name}", n=_n, target=_kilobytes)
        def weight(name: str = _file, bench: bool = _bench) -> Measured:
            return _measured(name, bench=bench)[0]

        @case(issue=14, name=f"statements of the {_name}", n=_n, target=_statements)
        def statements(name: str = _file, bench: bool = _bench) -> Measured:
            return _measured(name, bench=bench)[1]
