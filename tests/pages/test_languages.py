"""Pages in the reader's language."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime

import pytest
import sqlalchemy as sa

from seeds.shop import load
from service.language.chosen import spoken
from service.mail.directory import StoredDirectory
from service.mail.outbox import Message
from service.mail.writing import Envelope, write_mail
from service.store import machines
from service.store.tables import orders
from tests.running import FROM_HERE, Running

HOME = f"/at/{load().key}"
GERMAN = {"Accept-Language": "de-DE,de;q=0.9,en;q=0.5"}


def test_a_page_speaks_the_browsers_language_until_another_is_chosen(running: Running):
    somebody = running.caller(follow_redirects=True, headers=GERMAN)
    page = somebody.get(HOME)
    assert '<html lang="de">' in page.text
    assert page.headers["Content-Language"] == "de"
    assert "Accept-Language" in page.headers["Vary"]
    assert "Möbel, die Ihr Zeichen tragen" in page.text
    english = somebody.get(f"/language/en?to={HOME}")
    assert english.url.path == HOME
    assert '<html lang="en">' in english.text
    assert '<html lang="en">' in somebody.get(HOME).text  # remembered
    assert '<html lang="de">' in somebody.get(f"/language/de?to={HOME}").text


def test_a_refusal_of_the_api_speaks_the_callers_language(running: Running):
    german = running.caller(headers=GERMAN | FROM_HERE)
    nothing = german.get("/api/v1/workshops/nowhere")
    assert nothing.json()["title"] == "Das gibt es nicht"
    assert nothing.json()["type"] == "/problems/not-found"
    assert nothing.headers["Content-Language"] == "de"
    assert running.caller().get("/api/v1/workshops/nowhere").json()["title"] == "There is no such thing"


def test_the_way_to_a_language_leads_nowhere_else_and_knows_ours_alone(running: Running):
    somebody = running.caller(follow_redirects=False)
    answer = somebody.get("/language/de?to=//elsewhere.example")
    assert answer.headers["location"] == "/"
    unknown = somebody.get(f"/language/tlh?to={HOME}")
    assert unknown.headers["location"] == HOME
    assert "set-cookie" not in unknown.headers


def test_a_client_is_written_to_in_the_language_of_the_page_they_ordered_on(running: Running):
    somebody = running.caller(follow_redirects=True, headers=GERMAN | FROM_HERE)
    page = somebody.get(f"{HOME}/longwalk-bench").text
    sent = {
        name: re.search(rf'name="{name}" value="([^"]*)"', page)[1]
        for name in ("form_token", "once", "language")
    }
    assert sent["language"] == "de"
    about = {
        "name": "Imke Harrowdale",
        "email": "imke@quillfern.example",
        "quantity": "1",
        "slats": "back-centre",
    }
    order = somebody.post(f"{HOME}/longwalk-bench", data=sent | about)
    assert "Noch keine Vorlage" in order.text
    order_id = re.search(r"/order/([a-z2-7]{26})", str(order.url))[1]
    with running.service.database.writing() as connection:
        workshop = connection.scalar(sa.select(orders.c.workshop_id).where(orders.c.id == order_id))
        now = datetime.now(UTC)
        message = Message("m1", workshop, order_id, None, "client", "link", {}, now, 1)
        addressed = StoredDirectory("https://slats.example", "shop@slats.example")(connection, message, now)
    assert addressed.language == "de"
    assert addressed.facts["greeting"] == "Guten Tag Imke Harrowdale,"
    with spoken(addressed.language):
        envelope = Envelope(addressed.to, addressed.sender, "m1@slats.example", now)
        mail = write_mail("link", addressed.facts, envelope)
    assert mail["Subject"] == f"Ihr Auftrag {addressed.facts['number']} bei {load().name}"
    assert '<html lang="de">' in mail.get_body(("html",)).get_content()


def test_the_workshop_is_written_to_in_the_language_it_chose(running: Running):
    order = running.caller().send_order()["order"]
    now = datetime.now(UTC)
    with running.service.database.writing() as connection:
        workshop = connection.scalar(sa.select(orders.c.workshop_id).where(orders.c.id == order["id"]))
        for_now = connection.begin_nested()
        machine, revision = machines.read_machine(connection, workshop)
        machines.save_machine(connection, workshop, replace(machine, language="de"), revision + 1)
        message = Message("m2", workshop, order["id"], None, "makers", "submitted", {}, now, 1)
        addressed = StoredDirectory("https://slats.example", "shop@slats.example")(connection, message, now)
        for_now.rollback()
    assert addressed.language == "de"
    assert addressed.facts["greeting"] == "Guten Tag,"


_AT_BENCH = (
    *("", "/first", "/today", "/batches", "/people", "/wellness", "/settings"),
    *(f"/settings/{page}" for page in ("prices", "machine", "boards", "marks", "test-boards", "experience")),
)
"""Not the record: it keeps the words it was written in."""
_ENGLISH = re.compile(r"\b(?:the|and|of|with|is|are|this|which|for|by|to|not|from|your|you)\b")
_OF_THE_SHOP = re.compile(
    r"<(?:script|style|title|option)\b.*?</(?:script|style|title|option)>|<[^>]+>", re.S
)


@pytest.mark.parametrize("page", _AT_BENCH)
def test_no_english_is_left_on_a_page_of_the_bench(running: Running, page):
    """Little words of English sentences: names of the shop's furniture are its own, and stay."""
    maker = running.maker()
    answer = maker.get(f"/bench{page}", headers=GERMAN, follow_redirects=True)
    assert answer.status_code == 200
    assert '<html lang="de">' in answer.text
    shown = _OF_THE_SHOP.sub("\n", answer.text)
    for model in load().models:
        for name in (model.name, model.words, *(slat.slat.name for slat in model.slats)):
            shown = shown.replace(name, "")
    english = [line.strip() for line in shown.splitlines() if _ENGLISH.search(line)]
    assert not english
