"""What an order's pages cost: bytes, statements, and how often it is asked who is there."""

from __future__ import annotations

import gzip
import re
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from html import unescape

import httpx2
import pytest
import sqlalchemy as sa

from service.pages import starting
from service.pages.lengths import one_unit
from service.rest.in_thread import NAMED
from service.rest.order_cache import OrderCache
from tests.bench.service_shop import LINES
from tests.running import Caller, Running, art, carvings, revision

# Targets of the project's own; what is counted is what the page's own thread asks of the database, BEGIN apart.
CLIENT_STATEMENTS, CLIENT_PLAIN, CLIENT_PACKED = 12, 200_000, 60_000
BENCH_STATEMENTS, BENCH_PLAIN = 20, 120_000
QUEUE_STATEMENTS = 20


@dataclass
class Asked:
    """Statements of requests, in their order."""

    every: list[str] = field(default_factory=list)
    transactions: int = 0

    @property
    def statements(self) -> list[str]:
        return [text for text in self.every if not text.startswith("BEGIN")]

    @property
    def who(self) -> int:
        """How often it was asked who is there."""
        return sum("FROM sessions" in text for text in self.every)


@contextmanager
def watched(running: Running) -> Iterator[Asked]:
    """What requests ask of the database meanwhile; mail and the workers' beats are not theirs."""
    asked = Asked()

    def note(_connection, _cursor, statement, *_more):
        if threading.current_thread().name.startswith(NAMED):
            asked.every.append(statement)

    def begin(_connection):
        if threading.current_thread().name.startswith(NAMED):
            asked.transactions += 1

    engine = running.service.database.engine
    listeners = {"before_cursor_execute": note, "begin": begin}
    for event, listener in listeners.items():
        sa.event.listen(engine, event, listener)
    try:
        yield asked
    finally:
        for event, listener in listeners.items():
            sa.event.remove(engine, event, listener)


@dataclass(frozen=True)
class Order:
    id: str
    client: Caller
    """With the cookie of its browser."""
    api: Caller


@pytest.fixture(scope="module")
def order(running: Running) -> Order:
    """One with six proofs, most of which have many findings."""
    placed = running.caller().send_order(lines=LINES)
    api, order_id = running.caller(placed["link_token"]), placed["order"]["id"]
    api.upload(order_id, "crest.svg", art("crest.svg"), [c["id"] for c in carvings(placed["order"])])
    settled = api.settled(order_id, seconds=300)
    assert sum(len(c["proof"]["check"]["findings"]) for c in carvings(settled)) > 100
    given = {"carvings": [c["id"] for c in carvings(settled)]}
    end = time.monotonic() + 300
    while any(
        each["state"] == "working"
        for each in api.do("GET", f"/orders/{order_id}/versions", params=given)["items"]
    ):
        assert time.monotonic() < end
        time.sleep(0.3)
    browser = running.caller(follow_redirects=True)
    assert browser.get(f"/link/{placed['link_token']}").status_code == 200
    return Order(order_id, browser, api)


@pytest.mark.parametrize("page", ["", "/proof"])
@pytest.mark.parametrize("look", ["first", "again"])
def test_the_clients_pages_are_light(running, order, page, look, monkeypatch):
    order.client.get(f"/order/{order.id}{page}")  # what would help has been worked out
    if look == "first":
        monkeypatch.setattr(OrderCache, "get", lambda *_: None)
    with watched(running) as asked:
        answer = order.client.get(f"/order/{order.id}{page}")
    assert answer.status_code == 200
    assert asked.who == 1
    assert len(answer.content) <= CLIENT_PLAIN
    assert len(gzip.compress(answer.content)) <= CLIENT_PACKED
    if page == "":
        assert len(asked.statements) <= CLIENT_STATEMENTS, asked.statements
        assert asked.transactions == 1
    else:  # it shows a price, which is kept when it is first shown
        assert len(asked.statements) <= BENCH_STATEMENTS, asked.statements


def test_the_bench_page_is_light(running, order):
    maker = running.maker()
    for _ in range(2):
        with watched(running) as asked:
            answer = maker.get(f"/bench/orders/{order.id}")
        assert answer.status_code == 200
        assert asked.who == 1
        assert len(answer.content) <= BENCH_PLAIN
        assert len(asked.statements) <= BENCH_STATEMENTS, asked.statements


