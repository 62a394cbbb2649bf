"""Signing out elsewhere and another password, on the page of people."""

from __future__ import annotations

import re

from service.orders.actors import Role
from service.usecases import people, shop
from tests.running import FROM_HERE, Caller, Running

from .test_second_step import post

EMAIL, OLD, NEW = "pim.elsewhere@oxbarrow.example", "a gouge for every curve", "no two knots are alike"


def signed_in(running: Running, password: str) -> tuple[Caller, int]:
    caller = running.caller(headers=FROM_HERE)
    answer = post(caller, "/bench/sign-in", to="/bench/people", email=EMAIL, password=password)
    return caller, answer.status_code


def test_a_helper_signs_out_elsewhere_and_changes_the_password(running: Running):
    workshop = shop.find_workshop(running.service.ctx, "oxbarrow")
    people.open_account(
        running.service.ctx, workshop.id, EMAIL, name="Pim Oxbarrow", role=Role.HELPER, password=OLD
    )
    here, _ = signed_in(running, OLD)
    assert "Sign out elsewhere" not in here.get("/bench/people").text
    there, _ = signed_in(running, OLD)
    page = here.get("/bench/people").text
    ids = re.findall(r' id="([^"]+)"', page)
    assert "Sign out elsewhere" in page and len(ids) == len(set(ids))

    wrong = post(here, "/bench/people", do="end-session", row="", password="not this one")
    assert wrong.status_code == 422
    assert "This is not your password." in wrong.text
    assert there.get("/bench/people").status_code == 200
    assert post(here, "/bench/people", do="end-session", row="", password=OLD).status_code == 303
    assert there.get("/bench/people").status_code != 200

    there, _ = signed_in(running, OLD)
    weak = post(here, "/bench/people", do="change-password", password=OLD, new_password="short")
    assert weak.status_code == 422 and "at least 12 characters; a short sentence" in weak.text
    assert OLD not in weak.text
    changed = post(here, "/bench/people", do="change-password", password=OLD, new_password=NEW)
    assert changed.status_code == 303
    assert here.get("/bench/people").status_code == 200
    assert there.get("/bench/people").status_code != 200
    assert signed_in(running, OLD)[1] == 403
    assert signed_in(running, NEW)[1] == 303
