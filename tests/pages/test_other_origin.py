"""A shop's own page, from another origin, in a browser: what its token names may call, nothing else may read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

from playwright.sync_api import Browser, Page

from service.access import signed_addresses
from tests.pages.browsing import leave
from tests.running import API, Caller, Running, art, carvings

PAGE = b"<!doctype html><html lang=en><title>A garden's own page</title><p id=told>"
SHOWN = """async (urls) => Promise.all(urls.map((url) => new Promise((done) => {
  const image = new Image();
  image.onload = () => done(image.naturalWidth);
  image.onerror = () => done(0);
  image.src = url;
})))"""
JOURNEY = """async ({api, token, order}) => {
  const headers = {Authorization: 'Bearer ' + token};
  const listed = await fetch(api + '/orders?first=1', {headers});
  const got = await fetch(api + '/orders/' + order, {headers});
  const tag = got.headers.get('ETag');
  const changed = await fetch(api + '/orders/' + order, {method: 'PATCH',
    headers: {...headers, 'If-Match': tag, 'Content-Type': 'application/json'},
    body: JSON.stringify({note: 'by the pond'})});
  return {listed: listed.status, tag, note: (await changed.json()).note, request: changed.headers.get('X-Request-Id')};
}"""
CALL = """async ({api, token}) => {
  try {
    const headers = {Authorization: 'Bearer ' + token};
    const answer = await fetch(api + '/orders?first=2', {headers, cache: 'no-store'});
    return answer.status;
  } catch (error) { return String(error); }
}"""


class _Site(BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.send_header("Content-Length", str(len(PAGE)))
        self.end_headers()
        self.wfile.write(PAGE)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@contextmanager
def own_site() -> Iterator[str]:
    """A page of somebody else's server."""
    with ThreadingHTTPServer(("127.0.0.1", 0), _Site) as server:
        thread = Thread(target=server.serve_forever, args=(0.01,))
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}"
        server.shutdown()
        thread.join()


@contextmanager
def at(browser: Browser, url: str) -> Iterator[Page]:
    """Somebody at that page."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(url)
    yield page
    leave(context)


def told_of(page: Page, api: str, token: str) -> str:
    """What the page is told by a call with a token."""
    return str(page.evaluate(CALL, {"api": api, "token": token}))


def test_a_page_of_a_named_origin_calls_and_no_other_does(running: Running, browser: Browser):
    maker = running.maker()
    placed = running.caller().send_order()
    with own_site() as named, own_site() as other:
        scopes = ["orders.read", "orders.write"]
        given = {"name": "a garden's site", "scopes": scopes, "origins": [named]}
        token = maker.do("POST", "/tokens", json=given, status=201)["secret"]
        plain = maker.do("POST", "/tokens", json={"name": "a program", "scopes": scopes}, status=201)[
            "secret"
        ]
        api, order = running.url + API, placed["order"]["id"]
        with at(browser, named) as page:
            told = page.evaluate(JOURNEY, {"api": api, "token": token, "order": order})
            assert told["listed"] == 200 and told["tag"] and told["request"]
            assert told["note"] == "by the pond"
            # its client's link opens that one order
            client = page.evaluate(CALL, {"api": api, "token": placed["link_token"]})
            assert client == 200
            # another token, which names no origin, is for programs
            assert "Failed to fetch" in told_of(page, api, plain)
        with at(browser, other) as page:
            assert "Failed to fetch" in told_of(page, api, token)
    assert [
        each["origins"] for each in maker.do("GET", "/tokens")["items"] if each["name"] == given["name"]
    ] == [[named]]


def test_cookies_never_count_elsewhere(running: Running):
    maker = running.maker()
    answer = maker.get(
        f"{API}/orders", headers={"Origin": "https://shop.example", "Sec-Fetch-Site": "cross-site"}
    )
    assert "access-control-allow-origin" not in answer.headers
    assert "access-control-allow-credentials" not in answer.headers
    preflight = {"Origin": "https://shop.example", "Access-Control-Request-Method": "PATCH"}
    answer = running.caller().request("OPTIONS", f"{API}/orders", headers=preflight)
    assert answer.status_code == 204 and "access-control-allow-origin" not in answer.headers


def signed(client: Caller, order: str, *urls: str, seconds: int = 600) -> list[str]:
    given = {"urls": urls, "seconds": seconds}
    return [each["url"] for each in client.do("POST", f"/orders/{order}/addresses", json=given)["items"]]


def test_signed_pictures_are_shown_by_any_page_and_others_are_not(running: Running, browser: Browser):
    placed, other = running.caller().send_order(), running.caller().send_order()
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
    proof = carvings(client.settled(order["id"]))[0]["proof"]
    plain = (proof["picture_url"], f"{API}/proofs/{proof['id']}/view.webp?part=slat&density=1")
    good = signed(client, order["id"], *plain)
    theirs = signed(running.caller(other["link_token"]), other["order"]["id"], plain[0])
    wrong = (
        plain[0],
        *theirs,
        good[0].replace("/picture", "/print"),
        good[0][:-2] + "AA",
        good[1] + "&wood=fresh",
    )
    with own_site() as site, at(browser, site) as page:
        widths = page.evaluate(SHOWN, [running.url + url for url in (*good, *wrong)])
    assert all(widths[:2]) and not any(widths[2:])
    elsewhere = {"json": {"urls": ["https://elsewhere.example/"]}}
    assert client.request("POST", f"{API}/orders/{order['id']}/addresses", **elsewhere).status_code == 422


def test_a_signed_address_closes_at_its_time():
    key, until = bytes(32), datetime(2026, 12, 1, 9, tzinfo=UTC)
    address = signed_addresses.sign(key, "/a?b=c", "o", until)
    said = signed_addresses.read(address.rpartition("signed=")[2])
    assert said is not None and signed_addresses.bare(address) == "/a?b=c"
    assert signed_addresses.holds(key, "/a?b=c", said, until - timedelta(seconds=1))
    assert not signed_addresses.holds(key, "/a?b=c", said, until)
    assert not signed_addresses.holds(b"another", "/a?b=c", said, until - timedelta(seconds=1))
