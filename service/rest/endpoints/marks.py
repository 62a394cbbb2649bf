"""The workshop's own marks."""

from __future__ import annotations

from service.rest.operation import Operation, tagged
from service.rest.requests.cutting import ShownAsk
from service.rest.requests.marks import MarkApprovalAsk
from service.rest.responses.marks import MarksBody, OrderMarksBody, mark_body, order_mark_body
from service.rest.use import Does, as_it_is, items, one
from service.usecases import marking

TAG = "Settings"


_MARKS = tagged(
    TAG,
    Operation(
        "GET /settings/marks",
        "listMarks",
        "List every version of the workshop's own marks.",
        Does(marking.list_marks, items(MarksBody, mark_body)),
    ),
    Operation(
        "POST /settings/marks",
        "proposeMark",
        "Take the current proof of a draft's carving as the next version of the mark on its slat.",
        Does(marking.propose_mark, one(mark_body)),
        graph="shown",
        ask=ShownAsk,
        status=201,
        problems=("not-a-draft", "not-current", "proof-stale", "will-not-carve", "mark-changed"),
        more="A mark stays when its order goes: draw it in a draft of the workshop's own.",
    ),
    Operation(
        "POST /settings/marks/{mark}/approval",
        "approveMark",
        "Approve a version of a mark, with its remarks, by what was shown of it.",
        Does(marking.approve_mark, one(mark_body)),
        graph="",
        ask=MarkApprovalAsk,
        problems=("already-approved", "ended", "not-current", "will-not-carve", "mark-changed"),
        more="From then on it is carved on every piece of the model that is released, "
        "except where a client's art is on the same slat.",
    ),
    Operation(
        "POST /settings/marks/{mark}/end",
        "endMark",
        "Carve a version of a mark no longer, in what is released from now on.",
        Does(marking.end_mark, one(mark_body)),
        graph="",
    ),
    Operation(
        "GET /settings/marks/{mark}/picture",
        "getMarkPicture",
        "Get the picture of a mark that the maker approves.",
        Does(marking.mark_picture, as_it_is),
        file=("image/png",),
    ),
)
_OF_ORDERS = tagged(
    "Orders",
    Operation(
        "GET /orders/{order}/marks",
        "listOrderMarks",
        "List the workshop's own marks on an order, each with its version and approval.",
        Does(marking.list_order_marks, items(OrderMarksBody, order_mark_body)),
        more="Of a released order those it was released with; of any other those it would be released with today.",
    ),
)
OPERATIONS = (*_MARKS, *_OF_ORDERS)
