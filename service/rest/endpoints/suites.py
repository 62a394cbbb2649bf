"""Runs of texts and pictures over several slats: asked for, looked at, decided on as one."""

from __future__ import annotations

from artwork.lettering.typefaces import typefaces
from service.rest.endpoints.ordering import whole
from service.rest.operation import Answer, Bytes, Call, Operation, tagged
from service.rest.requests.suites import AcrossAsk, NamesAsk, TogetherAsk
from service.rest.responses.suites import SuitesBody, TypefacesBody, suite_body, typeface_body
from service.rest.use import Does, bytes_of, items, one
from service.usecases import approving, sheets, suites

TAG = "Lists and large pictures"
_CHANGES = ("stale", "wrong-state")


def _page(call: Call) -> Bytes:
    page = call.path["page"]
    number = int(page) if page.isdecimal() and len(page) < 5 else 0
    made = sheets.names_page(call.ctx, call.actor, call.path["suite"], number)
    return Bytes(made, "image/png", f"contact-sheet-{number}.png")


def _typefaces(call: Call) -> Answer[TypefacesBody]:  # noqa: ARG001 - the same for everybody
    return Answer(TypefacesBody(tuple(typeface_body(face) for face in typefaces())))


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /typefaces",
        "listTypefaces",
        "List the typefaces that texts can be carved in.",
        _typefaces,
        open=True,
    ),
    Operation(
        "GET /orders/{order}/suites",
        "listSuites",
        "List an order's runs of texts and large pictures.",
        Does(suites.list_suites, items(SuitesBody, suite_body)),
    ),
    Operation(
        "GET /suites/{suite}",
        "getSuite",
        "Get a run of texts, or a large picture, with all its parts.",
        Does(suites.get_suite, one(suite_body)),
    ),
    Operation(
        "PUT /orders/{order}/names",
        "setNames",
        "Carve a text of its own on every piece of a line.",
        Does(suites.set_names, whole),
        graph="names",
        ask=NamesAsk,
        large=True,
        problems=_CHANGES,
        more="Every text is set and judged in the background. The line has as many pieces as there are texts.",
    ),
    Operation(
        "PUT /orders/{order}/across",
        "layAcross",
        "Lay one picture over several slats of a line.",
        Does(suites.lay_across, whole),
        graph="across",
        ask=AcrossAsk,
        problems=("no-outline", *_CHANGES),
        more="It is cut by slat; every slice is judged, and all of them are shown and signed as one.",
    ),
    Operation(
        "POST /suites/{suite}/checks",
        "checkSuite",
        "Make and judge all of it again under today's settings.",
        Does(suites.check_suite, whole),
        graph="",
        problems=_CHANGES,
        more="The revision is the order's.",
    ),
    Operation(
        "POST /suites/{suite}/removal",
        "dropSuite",
        "Take a run of texts, or a large picture, off its slats.",
        Does(suites.drop_suite, whole),
        graph="",
        problems=_CHANGES,
        more="The revision is the order's.",
    ),
    Operation(
        "POST /orders/{order}/suite-waivers",
        "waiveTogether",
        "Accept every remark of some kinds in a whole list or picture, as the client.",
        Does(approving.waive_together, whole),
        graph="",
        ask=TogetherAsk,
        problems=("not-current", "wrong-state"),
        more="A finding that stops cannot be waived.",
    ),
    Operation(
        "GET /suites/{suite}/sheet.pdf",
        "getContactSheet",
        "Get a run's contact sheet: every piece, exceptions in words, the digest that is signed.",
        Does(sheets.names_sheet, bytes_of("application/pdf", "contact-sheet.pdf")),
        file=("application/pdf",),
        problems=("not-ready",),
    ),
    Operation(
        "GET /suites/{suite}/pages/{page}",
        "getSheetPage",
        "Get one page of a run's contact sheet as a picture.",
        _page,
        file=("image/png",),
        problems=("not-ready",),
    ),
)
