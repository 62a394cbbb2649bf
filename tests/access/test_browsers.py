"""What browsers are told with every answer, and what of theirs is believed.

The chapters of OWASP ASVS 5.0 in brackets are those that docs/security.md names this file for.
"""

from __future__ import annotations

import re
from urllib.parse import quote

import pytest
from starlette.testclient import TestClient

from seeds.shop import load
from service.rest.operation import Operation
from service.rest.table import OPERATIONS
from tests.access.calls import path_of
from tests.access.cast import Cast, Things
from tests.running import API, FROM_HERE, Running, art, carvings

GETS = [op for op in OPERATIONS if op.method == "GET"]
PAGES = ("/", "/at/oxbarrow", "/bench", "/bench/sign-in", "/reference", "/reference/rest", "/problems/stale")
NOWHERE = ("/nothing", f"{API}/nothing", "/problems/nothing", "/graphql/nothing", "/static/nothing.css")
MISSING = "b" * 26
BY_TLS = "https://127.0.0.1"
"""The address that the running service was given, by TLS: it answers to no other name."""


def directives(policy: str) -> dict[str, str]:
    parts = (part.strip().partition(" ") for part in policy.split(";"))
    return {name: rest for name, _, rest in parts}


def told_well(answer) -> None:
    headers = answer.headers
    policy = directives(headers["content-security-policy"])
    for name in ("default-src", "object-src", "base-uri", "frame-ancestors"):
        assert policy[name] == "'none'", (name, policy)
    assert policy.get("script-src", "'none'") in {"'self'", "'none'"}
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert "access-control-allow-origin" not in headers
    assert "server" not in headers or "uvicorn" in headers["server"]  # the command line turns that off


@pytest.mark.parametrize("operation", GETS, ids=lambda op: op.name)
def test_every_answer_of_the_api_is_closed_to_other_sites(operation, cast: Cast):
    """[V3.2, V3.4] CSP, no sniffing, no framing, no other origin; private, or not kept at all."""
    for member in ("maker", "stranger"):
        caller = cast.callers[member]
        path = path_of(operation, cast.things, member)
        answer = caller.get(path, headers={"Origin": "https://elsewhere.example"})
        told_well(answer)
        kept = answer.headers["cache-control"]
        assert kept.startswith("private") or kept == "no-store", kept


@pytest.mark.parametrize("path", (*PAGES, *NOWHERE))
def test_every_page_is_closed_to_other_sites(path, running: Running):
    """[V3.4]"""
    told_well(running.caller().get(path))


@pytest.mark.parametrize("operation", [op for op in GETS if "{" in op.path], ids=lambda op: op.name)
@pytest.mark.parametrize("member", ["other-client", "foreign-maker", "foreign-client"])
def test_what_is_not_yours_looks_like_what_never_was(operation: Operation, member, cast: Cast):
    """[V8.2] Status, words and headers; files and pictures too. What is refused by role alone is no secret."""
    caller, real = cast.callers[member], path_of(operation, cast.things, member)
    ids = {value for value in vars(cast.things).values() if isinstance(value, str)} | ids_of(cast.things)
    missing = real
    for each in ids:
        missing = missing.replace(each, MISSING)
    there, gone = caller.get(real), caller.get(missing)
    if there.status_code == 200:
        assert "workshops" in real or missing == real  # public, or about the caller's own workshop
        return
    assert (there.status_code, there.json()) == (gone.status_code, gone.json())
    assert set(there.headers) == set(gone.headers)


def ids_of(things: Things) -> set[str]:
    return set(re.findall(r"\b[a-z2-7]{26}\b", repr(things)))


@pytest.mark.parametrize(
    "path",
    [
        "/artworks/..%2f..%2f..%2fetc%2fpasswd/original",
        "/artworks/%2e%2e/original",
        "/proofs/..%5c..%5csecrets/picture",
        "/proofs/{proof}/drawing.svg%00.exe",
        "/proofs/{proof}/drawing.%2e%2e%2fpdf",
        "/batches/%2fetc%2fpasswd/archive",
    ],
)
def test_no_path_leads_out_of_the_blobs(path, cast: Cast):
    """[V5.3]"""
    asked = API + path.format(proof=cast.things.carving["proof"]["id"])
    answer = cast.callers["maker"].get(asked)
    assert answer.status_code in (404, 405, 422), answer.text
    assert b"root:" not in answer.content


