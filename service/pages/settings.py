"""What the workshop sets: people, its sites' tokens, where one is signed in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render
from service.pages.second_step import square


async def people_page(request: Request) -> Response:
    """Who may come in."""
    return await _people(request)


async def _people(
    request: Request,
    status: int = 200,
    *,
    trouble: str = "",
    values: Mapping[str, str] | None = None,
    faults: Mapping[str, str] | None = None,
    **shown_once: Any,
) -> Response:
    """``shown_once``: a token's ``secret``, a key's ``enrolment``, the ``codes`` for a bad day."""
    api = Api(request)
    session = await bench_session(api)
    enrolment = shown_once.get("enrolment")
    maker = session["role"] == "maker"
    return render(
        request,
        "settings/people.html",
        status,
        session=session,
        workshop=session["workshop"],
        people=(await api.get("/people"))["items"],
        sessions=(await api.get("/sessions"))["items"],
        workshops=(await api.get("/session/workshops"))["items"],
        tokens=(await api.get("/tokens"))["items"] if maker else [],
        values=values or {},
        faults=faults or {},
        trouble=trouble,
        step=await api.get("/second-step"),
        secret=shown_once.get("secret", ""),
        codes=shown_once.get("codes", ()),
        enrolment=enrolment,
        square=square(enrolment["uri"]) if enrolment else "",
    )


async def change_people(request: Request) -> Response:
    """Invite, change, shut out; make and end tokens; what is about one's own account."""
    sent = await read_form(request)
    api = Api(request)
    row = sent.text("row")
    try:
        match sent.text("do"):
            case "invite":
                person = {name: sent.text(name) for name in ("email", "name", "role")}
                await api.send("POST", "/people", person)
            case "role":
                await api.send("PATCH", f"/people/{row}", {"role": sent.text("role")})
            case "disable" | "enable":
                await api.send("PATCH", f"/people/{row}", {"disabled": sent.text("do") == "disable"})
            case "token":
                body = {
                    "name": sent.text("name"),
                    "scopes": sent.texts("scopes"),
                    "test": sent.flag("test"),
                    "origins": sent.text("origins").split(),
                }
                made = await api.send("POST", "/tokens", body)
                return await _people(request, secret=made.json["secret"])
            case "revoke-token":
                await api.send("DELETE", f"/tokens/{row}")
            case "drop-step":
                await api.send("DELETE", f"/people/{row}/second-step")
            case _:
                return await _own_account(request, api, sent)
    except CallError as refused:
        if refused.status not in {403, 409, 422}:
            raise
        faults = {field.rsplit(".", 1)[-1]: text for field, text in refused.fields.items()}
        return await _people(
            request, refused.status, trouble=refused.words, values=sent.values(), faults=faults
        )
    return go("/bench/people")


async def _own_account(request: Request, api: Api, sent: Sent) -> Response:
    """Sign out elsewhere, another password, the second step: each asks for the password once more."""
    match sent.text("do"):
        case "begin-step":
            begun = await api.send("POST", "/second-step", {"password": sent.typed("password")})
            return await _people(request, enrolment=begun.json)
        case "confirm-step":
            code = {"code": sent.text("code")[:60]}
            confirmed = await api.send("POST", "/second-step/confirmation", code)
            return await _people(request, codes=confirmed.json["codes"])
        case "end-step":
            both = {"password": sent.typed("password"), "code": sent.text("code")[:60]}
            await api.send("POST", "/second-step/removal", both)
        case "require-step":
            asked = {"password": sent.typed("password"), "required": sent.text("required") == "yes"}
            await api.send("POST", "/second-step/requirement", asked)
        case "end-session":
            ended = {"password": sent.typed("password"), "session_id": sent.text("row") or None}
            await api.send("POST", "/sessions/removal", ended)
        case "change-password":
            change = {name: sent.typed(name) for name in ("password", "new_password")}
            await api.send("POST", "/password", change)
    return go("/bench/people")


ROUTES = (("/bench/people", "GET", people_page), ("/bench/people", "POST", change_people))
