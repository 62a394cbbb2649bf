"""The pages against the wrong person, other sites, planted input and prying caches; no browser needed."""

from __future__ import annotations

import re
from html import unescape

import pytest

from tests.running import Caller, Running, art, carvings

HERE = {"Sec-Fetch-Site": "same-origin"}
TOKEN = re.compile(r'name="form_token" value="([^"]+)"')


def token_of(caller: Caller, path: str) -> str:
    found = TOKEN.search(caller.get(path).text)
    assert found, path
    return unescape(found[1])


@pytest.fixture(scope="module")
def order(running: Running) -> dict:
    placed = running.caller().send_order()
    client = running.caller(placed["link_token"])
    carving = carvings(placed["order"])[0]
    client.upload(placed["order"]["id"], "crest.svg", art("crest.svg"), [carving["id"]])
    whole = client.settled(placed["order"]["id"])
    return {"id": whole["id"], "link": placed["link_token"], "carving": carvings(whole)[0], "whole": whole}


@pytest.fixture
def client(running: Running, order) -> Caller:
    """A browser that opened the link of the order."""
    caller = running.caller(headers=HERE, follow_redirects=True)
    assert caller.get(f"/link/{order['link']}").url.path == f"/order/{order['id']}"
    return caller


@pytest.fixture
def other(running: Running) -> Caller:
    """A browser that opened the link of another order."""
    placed = running.caller().send_order()
    caller = running.caller(headers=HERE, follow_redirects=True)
    caller.get(f"/link/{placed['link_token']}")
    return caller


def test_opening_a_link_takes_the_secret_out_of_the_address(running, order):
    caller = running.caller(headers=HERE)
    answer = caller.get(f"/link/{order['link']}")
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/order/{order['id']}"
    assert order["link"] not in answer.headers["set-cookie"]
    assert answer.headers["cache-control"] == "no-store"


PRIVATE = [
    "/order/{id}",
    "/order/{id}/proof",
    "/order/{id}/carvings/{carving}/placement",
    "/order/{id}/api/orders/{id}",
    "/order/{id}/api/proofs/{proof}/picture",
    "/order/{id}/api/proofs/{proof}/view.webp",
    "/order/{id}/api/proofs/{proof}/solid.glb",
    "/order/{id}/api/artworks/{artwork}/original",
    "/order/{id}/api/orders/{id}/lines/{line}/piece.webp",
    "/order/{id}/api/orders/{id}/events",
]
AT_BENCH = [
    "/bench",
    "/bench/orders/{id}",
    "/bench/batches",
    "/bench/record",
    "/bench/people",
    "/bench/settings",
    "/bench/settings/models/longwalk-bench",
    "/bench/proofs/{proof}/section?x=0&y=200",
    "/bench/orders/{id}/compare?carving={carving}",
]


def address(path: str, order: dict) -> str:
    carving = order["carving"]
    return path.format(
        id=order["id"],
        carving=carving["id"],
        proof=carving["proof"]["id"],
        artwork=carving["artwork_id"],
        line=carving["line_id"],
    )


@pytest.mark.parametrize("path", PRIVATE)
def test_an_order_is_shown_to_its_client_alone(running, order, client, other, path):
    path = address(path, order)
    if not path.endswith("/events"):  # never ends
        assert client.get(path).status_code == 200
    stranger = running.caller(headers=HERE)
    denied, hidden = stranger.get(path), other.get(path)
    assert denied.status_code in {401, 404}
    assert hidden.status_code in {401, 404}
    missing = other.get(path.replace(order["id"], "a" * 26))
    assert missing.status_code == hidden.status_code
    assert "Imke" not in denied.text + hidden.text


@pytest.mark.parametrize("path", AT_BENCH)
def test_the_bench_is_for_the_workshops_people(running, order, client, path):
    path = address(path, order)
    maker = running.maker()
    assert maker.get(path).status_code == 200
    stranger = running.caller(headers=HERE)
    answer = stranger.get(path)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/bench/sign-in?to=")
    shown = client.get(path)
    assert shown.url.path == "/bench/sign-in" or shown.status_code in {401, 403, 404}


POSTS = [
    "/order/{id}/details",
    "/order/{id}/art",
    "/order/{id}/signature",
    "/order/{id}/change",
    "/order/{id}/cancellation",
    "/order/{id}/carvings/{carving}/version",
    "/order/{id}/carvings/{carving}/placement",
    "/order/{id}/carvings/{carving}/reading",
]


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize("token", [None, "", "not-a-token", "other"])
def test_a_form_without_this_browsers_token_does_nothing(order, client, other, path, token):
    given = token_of(other, "/at/oxbarrow/longwalk-bench") if token == "other" else token
    form = {"revision": "1", "words": "x"} | ({} if given is None else {"form_token": given})
    answer = client.post(address(path, order), data=form)
    assert answer.status_code == 403
    assert "too old to send from" in answer.text


@pytest.mark.parametrize("origin", ["https://evil.example", "null", "http://127.0.0.1:1"])
def test_another_site_cannot_post_even_with_a_token(running, order, client, origin):
    form = {"form_token": token_of(client, f"/order/{order['id']}"), "revision": "1"}
    path = f"/order/{order['id']}/cancellation"
    plain = running.caller()
    plain.cookies.update(client.cookies)
    for headers in ({"Origin": origin}, {"Sec-Fetch-Site": "cross-site"}):
        assert plain.post(path, data=form, headers=headers).status_code == 403
    assert client.get(f"/order/{order['id']}/api/orders/{order['id']}").json()["state"] == "draft"