@pytest.mark.parametrize(
    "name",
    ['a"; filename="x.exe', "a\r\nSet-Cookie: planted=1\r\n.svg", "../../étoile 木.svg", "\u202egvs.exe"],
)
def test_a_files_name_cannot_add_a_header(name, running: Running):
    """[V1.2, V5.4] The sender's name comes back as a name, whatever is in it."""
    placed = running.caller().send_order()
    client, order = running.caller(placed["link_token"]), placed["order"]
    sent = client.post(
        f"{API}/orders/{order['id']}/artworks?carvings={carvings(order)[0]['id']}",
        content=art("crest.svg"),
        headers={
            "Content-Type": "image/svg+xml",
            "Content-Disposition": f"attachment; filename*=UTF-8''{quote(name)}",
        },
    )
    assert sent.status_code == 201, sent.text
    answer = client.get(sent.json()["artworks"][0]["original_url"])
    assert answer.status_code == 200 and answer.content == art("crest.svg")
    assert "set-cookie" not in answer.headers
    disposition = answer.headers["content-disposition"]
    assert disposition.startswith("attachment; ")
    assert disposition.count("filename=") == 1 and disposition.isascii() and disposition.isprintable()


@pytest.mark.parametrize("value", ["x" * 300, "\x7f", "a b", "%0d%0aX: y"])
def test_what_comes_in_a_header_is_never_given_back_in_one(value, running: Running):
    """[V1.2]"""
    caller = running.caller()
    for header in ("Slatproof-Order", "Idempotency-Key", "If-Match", "X-Request-Id", "Authorization"):
        answer = caller.get(f"{API}/session", headers={header: value})
        assert all(value not in given for given in answer.headers.values())


@pytest.fixture
def by_tls(running: Running) -> TestClient:
    """A browser that reaches the running service's application by TLS."""
    return TestClient(running.service.app, base_url=BY_TLS, headers=FROM_HERE)


def sign_in(browser: TestClient) -> str:
    shop = load()
    maker = next(person for person in shop.people if person.role == "maker")
    answer = browser.post(f"{API}/session", json={"email": maker.email, "password": shop.password})
    assert answer.status_code == 200, answer.text
    header: str = answer.headers["set-cookie"]
    return header


def test_by_tls_cookies_belong_to_this_very_host(by_tls: TestClient):
    """[V3.3] RFC 6265bis §4.1.3.2: ``__Host-`` needs Secure, Path=/ and no Domain."""
    header = sign_in(by_tls)
    assert header.startswith("__Host-slatproof_bench=spsession_")
    parts = {part.strip() for part in header.split(";")[1:]}
    assert {"Secure", "HttpOnly", "SameSite=Lax", "Path=/"} <= parts
    assert not any(part.startswith("Domain") for part in parts)
    assert by_tls.get(f"{API}/session").json()["role"] == "maker"
    assert by_tls.get("/bench").status_code == 200


def test_by_tls_a_cookie_that_another_host_could_have_set_is_not_believed(by_tls: TestClient):
    """[V3.3, V7.2] A neighbour below the same domain can plant plain names, never ``__Host-`` ones."""
    secret = sign_in(by_tls).split("=", 1)[1].split(";")[0]
    other = TestClient(by_tls.app, base_url=BY_TLS, headers=FROM_HERE)
    planted = other.get(f"{API}/session", headers={"Cookie": f"slatproof_bench={secret}"})
    assert planted.json()["role"] == "visitor"


def test_signing_in_gives_a_new_secret_each_time_and_signing_out_ends_it(by_tls: TestClient):
    """[V7.2, V7.4]"""
    first = sign_in(by_tls)
    second = sign_in(by_tls)
    assert first.split(";")[0] != second.split(";")[0]
    old = {"Cookie": second.split(";")[0]}
    by_tls.delete(f"{API}/session")
    by_tls.cookies.clear()
    assert by_tls.get(f"{API}/session", headers=old).json()["role"] == "visitor"
