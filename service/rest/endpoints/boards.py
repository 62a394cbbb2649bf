"""Test boards: made, read, fitted, accepted."""

from __future__ import annotations

from service.orders.test_boards import ShopBoard
from service.rest.operation import Answer, Bytes, Call, Operation, tagged
from service.rest.requests.boards import AcceptanceAsk, ReadingsAsk, TestBoardAsk
from service.rest.responses.boards import (
    TestBoardBody,
    TestBoardsBody,
    TestBoardSheetBody,
    board_body,
    sheet_body,
)
from service.rest.responses.orders import API
from service.rest.use import Does, as_it_is, items, itself, revised
from service.usecases import test_boards
from service.usecases.computing_boards import FittedBoard
from service.usecases.test_boards import BoardSheet, ProposalEffects

TAG = "Test boards"


def _made(board: ShopBoard) -> Answer[TestBoardBody]:
    return Answer(board_body(board), board.revision, location=f"{API}/test-boards/{board.id}")


def _sheet(sheet: BoardSheet) -> Answer[TestBoardSheetBody]:
    return Answer(sheet_body(sheet), sheet.board.revision)


def _drawing(call: Call) -> Bytes:
    form = call.path["form"]
    data, kind = test_boards.board_drawing(call.ctx, call.actor, call.path["board"], form)
    ending = "pdf" if form == "sheet" else form
    return Bytes(data, kind, f"test-board{'-sheet' if form == 'sheet' else ''}.{ending}")


def _photograph(call: Call) -> Answer[TestBoardBody]:
    sent = call.upload
    assert sent is not None  # noqa: S101 - the operation takes a file
    board = test_boards.keep_board_photograph(call.ctx, call.actor, call.path["board"], sent.data)
    return Answer(board_body(board), board.revision)


OPERATIONS = tagged(
    TAG,
    Operation(
        "POST /test-boards",
        "makeTestBoard",
        "Lay out a test board for a bit and an offcut.",
        Does(test_boards.make_test_board, _made),
        ask=TestBoardAsk,
        graph="content",
        status=201,
        more="The answer says how long it takes to carve; its drawings are at `getTestBoardDrawing`.",
    ),
    Operation(
        "GET /test-boards",
        "listTestBoards",
        "List the workshop's test boards, newest first.",
        Does(test_boards.list_test_boards, items(TestBoardsBody, board_body)),
        more="Those that were accepted are the evidence of the workshop's allowances, revision by revision.",
    ),
    Operation(
        "GET /test-boards/{board}",
        "getTestBoard",
        "Get a test board with every reading that can be taken of it.",
        Does(test_boards.get_test_board, _sheet),
    ),
    Operation(
        "GET /test-boards/{board}/drawing.{form}",
        "getTestBoardDrawing",
        "Get a test board at true size as SVG, DXF or PDF, or the sheet that goes to the bench with it.",
        _drawing,
        file=("image/svg+xml", "image/vnd.dxf", "application/pdf"),
        more="`form` is `svg`, `dxf`, `pdf` or `sheet`.",
    ),
    Operation(
        "POST /test-boards/{board}/readings",
        "saveTestBoardReadings",
        "Keep readings of a test board, beside those there are.",
        Does(test_boards.save_readings, revised(board_body)),
        ask=ReadingsAsk,
        graph="taken",
        more="Skip what cannot be measured. A reading that is named as odd is measured again and, where it is right, "
        "named in `confirmed`.",
    ),
    Operation(
        "POST /test-boards/{board}/photograph",
        "keepTestBoardPhotograph",
        "Keep a photograph with a test board.",
        _photograph,
        takes_file=True,
        more="JPEG, PNG or WebP. It is kept smaller, and without what a camera writes into it.",
    ),
    Operation(
        "GET /test-boards/{board}/photograph",
        "getTestBoardPhotograph",
        "Get the photograph kept with a test board.",
        Does(test_boards.board_photograph, as_it_is),
        file=("image/jpeg",),
    ),
    Operation(
        "GET /test-boards/{board}/fit",
        "fitTestBoard",
        "Get the shop's figures from a test board, each with its interval, and what they speak for.",
        Does(test_boards.fit_test_board, itself(FittedBoard)),
        more="Refused with the readings that would help most where there are too few.",
    ),
    Operation(
        "GET /test-boards/{board}/effects",
        "weighTestBoard",
        "Say what a test board's proposal would change for what was refused and signed lately.",
        Does(test_boards.weigh_test_board, itself(ProposalEffects)),
    ),
    Operation(
        "POST /test-boards/{board}/acceptance",
        "acceptTestBoard",
        "Take what a test board proposes into the settings; the board is their evidence.",
        Does(test_boards.accept_test_board, revised(board_body)),
        ask=AcceptanceAsk,
        graph="",
        problems=("nothing-to-accept",),
        more="Open proofs that it concerns become stale and are checked again; released ones keep theirs. `If-Match` "
        "names the board's revision.",
    ),
)
