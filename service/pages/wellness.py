"""Is everything well? Signs in words, and work that was given up, to be asked for again."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import read_form
from service.pages.rendering import go, render

# The marks of verdicts say the same of the service: it is whole, worth knowing, to be changed.
_MARKS = {"well": "carves", "watch": "carves-with-remarks", "trouble": "will-not-carve"}
_SUBJECTS = {
    "worker": L_("Work in the background"),
    "work": L_("Waiting to be worked out"),
    "given-up": L_("Given up"),
    "mail": L_("Mail"),
    "files": L_("Files"),
    "room": L_("Room"),
    "share": L_("Share of this place"),
    "housekeeping": L_("Tidying up"),
    "backup": L_("Backup"),
    "scrub": L_("Check of all files"),
    "address": L_("Address"),
    "delivery": L_("Where mail goes"),
    "rights": L_("The data folder"),
    "seeded": L_("The made-up workshop"),
    "clock": L_("The clock"),
    "cage": L_("Reading clients' files"),
    "wall": L_("Between workshops"),
    "version": L_("Version"),
}
_WORDS = {
    "well": L_("Everything is well"),
    "watch": L_("Something is worth a look"),
    "trouble": L_("Something must be done"),
}
_KINDS = {
    "read-artwork": L_("Reading a file"),
    "prove": L_("Checking a carving"),
    "suite": L_("Making a list of texts, or a picture over several slats"),
    "versions": L_("Working out versions that carve"),
    "batch": L_("Putting an archive together"),
}


async def wellness(request: Request) -> Response:
    """All signs, the worst first in the heading."""
    return await _show(request)


async def retry(request: Request) -> Response:
    """Ask again for one piece of work that was given up, or for all of them."""
    sent = await read_form(request)
    api = Api(request)
    try:
        if sent.texts("all"):
            await api.send("POST", "/given-up-work/retries")
        for job in sent.texts("job"):
            await api.send("POST", f"/jobs/{job}/retries")
    except CallError as refused:
        if refused.status not in {403, 404, 409, 422, 429}:
            raise
        return await _show(request, refused.status, refused.words)
    return go("/bench/wellness")


async def _show(request: Request, status: int = 200, trouble: str = "") -> Response:
    api = Api(request)
    session = await bench_session(api)
    found = await api.get("/wellness")
    given_up = (await api.get("/given-up-work"))["items"]
    return render(
        request,
        "bench/wellness.html",
        status,
        session=session,
        workshop=session["workshop"],
        words=_WORDS[found["level"]],
        mark=_MARKS[found["level"]],
        signs=[
            {**sign, "mark": _MARKS[sign["level"]], "subject": _SUBJECTS[sign["subject"]]}
            for sign in found["signs"]
        ],
        given_up=[{**each, "kind": _KINDS[each["job"]["kind"]]} for each in given_up],
        may_retry=session["role"] == "maker",
        trouble=trouble,
    )


ROUTES = (
    ("/bench/wellness", "GET", wellness),
    ("/bench/wellness", "POST", retry),
)
