"""The workshop's own marks."""

from __future__ import annotations

from service.rest.operation import Operation
from service.rest.requests.cutting import ShownAsk
from service.rest.requests.marks import MarkApprovalAsk
from service.rest.responses.marks import MarkBody, MarksBody, OrderMarksBody, mark_body, order_mark_body
from service.rest.use import Does, as_it_is, items, one
from service.usecases import marking

TAG = "Settings"


OPERATIONS = (
    Operation(
        "GET",
        "/settings/marks",
        "listMarks",
        "List every version of the workshop's own marks.",
        TAG,
        Does(marking.list_marks, items(MarksBody, mark_body)),
        gives=MarksBody,
    ),
    Operation(
        "POST",
        "/settings/marks",
        "proposeMark",
        "Take the current proof of a draft's carving as the next version of the mark on its slat.",
        TAG,
        Does(marking.propose_mark, one(mark_body)),
        graph="shown",
        ask=ShownAsk,
        gives=MarkBody,
        status=201,
        problems=("not-a-draft", "not-current", "proof-stale", "will-not-carve", "mark-changed"),
        more="A mark stays when its order goes: draw it in a draft of the workshop's own.",
    ),
    Operation(
        "POST",
        "/settings/marks/{mark}/approval",
        "approveMark",
        "Approve a version of a mark, with its remarks, by what was shown of it.",
        TAG,
        Does(marking.approve_mark, one(mark_body)),
        graph="",
        ask=MarkApprovalAsk,
        gives=MarkBody,
        problems=("already-approved", "ended", "not-current", "will-not-carve", "mark-changed"),
        more="From then on it is carved on every piece of the model that is released, "
        "except where a client's art is on the same slat.",
    ),
    Operation(
        "POST",
        "/settings/marks/{mark}/end",
        "endMark",
        "Carve a version of a mark no longer, in what is released from now on.",
        TAG,
        Does(marking.end_mark, one(mark_body)),
        graph="",
        gives=MarkBody,
    ),
    Operation(
        "GET",
        "/settings/marks/{mark}/picture",
        "getMarkPicture",
        "Get the picture of a mark that the maker approves.",
        TAG,
        Does(marking.mark_picture, as_it_is),
        file=("image/png",),
    ),
    Operation(
        "GET",
        "/orders/{order}/marks",
        "listOrderMarks",
        "List the workshop's own marks on an order, each with its version and approval.",
        "Orders",
        Does(marking.list_order_marks, items(OrderMarksBody, order_mark_body)),
        gives=OrderMarksBody,
        more="Of a released order those it was released with; of any other those it would be released with today.",
    ),
)
