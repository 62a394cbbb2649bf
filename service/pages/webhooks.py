"""Where events are sent: what was sent there, what was not taken and is sent again, a new secret."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, render

PAGE = 20
STATES = {"": L_("all"), "waiting": L_("waiting"), "delivered": L_("taken"), "dead": L_("given up")}
HERE = "/bench/webhooks"


async def webhooks_page(request: Request) -> Response:
    """Where events are sent."""
    return await _list(request)


async def _list(request: Request, status: int = 200, **shown: Any) -> Response:
    api = Api(request)
    session = await bench_session(api)
    hooks = (await api.get("/webhooks"))["items"]
    dead = [await _messages(api, hook["id"], first=1, state="dead", count=True) for hook in hooks]
    given: dict[str, Any] = {"trouble": "", "values": {}, "faults": {}, "secret": ""}
    return render(
        request,
        "settings/webhooks.html",
        status,
        session=session,
        workshop=session["workshop"],
        hooks=[(hook, found["total"]) for hook, found in zip(hooks, dead, strict=True)],
        **given | shown,
    )


async def _messages(api: Api, webhook: str, **query: Any) -> Any:
    return await api.get(f"/webhooks/{quote(webhook, safe='')}/deliveries", **query)


async def change_webhooks(request: Request) -> Response:
    """Name an address, take one away, go on with one, renew its secret."""
    sent = await read_form(request)
    try:
        made = await _changed(Api(request), sent)
    except CallError as refused:
        if refused.status not in {403, 409, 422}:
            raise
        faults = {field.rsplit(".", 1)[-1]: text for field, text in refused.fields.items()}
        return await _list(
            request, refused.status, trouble=refused.words, values=sent.values(), faults=faults
        )
    return await _list(request, secret=made["secret"]) if made else go(HERE)


async def _changed(api: Api, sent: Sent) -> Any:
    """What is shown this once, where there is a new secret."""
    hook = f"/webhooks/{quote(sent.text('row'), safe='')}"
    match sent.text("do"):
        case "make":
            return (await api.send("POST", "/webhooks", {"url": sent.text("url")})).json
        case "renew":
            return (await api.send("POST", f"{hook}/secrets")).json
        case "enable":
            await api.send("POST", f"{hook}/enabling")
        case "drop":
            await api.send("DELETE", hook)
    return None


async def messages_page(request: Request) -> Response:
    """What was sent to one address, newest first."""
    api = Api(request)
    session = await bench_session(api)
    webhook, asked = request.path_params["webhook"], request.query_params
    state = asked.get("state", "") if asked.get("state", "") in STATES else ""
    found = await _messages(api, webhook, first=PAGE, state=state, after=asked.get("after"), count=True)
    hooks = (await api.get("/webhooks"))["items"]
    return render(
        request,
        "settings/webhook.html",
        session=session,
        workshop=session["workshop"],
        hook=next(hook for hook in hooks if hook["id"] == webhook),
        found=found,
        state=state,
        states=STATES,
    )


async def send_again(request: Request) -> Response:
    """Send one message once more; back to the list it stood in."""
    sent = await read_form(request)
    await Api(request).send("POST", f"/deliveries/{quote(sent.text('row'), safe='')}/replays")
    state = sent.text("state") if sent.text("state") in STATES else ""
    return go(f"{HERE}/{quote(request.path_params['webhook'], safe='')}?state={state}")


ROUTES = (
    (HERE, "GET", webhooks_page),
    (HERE, "POST", change_webhooks),
    (HERE + "/{webhook}", "GET", messages_page),
    (HERE + "/{webhook}", "POST", send_again),
)
