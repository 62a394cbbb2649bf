"""The steps of 'Put it into your site in 30 minutes' (docs/api.md), from another site, in a browser.

CSP 3 §6.4.2 (frame-ancestors), CHIPS (Partitioned cookies). ``localhost`` and ``127.0.0.1`` are two sites to a browser.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import pytest
from playwright.sync_api import Browser, FrameLocator, Page, expect

from tests.pages.browsing import leave
from tests.pages.steps import READY_MS, SIGN, file_of
from tests.running import Running

DOC = (
    (Path(__file__).parents[2] / "docs/api.md").read_text(encoding="utf-8").split("## A form of your own")[0]
)
SNIPPETS = re.findall(r"```html\n(.*?)```", DOC, re.DOTALL)
HEAD = "<!doctype html><html lang=en><title>A garden's own page</title><h1>Benches for your garden</h1>"


@contextmanager
def own_page(service: str) -> Iterator[str]:
    """A page of somebody else's server that holds what the documentation says."""
    body = (HEAD + "".join(reversed(SNIPPETS)).replace("https://slatproof.example", service)).encode()

    class Site(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html; charset=utf-8")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    with ThreadingHTTPServer(("localhost", 0), Site) as server:
        thread = Thread(target=server.serve_forever, args=(0.01,))
        thread.start()
        try:
            yield f"http://localhost:{server.server_address[1]}"
        finally:
            server.shutdown()
            thread.join()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1000, "height": 900})
    yield context.new_page()
    leave(context)


def fill_in(form: FrameLocator) -> None:
    """What a client says, up to the proof."""
    form.get_by_label("wide centre back slat", exact=True).check()
    form.get_by_label("Needed by").fill("2027-03-19")
    form.locator("summary", has_text="Have the link mailed").click()
    form.get_by_label("Your name").fill("Imke Harrowdale")
    form.get_by_label("E-mail").fill("imke@quillfern.example")
    form.locator("#f-file").set_input_files(file_of("crest.svg"))
    form.get_by_role("button", name="Go on").click()


def sign(form: FrameLocator) -> None:
    """Accept what is remarked, and sign."""
    expect(form.locator("#sign")).to_be_visible(timeout=READY_MS)
    for box in form.locator("#sign input[type=checkbox]").all():
        box.check()
    form.get_by_role("button", name=SIGN).click()


def test_a_site_shows_the_form_and_is_told_of_the_signature(running: Running, page: Page):
    maker = running.maker()
    with own_page(running.url) as site:
        page.goto(site)
        expect(page.locator("iframe")).to_be_visible()
        nobody_named = page.frame_locator("iframe").get_by_label("wide centre back slat", exact=True)
        expect(nobody_named).to_have_count(0)  # no token names this site yet
        given = {"name": "a garden's site", "scopes": ["orders.read"], "origins": [site]}
        token = maker.do("POST", "/tokens", json=given, status=201)
        page.goto(site)
        form = page.frame_locator("iframe")
        expect(form.get_by_label("Needed by")).to_be_visible()
        high = page.locator("iframe").evaluate("frame => frame.clientHeight")
        assert high != 600  # as high as the form is, not as it began
        fill_in(form)
        sign(form)
        page.wait_for_url(re.compile(r"/thanks\?order="), timeout=READY_MS)
        order = page.url.partition("order=")[2]
        seen = running.caller(token["secret"]).order(order)
        assert {carving["state"] for line in seen["lines"] for carving in line["carvings"]} == {"signed"}
        cookies = {one["name"]: one for one in page.context.cookies(running.url)}
        assert cookies["slatproof_orders"]["sameSite"] == "None" and cookies["slatproof_orders"]["secure"]
        maker.do("DELETE", f"/tokens/{token['id']}", status=204)


def test_nobody_else_frames_a_page(running: Running):
    plain = running.caller(headers={"Sec-Fetch-Dest": "iframe", "Sec-Fetch-Site": "cross-site"})
    assert "frame-ancestors 'none'" in plain.get("/bench/sign-in").headers["content-security-policy"]
    framed = plain.get("/at/oxbarrow").headers
    policy = framed["content-security-policy"]
    ancestors = policy.partition("frame-ancestors ")[2].partition(";")[0].split()
    tokens = running.maker().do("GET", "/tokens")["items"]
    named = {origin for token in tokens if not token["revoked_at"] for origin in token["origins"]}
    assert set(ancestors) == (named or {"'none'"})  # of tokens of other tests with this service
    assert ("x-frame-options" in framed) == (not named)  # a policy goes before it (HTML §7.5.1)
    script = plain.get("/site-form.js")
    assert script.headers["cross-origin-resource-policy"] == "cross-origin"
    had = plain.get("/site-form.js", headers={"If-None-Match": script.headers["etag"]})
    assert (had.status_code, had.content) == (304, b"")
    assert (
        had.headers["cross-origin-resource-policy"] == "cross-origin"
    )  # else a site's page could not keep it
