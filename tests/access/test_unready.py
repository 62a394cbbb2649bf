"""Signed in without the second step that is asked of everybody: nothing opens but its set-up, by any door.

The tables (``rest.txt``) say so of every route and every field of the graph; here are the pages, the sockets, and
the way in.
"""

from __future__ import annotations

import base64
import html
import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from websockets.sync.client import connect

from service.access import second_factor
from service.orders.actors import Role, System
from service.pages.app import Pages
from service.root import build
from service.usecases import people, shop
from tests.access.cast import SECRET, STRICT_KEY, Cast
from tests.running import API, FROM_HERE, Caller, Running, settings_for

SET_UP = "/bench/second-step"
WAYS_IN = {"/bench/sign-in", "/bench/sign-out", "/bench/forgotten", "/bench/workshops", SET_UP}


def bench_pages() -> list[str]:
    """Every page of the bench that is looked at, with made-up ids."""
    made = Pages(None, lambda *_: None, 1)  # type: ignore[arg-type, return-value]
    found = [
        re.sub(r"{\w+(:\w+)?}", "b" * 26, route.path)  # type: ignore[attr-defined]
        for route in made._router.routes
        if "GET" in (getattr(route, "methods", None) or ())
    ]
    return sorted(path for path in found if path.startswith("/bench") and path not in WAYS_IN)


@pytest.fixture
def newcomer(running: Running, cast: Cast, request) -> Iterator[Caller]:
    """A helper of the strict workshop who is signed in."""
    ctx = running.service.ctx
    strict = shop.find_workshop(ctx, STRICT_KEY)
    email = f"{request.node.name.replace('_', '-')[:40]}@withymead.example"
    people.open_account(ctx, strict.id, email, name="Bo Withymead", role=Role.HELPER, password=SECRET)
    caller = running.caller(headers=FROM_HERE)
    begun = caller.do("POST", "/session", json={"email": email, "password": SECRET})
    assert begun["second_step_due"]
    yield caller


def posted(caller: Caller, path: str, **fields: str):
    token = re.search(r'name="form_token" value="([^"]+)"', caller.get(path).text)
    assert token is not None
    return caller.post(path, data={"form_token": html.unescape(token[1])} | fields)


def code_of(secret: str) -> str:
    return second_factor.code_at(base64.b32decode(secret), datetime.now(UTC))


@pytest.mark.parametrize("path", bench_pages())
def test_every_page_of_the_bench_leads_to_the_set_up(path, cast: Cast):
    answer = cast.callers["unready-maker"].get(path)
    assert (answer.status_code, answer.headers["location"]) == (303, SET_UP)


def test_there_are_pages_to_try():
    assert len(bench_pages()) > 10 and "/bench" in bench_pages()


def test_pictures_that_pages_show_are_shut_as_well(cast: Cast):
    order, caller = cast.things.order["id"], cast.callers["unready-maker"]
    answer = caller.get(f"/order/{order}/api/proofs/{cast.things.carving['proof']['id']}/picture")
    assert (answer.status_code, answer.json()["type"]) == (403, "/problems/second-step-due")


def test_the_socket_of_the_graph_is_shut(running: Running, cast: Cast):
    cookies = "; ".join(f"{name}={value}" for name, value in cast.callers["unready-maker"].cookies.items())
    headers = {"Cookie": cookies, "Origin": running.url}
    query = f'subscription {{ orderChanged(orderId: "{cast.things.order["id"]}") {{ id }} }}'
    address = running.url.replace("http", "ws") + "/graphql"
    with connect(address, subprotocols=["graphql-transport-ws"], additional_headers=headers) as socket:
        socket.send(json.dumps({"type": "connection_init"}))
        assert json.loads(socket.recv())["type"] == "connection_ack"
        socket.send(json.dumps({"id": "1", "type": "subscribe", "payload": {"query": query}}))
        said = json.loads(socket.recv())
    errors = said["payload"] if said["type"] == "error" else said["payload"]["errors"]
    assert errors[0]["extensions"] == {"code": "SECOND_STEP_DUE"}


def test_set_up_through_the_api_it_opens_everything_under_another_secret(newcomer: Caller, running: Running):
    assert newcomer.get(f"{API}/people").status_code == 403
    assert newcomer.do("GET", "/second-step")["asked_by"] == "workshop"
    begun = newcomer.do("POST", "/second-step", status=201, json={"password": SECRET})
    old = dict(newcomer.cookies)
    newcomer.do("POST", "/second-step/confirmation", json={"code": code_of(begun["secret"])})
    assert newcomer.get(f"{API}/people").status_code == 200
    assert not newcomer.do("GET", "/session")["second_step_due"]
    planted = running.caller(headers=FROM_HERE, cookies=old)
    assert planted.get(f"{API}/people").status_code == 401


def test_set_up_on_the_page(newcomer: Caller):
    assert newcomer.get("/bench").headers["location"] == SET_UP
    wrong = posted(newcomer, SET_UP, do="begin-step", password="not this one")
    assert wrong.status_code == 422 and "This is not your password." in wrong.text
    begun = posted(newcomer, SET_UP, do="begin-step", password=SECRET)
    key = re.search(r'<code class="digest">([A-Z2-7]{32})</code>', begun.text)
    assert key is not None and "<svg" in begun.text and "style=" not in begun.text
    missed = posted(newcomer, SET_UP, do="confirm-step", code="000000")
    assert missed.status_code == 422 and "The code is not right" in missed.text
    assert 'value="confirm-step"' in missed.text  # the app has the key already
    done = posted(newcomer, SET_UP, do="confirm-step", code=code_of(key[1]))
    assert len(re.findall(r'<code class="digest">([a-z2-7-]{27})</code>', done.text)) == 10
    assert newcomer.get("/bench").status_code == 200
    assert newcomer.get(SET_UP).headers["location"] == "/bench/people"


def test_strangers_are_not_set_up(running: Running):
    assert running.caller().get(SET_UP).headers["location"] == "/bench/sign-in"


def test_a_maker_asks_it_of_everybody_on_the_page_of_people(running: Running, cast: Cast):
    ctx = running.service.ctx
    facts = shop.get_settings(ctx, System(shop.find_workshop(ctx, STRICT_KEY).id))
    bit, allowances = facts.bits[0].bit, facts.workshop.allowances
    made = shop.open_workshop(ctx, "withypool", "Withypool Benches", bit, allowances)
    email = "ivo@alderholt.example"
    people.open_account(ctx, made.id, email, name="Ivo Alderholt", role=Role.MAKER, password=SECRET)
    caller = running.caller(headers=FROM_HERE)
    caller.do("POST", "/session", json={"email": email, "password": SECRET})
    early = posted(caller, "/bench/people", do="require-step", required="yes", password=SECRET)
    assert early.status_code == 409 and "Set up your own second step first" in early.text
    begun = caller.do("POST", "/second-step", status=201, json={"password": SECRET})
    caller.do("POST", "/second-step/confirmation", json={"code": code_of(begun["secret"])})
    for required, words in (("yes", "Everybody here needs one"), ("no", "Everybody here decides")):
        asked = posted(caller, "/bench/people", do="require-step", required=required, password=SECRET)
        assert asked.status_code == 303
        assert words in caller.get("/bench/people").text


def test_the_installation_asks_it_by_a_setting(tmp_path):
    for value, required in (("offered", False), ("required", True)):
        service = build(settings_for(tmp_path / value, second_step=value))
        assert service.ctx.second_step_required is required
        service.database.close()
        service.queue.close()
