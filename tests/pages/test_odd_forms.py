"""Forms whose hidden fields somebody filled with odd text."""

from __future__ import annotations

import html
import re

import pytest

from tests.running import FROM_HERE, Running


@pytest.mark.parametrize("once", ["", "\ud7ff\U0010ffff", "a\r\nX-Odd: b", "9" * 70_000])
def test_a_form_sent_with_an_odd_key_does_not_fail(running: Running, once):
    """What tells a repeated form becomes a header within: a text that no header holds ended in 500."""
    placed = running.caller().send_order()
    order, browser = placed["order"]["id"], running.caller(headers=FROM_HERE)
    browser.get(f"/link/{placed['link_token']}", follow_redirects=True)
    token = re.search(r'name="form_token" value="([^"]+)"', browser.get(f"/order/{order}").text)
    assert token is not None
    sent = {"form_token": html.unescape(token[1]), "once": once}
    answer = browser.post(f"/order/{order}/again", data=sent)
    assert answer.status_code in {200, 303, 400, 409, 413, 422}, answer.text[:200]
