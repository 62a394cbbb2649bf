import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse
from starlette.routing import Route, WebSocketRoute
from starlette.testclient import TestClient
from starlette.websockets import WebSocket, WebSocketDisconnect

from service.access.csrf import CsrfGuard, form_token, is_form_token

SESSION = {"cookie": "slatproof_bench=spsession_x"}


async def page(request: Request):
    return HTMLResponse(request.state.form_token())


async def act(request: Request):
    return JSONResponse({"good": request.state.form_token_good((await request.body()).decode())})


async def socket(websocket: WebSocket):
    await websocket.accept()
    await websocket.close()


@pytest.fixture
def client():
    app = Starlette(
        routes=[
            Route("/", page),
            Route("/act", act, methods=["POST", "DELETE"]),
            WebSocketRoute("/ws", socket),
        ]
    )
    return TestClient(CsrfGuard(app, frozenset({"slats.example"})), base_url="http://testserver")


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"sec-fetch-site": "same-origin"} | SESSION, 200),
        ({"sec-fetch-site": "none"} | SESSION, 200),
        ({"sec-fetch-site": "same-site"} | SESSION, 403),
        ({"sec-fetch-site": "cross-site"} | SESSION, 403),
        ({"sec-fetch-site": "cross-site"}, 403),  # a form of another site may not sign a visitor in either
        ({"sec-fetch-site": "cross-site", "origin": "http://testserver"} | SESSION, 403),
        ({"origin": "http://testserver"} | SESSION, 200),
        ({"origin": "https://slats.example"} | SESSION, 200),
        ({"origin": "https://evil.example"} | SESSION, 403),
        ({"origin": "http://testserver.evil.example"} | SESSION, 403),
        ({"origin": "null"} | SESSION, 403),
        (SESSION, 403),
        ({"cookie": "slatproof_orders=x"}, 403),
        ({}, 200),  # a program without cookies
        ({"authorization": "Bearer sptoken_x", "origin": "https://shop.example"}, 200),
    ],
)
@pytest.mark.parametrize("method", ["POST", "DELETE"])
def test_only_this_site_and_programs_may_change_anything(client, headers, status, method):
    answer = client.request(method, "/act", headers=headers)
    assert answer.status_code == status
    if status == 403:
        assert answer.headers["content-type"] == "application/problem+json"


def test_reading_is_free(client):
    assert client.get("/", headers={"sec-fetch-site": "cross-site"} | SESSION).status_code == 200


def test_a_form_token_belongs_to_its_browser(client):
    token = client.get("/").text
    assert client.post("/act", content=token).json() == {"good": True}
    other = TestClient(client.app)
    other.get("/")
    assert other.post("/act", content=token).json() == {"good": False}
    assert client.post("/act", content="").json() == {"good": False}
    assert client.post("/act", content="é" + token).json() == {"good": False}


def test_signing_in_makes_older_forms_worthless(client):
    token = client.get("/").text
    client.cookies.set("slatproof_bench", "spsession_x")
    answer = client.post("/act", content=token, headers={"sec-fetch-site": "same-origin"})
    assert answer.json() == {"good": False}


def test_without_any_cookie_no_token_is_good(client):
    token = client.get("/").text
    assert TestClient(client.app).post("/act", content=token).json() == {"good": False}


def test_the_visit_cookie_is_out_of_reach_of_scripts_and_other_sites(client):
    header = client.get("/").headers["set-cookie"]
    assert "HttpOnly" in header
    assert "SameSite=Lax" in header
    assert "Secure" not in header
    assert "set-cookie" not in client.get("/").headers
    tls = TestClient(CsrfGuard(client.app._app, secure=True))
    assert "Secure" in tls.get("/").headers["set-cookie"]


def test_tokens_differ_each_time_and_stay_good():
    tokens = {form_token("s") for _ in range(20)}
    assert len(tokens) == 20
    assert all(is_form_token(token, "s") for token in tokens)
    assert not any(is_form_token(token, "t") for token in tokens)


def test_a_websocket_from_another_site_is_shut(client):
    with client.websocket_connect("/ws", headers={"origin": "http://testserver"} | SESSION):
        pass
    with (
        pytest.raises(WebSocketDisconnect),
        client.websocket_connect("/ws", headers={"origin": "https://evil.example"} | SESSION),
    ):
        pass  # pragma: no cover
