"""The workshop's own marks: looked at, approved once per version, ended."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.proof import shown_of
from service.pages.rendering import go, render

SAID = {
    "proposed": L_("Proposed. Look at it, then approve it: until then it is not carved."),
    "approved": L_("Approved. It is carved on every piece of the model that is released from now on."),
    "ended": L_("Ended. What is released from now on goes without it."),
}


async def marks_page(request: Request) -> Response:
    """Every version of the marks."""
    return await _show(request)


async def _show(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    models = {model["key"]: model["name"] for model in (await api.get("/models"))["items"]}
    return render(
        request,
        "settings/marks.html",
        status,
        session=session,
        workshop=session["workshop"],
        marks=(await api.get("/settings/marks"))["items"],
        models=models,
        trouble=trouble,
        said=next((words for key, words in SAID.items() if key in request.query_params), ""),
    )


async def change(request: Request) -> Response:
    """Propose a draft's proof, approve a version, or end one."""
    sent = await read_form(request)
    mark, path = sent.text("mark"), "/settings/marks"
    try:
        if sent.flag("end"):
            await Api(request).send("POST", f"{path}/{mark}/end")
            return go("/bench/settings/marks?ended")
        (shown,) = shown_of(sent) or ({},)
        if not mark:
            await Api(request).send("POST", path, shown)
            return go("/bench/settings/marks?proposed")
        seen = {"digest": shown.get("digest"), "picture": shown.get("picture")}
        await Api(request).send("POST", f"{path}/{mark}/approval", seen)
    except CallError as refused:
        if refused.status not in {403, 404, 409, 422}:
            raise
        return await _show(request, refused.status, refused.words)
    return go("/bench/settings/marks?approved")


ROUTES = (
    ("/bench/settings/marks", "GET", marks_page),
    ("/bench/settings/marks", "POST", change),
)
