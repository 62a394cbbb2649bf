"""A code from an app, set up and used on the pages."""

from __future__ import annotations

import base64
import html
import re
from datetime import UTC, datetime

from service.access.second_factor import code_at
from service.orders.actors import Role
from service.usecases import people, shop
from tests.running import FROM_HERE, Caller, Running

EMAIL, PASSWORD = "nell@oxbarrow.example", "a plank and a half, please"


def post(caller: Caller, path: str, **fields: str):
    token = re.search(r'name="form_token" value="([^"]+)"', caller.get(path).text)
    assert token is not None
    return caller.post(path, data={"form_token": html.unescape(token[1])} | fields)


def signed_in(running: Running, code: str = "") -> tuple[Caller, object]:
    caller = running.caller(headers=FROM_HERE)
    answer = post(caller, "/bench/sign-in", to="/bench/people", email=EMAIL, password=PASSWORD, code=code)
    return caller, answer


def test_a_helper_sets_it_up_signs_in_with_it_and_takes_it_away(running: Running):
    workshop = shop.find_workshop(running.service.ctx, "oxbarrow")
    people.open_account(
        running.service.ctx, workshop.id, EMAIL, name="Nell Oxbarrow", role=Role.HELPER, password=PASSWORD
    )
    caller, answer = signed_in(running)
    assert answer.status_code == 303
    wrong = post(caller, "/bench/people", do="begin-step", password="not this one")
    assert wrong.status_code == 422 and "This is not your password." in wrong.text
    begun = post(caller, "/bench/people", do="begin-step", password=PASSWORD)
    assert begun.status_code == 200 and "<svg" in begun.text and "style=" not in begun.text
    key = re.search(r'<code class="digest">([A-Z2-7]{32})</code>', begun.text)
    assert key is not None
    app = base64.b32decode(key[1])
    confirmed = post(caller, "/bench/people", do="confirm-step", code=code_at(app, datetime.now(UTC)))
    codes = re.findall(r'<code class="digest">([a-z2-7-]{27})</code>', confirmed.text)
    assert len(codes) == 10
    assert codes[0] not in caller.get("/bench/people").text  # shown once

    _, refused = signed_in(running)
    assert refused.status_code == 403 and "asks for a code as well" in refused.text
    again, answer = signed_in(running, codes[0])
    assert answer.status_code == 303
    assert "9 left" in again.get("/bench/people").text
    ended = post(again, "/bench/people", do="end-step", password=PASSWORD, code=codes[1])
    assert ended.status_code == 303
    assert signed_in(running)[1].status_code == 303