def test_the_queue_is_two_views_of_the_store_one_of_them_the_graphs(running, order):
    with running.maker() as maker:
        with watched(running) as asked:
            answer = maker.get("/bench", params={"show": "clients"})
        assert answer.status_code == 200
        assert (asked.who, asked.transactions) == (2, 2)
        assert len(asked.statements) <= QUEUE_STATEMENTS, asked.statements


def test_a_page_of_many_findings_has_five_groups_and_eight_marks_and_leaves_no_place_out(running, order):
    """Of each carving: at most five groups and eight marks; every place is in words, folded."""
    found = [c["proof"]["check"]["findings"] for c in carvings(order.api.order(order.id))]
    page = unescape(order.client.get(f"/order/{order.id}/proof").text)
    assert max(map(len, found)) > 50
    for findings in found:
        for finding in findings:
            assert one_unit(finding["message"]) in page
    for carving in page.split('<section class="sheet" id="carving-')[1:]:
        assert carving.count('<li class="stops"') + carving.count('<li class="warns"') <= 5
        assert carving.count('class="casing"') <= 8
    for line in re.findall(r"<p>[^<]*</p>", page):
        assert not (" mm" in line and re.search(r"[0-9] in[ ).,]", line)), line


def test_an_act_that_is_refused_at_its_end_has_not_begun(running):
    """A change asked for with words that are too long: the draft has not been sent in, its proof not offered."""
    placed = running.caller().send_order()
    api, order_id = running.caller(placed["link_token"]), placed["order"]["id"]
    api.upload(order_id, "crest.svg", art("crest.svg"), [c["id"] for c in carvings(placed["order"])])
    before = api.settled(order_id)
    assert before["state"] == "draft"
    browser = running.caller(follow_redirects=True, headers={"Sec-Fetch-Site": "same-origin"})
    page = browser.get(f"/link/{placed['link_token']}").text
    carving = carvings(before)[0]
    sent = {
        "form_token": re.search(r'name="form_token" value="([^"]+)"', page)[1],
        "revision": str(before["revision"]),
        "shown": f"{carving['id']}:{carving['proof']['digest']}:{carving['proof']['picture']}",
        "words": "larger " * 2000,
    }
    refused = browser.post(f"/order/{order_id}/change", data=sent)
    assert refused.status_code == 422
    assert api.order(order_id) == before
    taken = browser.post(f"/order/{order_id}/change", data=sent | {"words": "A little larger, please."})
    assert taken.status_code == 200
    assert api.order(order_id)["state"] == "submitted"
    assert revision(api.order(order_id)) != revision(before)


def test_the_answer_to_the_form_comes_when_it_is_judged_not_when_patience_ends(running: Running, monkeypatch):
    """Somebody else's work is seen by who waits for it, though their own reads see one view."""
    monkeypatch.setattr(starting, "PATIENCE_SECONDS", 50.0)
    sent = {"slats": "back-centre", "quantity": "1"}
    with httpx2.Client(base_url=running.url, headers={"Origin": running.url}, timeout=60) as browser:
        form = browser.get("/at/oxbarrow/longwalk-bench").text
        hidden = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', form))
        began = time.monotonic()
        files = {"file": ("crest.svg", art("crest.svg"), "image/svg+xml")}
        answer = browser.post("/at/oxbarrow/longwalk-bench", data=hidden | sent, files=files)
        took = time.monotonic() - began
        proof = browser.get(answer.headers["location"]).text
        form = proof[proof.index('id="sign"') :]
        told = dict(re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', form))
        told |= {"name": "Imke", "email": "imke@quillfern.example", "rights_granted": "yes"}
        where = answer.headers["location"].replace("/proof", "/signature")
        unseen, seen = (browser.post(where, data=told | more) for more in ({}, {"seen": "yes"}))
    assert took < 45
    assert unseen.status_code == 422
    assert 'href="#f-seen"' in unseen.text, "nothing is signed that nobody says to have looked at"
    assert seen.headers["location"].endswith("?said=signed")
