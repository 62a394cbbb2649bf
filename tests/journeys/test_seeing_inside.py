"""Logs, health and metrics of the running service while somebody uses it."""

from __future__ import annotations

import io
import json
import logging
import re
from collections.abc import Iterator

import pytest
from prometheus_client.parser import text_string_to_metric_families

from service.logs import JsonLines
from service.settings import Settings
from tests.running import API, FROM_HERE, Running, art, carvings, revision, shown

CONTACT = {
    "name": "Oberon Thistlewaite",
    "email": "oberon.thistlewaite@quillfern.example",
    "phone": "+44 1632 960777",
    "organisation": "Quillfern Night Gardeners",
}
WORDS = "Mind the moonflower beds by Lantern Lane"
FILE_NAME = "oberon-crest.svg"
# ISO times have colons and digits too; an address on its own has dots (IPv4) or double colons (IPv6).
ADDRESS = re.compile(r"\b\d{1,3}(\.\d{1,3}){3}\b|::1\b")


@pytest.fixture
def lines() -> Iterator[io.StringIO]:
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    level, ours = root.level, logging.getLogger("slatproof")
    root.addHandler(handler), root.setLevel(logging.INFO), ours.setLevel(logging.DEBUG)
    yield stream
    root.removeHandler(handler), root.setLevel(level), ours.setLevel(logging.NOTSET)


def use_it(running: Running) -> str:
    """The main job, and what goes wrong on the way: wrong passwords, bad files, refusals, lost links."""
    placed = running.caller().send_order(contact=CONTACT, note=WORDS)
    order, client, maker = placed["order"], running.caller(placed["link_token"]), running.maker()
    path = f"/orders/{order['id']}"
    client.upload(order["id"], FILE_NAME, b"<svg", [carvings(order)[0]["id"]])
    order = client.settled(order["id"])
    client.upload(order["id"], FILE_NAME, art("crest.svg"), [carvings(order)[0]["id"]])
    order = client.settled(order["id"])
    order = client.do("POST", f"{path}/submission", headers=revision(order))
    maker.post(f"{API}{path}/release", json={"shown": shown(order)}, headers=revision(order))
    maker.do("POST", f"{path}/offers", json={"shown": shown(order)})
    client.do("POST", "/change-requests", json={"shown": shown(order)[0], "words": WORDS})
    stranger = running.caller(headers=FROM_HERE)
    attempt = {"email": CONTACT["email"], "password": "not this one at all"}
    stranger.do("POST", "/session", status=403, json=attempt)
    stranger.do("GET", path, status=401)
    stranger.get(f"/link/{placed['link_token']}")
    stranger.post("/graphql", json={"query": '{ order(id: "%s") { id } }' % order["id"]})  # noqa: UP031
    stranger.post(f"{API}/workshops/oxbarrow/orders", json={"contact": CONTACT, "rights_granted": 7})
    client.get("/nowhere/at/all")
    running.service.ctx.clock.now()
    return placed["link_token"]


def test_nobody_is_named_in_the_logs_of_a_whole_journey(running: Running, lines: io.StringIO):
    token = use_it(running)
    text = lines.getvalue()
    found = [json.loads(line) for line in text.splitlines()]
    assert len(found) > 20
    people = [*CONTACT.values(), *CONTACT["name"].split(), WORDS, FILE_NAME, "not this one at all", token]
    for private in [*people, token.partition("_")[2]]:
        assert private not in text, private
    assert not re.search(r"[\w.]+@[\w.]+", text)
    for line in found:
        words = {name: value for name, value in line.items() if name != "at"}
        assert not ADDRESS.search(json.dumps(words)), line


def test_a_line_says_what_it_is_about(running: Running, lines: io.StringIO):
    placed = running.caller().send_order()
    order, client = placed["order"], running.caller(placed["link_token"])
    answer = client.get(f"{API}/orders/{order['id']}")
    found = [json.loads(line) for line in lines.getvalue().splitlines()]
    line = next(line for line in found if line.get("request") == answer.headers["x-request-id"])
    assert (line["log"], line["order"], line["status"]) == ("slatproof.request", order["id"], 200)
    assert line["route"] == f"{API}/orders/{{order}}"
    assert line["milliseconds"] > 0
    sent = client.request(
        "POST", f"{API}/orders/{order['id']}/submission", headers=revision(order)
    )  # the order is known from the use case too
    assert sent.headers["x-request-id"] in lines.getvalue()


def test_mail_addresses_in_the_words_of_an_error_are_left_out():
    try:
        raise ValueError("no such mailbox: imke.harrowdale+x@quillfern.example (550)")
    except ValueError as error:
        record = logging.LogRecord(
            "x", logging.ERROR, "", 0, "to %s", ("a@b.example",), (ValueError, error, None)
        )
    line = json.loads(JsonLines().format(record))
    assert line["words"] == "to …@…"
    assert "harrowdale" not in line["trace"]
    assert "550" in line["trace"]


def test_it_says_that_it_is_alive_and_ready(running: Running):
    stranger = running.caller()
    assert stranger.get("/health/live").text == "alive\n"
    ready = stranger.get("/health/ready")
    assert (ready.status_code, ready.json()) == (200, {"ready": True, "lacks": [], "worker": True})


def test_what_is_counted_is_for_this_machine(running: Running):
    use_it(running)
    text = running.caller().get("/metrics").text
    families = {family.name: family for family in text_string_to_metric_families(text)}
    samples = [sample for family in families.values() for sample in family.samples]

    def value(name: str, **labels: str) -> float:
        return sum(s.value for s in samples if s.name == name and labels.items() <= s.labels.items())

    assert value("slatproof_request_seconds_count", route=f"{API}/orders/{{order}}", status="200") >= 1
    assert value("slatproof_refusals_total", door="rest", code="not-approved") >= 1
    assert value("slatproof_work_seconds_count", kind="prove", outcome="done") >= 1
    assert value("slatproof_stage_seconds_count", kind="prove", stage="checking") >= 1
    assert value("slatproof_room_bytes") > 1e6
    assert value("slatproof_files_kept") == 1
    assert {"slatproof_work_oldest_seconds", "slatproof_mail_oldest_seconds"} <= families.keys()
    assert not any("oberon" in str(sample).lower() for sample in samples)
    for header in (
        "X-Forwarded-For",
        "Forwarded",
        "X-Real-IP",
    ):  # a proxy on this machine lets outsiders through
        assert running.caller().get("/metrics", headers={header: "192.0.2.9"}).status_code == 404


def test_the_token_of_the_metrics_is_a_secret_setting():
    settings = Settings(metrics_token="hush-hush")
    assert "hush-hush" not in repr(settings)