@pytest.mark.parametrize(
    "to",
    [
        "https://evil.example",
        "//evil.example",
        "/\\evil.example",
        "javascript:alert(1)",
        "/a\r\nSet-Cookie: x=y",
        "",
    ],
)
def test_nobody_is_sent_to_another_site_after_signing_in(running, to):
    from seeds.shop import load

    maker = next(person for person in load().people if person.role == "maker")
    caller = running.caller(headers=HERE)
    form = {
        "form_token": token_of(caller, "/bench/sign-in"),
        "email": maker.email,
        "password": load().password,
        "to": to,
    }
    answer = caller.post("/bench/sign-in", data=form)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/bench"
    assert set(answer.cookies) == {"slatproof_bench"}


def test_a_session_planted_before_signing_in_is_not_taken_over(running):
    from seeds.shop import load

    maker = next(person for person in load().people if person.role == "maker")
    caller = running.caller(headers=HERE)
    caller.cookies.set("slatproof_bench", "spsession_planted")
    form = {
        "form_token": token_of(caller, "/bench/sign-in"),
        "email": maker.email,
        "password": load().password,
        "to": "/bench",
    }
    answer = caller.post("/bench/sign-in", data=form)
    secret = answer.cookies["slatproof_bench"]
    assert secret.startswith("spsession_") and secret != "spsession_planted"
    planted = running.caller(headers=HERE)
    planted.cookies.set("slatproof_bench", "spsession_planted")
    assert planted.get("/bench").status_code == 303


@pytest.mark.parametrize("path", ["/order/{id}", "/at/oxbarrow", "/bench/sign-in"])
def test_every_page_has_the_headers_it_needs(order, client, path):
    headers = client.get(address(path, order)).headers
    policy = headers["content-security-policy"]
    assert "script-src 'self';" in policy and "unsafe-inline" not in policy
    assert (
        "default-src 'none'" in policy
        and "frame-ancestors 'none'" in policy
        and "form-action 'self'" in policy
    )
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cache-control"].startswith("private")
    assert headers["cross-origin-opener-policy"] == "same-origin"


def test_pages_hold_no_script_of_their_own(order, client):
    for path in (f"/order/{order['id']}", f"/order/{order['id']}/proof", "/at/oxbarrow/longwalk-bench"):
        page = client.get(path).text
        assert not re.search(r"<script(?![^>]* src=)", page)
        assert not re.search(r"\son[a-z]+=", page)
        assert "style=" not in page


def test_private_pictures_are_kept_by_no_shared_cache(order, client):
    proof = order["carving"]["proof"]["id"]
    for part in ("picture", "view.webp"):
        headers = client.get(f"/order/{order['id']}/api/proofs/{proof}/{part}").headers
        assert "private" in headers["cache-control"]
        assert "Cookie" in headers["vary"]


HOSTILE = "</textarea><script>alert(1)</script>\"'><img src=x onerror=alert(2)>"


def test_what_people_write_is_text_on_every_page(running):
    contact = {"name": HOSTILE[:100], "email": "imke@quillfern.example", "organisation": HOSTILE[:100]}
    placed = running.caller().send_order(contact=contact, note=HOSTILE)
    caller = running.caller(headers=HERE, follow_redirects=True)
    caller.get(f"/link/{placed['link_token']}")
    order = placed["order"]
    client = running.caller(placed["link_token"])
    carving = carvings(order)[0]
    client.upload(order["id"], f"{HOSTILE[:60]}.svg", art("crest.svg"), [carving["id"]])
    client.settled(order["id"])
    maker = running.maker()
    for page in (
        caller.get(f"/order/{order['id']}"),
        caller.get(f"/order/{order['id']}/proof"),
        maker.get(f"/bench/orders/{order['id']}"),
        maker.get("/bench", params={"words": HOSTILE, "state": ["draft", "submitted"]}),
        caller.get("/order/x", params={"trouble": HOSTILE, "said": HOSTILE}),
    ):
        assert "<script>alert" not in page.text
        assert "<img src=x" not in page.text


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/css/../../app.py",
        "/static/%2e%2e/app.py",
        "/static/",
        "/static/x.000000000000.css",
    ],
)
def test_no_path_leads_out_of_the_assets(running, path):
    answer = running.caller().get(path)
    assert answer.status_code == 404
    assert "import" not in answer.text


def test_assets_are_kept_for_good_under_names_of_their_content(running):
    caller = running.caller()
    page = caller.get("/bench/sign-in").text
    names = re.findall(r'(?:href|src)="(/static/[^"]+)"', page)
    assert names
    for name in names:
        answer = caller.get(name)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]
    style = next(name for name in names if name.endswith(".css"))
    old = re.sub(r"\.[0-9a-f]{12}\.", ".000000000000.", style)
    assert caller.get(old).headers["cache-control"] == "no-cache"
    squeezed = caller.get(style, headers={"Accept-Encoding": "br"})
    assert squeezed.headers["content-encoding"] == "br"


def test_a_file_too_large_for_the_form_is_refused_and_the_order_kept(order, client):
    form = {"form_token": token_of(client, f"/order/{order['id']}"), "carvings": order["carving"]["id"]}
    answer = client.post(
        f"/order/{order['id']}/art", data=form, files={"file": ("big.png", b"\x89PNG" + b"0" * 11_000_000)}
    )
    assert answer.status_code == 413
    assert "Go back and send a smaller file" in answer.text
    assert client.get(f"/order/{order['id']}").status_code == 200
