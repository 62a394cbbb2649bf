"""Whatever one door can do to an order, the other can: a table, and a test that nothing is missing."""

from __future__ import annotations

from graphql import GraphQLObjectType

from schema.build import build_schema
from service.rest.openapi import document

# REST operation → where the graph has the same.
TABLE = {
    "placeOrder": "Mutation.placeOrder",
    "amendOrder": "Mutation.amendOrder",
    "submitOrder": "Mutation.submitOrder",
    "cancelOrder": "Mutation.cancelOrder",
    "reorder": "Mutation.reorder",
    "splitOrder": "Mutation.splitOrder",
    "setTravel": "Mutation.setTravel",
    "releaseOrder": "Mutation.releaseOrder",
    "recallOrder": "Mutation.recallOrder",
    "startProduction": "Mutation.startProduction",
    "finishProduction": "Mutation.finishProduction",
    "readAgain": "Mutation.readAgain",
    "useArtwork": "Mutation.useArtwork",
    "placeArt": "Mutation.placeArt",
    "changeCut": "Mutation.changeCut",
    "checkAgain": "Mutation.checkAgain",
    "takeCure": "Mutation.takeCure",
    "findVersions": "Mutation.findVersions",
    "chooseVersion": "Mutation.chooseVersion",
    "takeAsSent": "Mutation.takeAsSent",
    "changeByHand": "Mutation.changeByHand",
    "getDrawingChanges": "Query.drawingChanges",
    "getDrawingChangesPicture": "DrawingChanges.pictureUrl",
    "offerProofs": "Mutation.offerProofs",
    "signOff": "Mutation.signOff",
    "findFeasible": "Mutation.findFeasible",
    "waiveRemarks": "Mutation.waiveRemarks",
    "askForChange": "Mutation.askForChange",
    "rejectProof": "Mutation.rejectProof",
    "takeBatch": "Mutation.takeBatch",
    "eraseClient": "Mutation.eraseClient",
    "mailLink": "Mutation.mailLink",
    "revokeLinks": "Mutation.revokeLinks",
    "revokeLink": "Mutation.revokeLinks",
    "saveWorkshop": "Mutation.saveWorkshop",
    "saveModel": "Mutation.saveModel",
    "retireModel": "Mutation.retireModel",
    "saveBit": "Mutation.saveBit",
    "retireBit": "Mutation.retireBit",
    "tryCut": "Query.trial",
    "getOrder": "Query.order",
    "getOrderActivity": "Order.activity",
    "listOrders": "Query.orders",
    "countOrders": "Query.orderCounts",
    "getCarving": "Query.carving",
    "listCures": "Query.cures",
    "listOrderCures": "Query.cures",
    "listVersions": "Query.versions",
    "listOrderVersions": "Query.versions",
    "getVersionPicture": "Version.pictureUrl",
    "getProof": "Query.proof",
    "listProgramChecks": "Order.programChecks",
    "listProofs": "Carving.proofs",
    "getProofHistory": "Carving.proofs",
    "listItems": "Order.items",
    "shiftItem": "Mutation.shiftItem",
    "getItem": "Order.items",
    "tickItems": "Mutation.tickItems",
    "remakeItem": "Mutation.remakeItem",
    "makeTestBoard": "Mutation.makeTestBoard",
    "listTestBoards": "Query.testBoards",
    "getTestBoard": "Query.testBoard",
    "saveTestBoardReadings": "Mutation.saveTestBoardReadings",
    "fitTestBoard": "Query.testBoardFit",
    "weighTestBoard": "Query.testBoardEffects",
    "acceptTestBoard": "Mutation.acceptTestBoard",
    "listOutcomes": "Order.outcomes",
    "recordOutcome": "Mutation.recordOutcome",
    "getExperience": "Query.experience",
    "acceptTimeFactor": "Mutation.acceptTimeFactor",
    "getWellness": "Query.wellness",
    "listGivenUpWork": "Query.givenUpWork",
    "retryAllWork": "Mutation.retryAllWork",
    "retryWork": "Mutation.retryWork",
    "getBatch": "Query.batch",
    "listBatches": "Query.batches",
    "getJob": "Query.job",
    "listJobs": "Order.jobs",
    "listMessages": "Order.messages",
    "writeMessage": "Mutation.writeMessage",
    "listDecisions": "Order.decisions",
    "listRecord": "Query.record",
    "verifyRecord": "Query.recordVerification",
    "exportOrder": "Order.exportUrl",
    "getWorkshop": "Query.workshop",
    "listOfferedModels": "Workshop.models",
    "getOfferedModel": "Workshop.models",
    "listModels": "Query.models",
    "getModel": "Query.models",
    "getSettings": "Query.settings",
    "getPrices": "Query.prices",
    "listPrices": "Query.priceLists",
    "quoteFor": "Query.quoteFor",
    "keepCheck": "Mutation.keepCheck",
    "setPayment": "Mutation.setPayment",
    "listVerdicts": "Query.verdicts",
    "savePrices": "Mutation.savePrices",
    "getQuote": "Order.quote",
    "listSuites": "Order.suites",
    "getMachine": "Query.machine",
    "saveMachine": "Mutation.saveMachine",
    "listMarks": "Query.marks",
    "proposeMark": "Mutation.proposeMark",
    "approveMark": "Mutation.approveMark",
    "endMark": "Mutation.endMark",
    "getMarkPicture": "Mark.pictureUrl",
    "listOrderMarks": "Order.marks",
    "planWork": "Order.work",
    "getSuite": "Query.suite",
    "setNames": "Mutation.setNames",
    "layAcross": "Mutation.layAcross",
    "checkSuite": "Mutation.checkSuite",
    "dropSuite": "Mutation.dropSuite",
    "waiveTogether": "Mutation.waiveTogether",
    "getContactSheet": "Suite.sheetUrl",
    "getSession": "Query.viewer",
    "getOrderEvents": "Subscription.orderChanged",
    "getOriginal": "Artwork.originalUrl",
    "getReadingPicture": "Reading.pictureUrl",
    "getProofPicture": "Proof.pictureUrl",
    "getProofDrawing": "Proof.drawingUrl",
    "getBatchArchive": "Batch.archiveUrl",
}
# Bytes go in by REST: GraphQL has no safe way to take them. What is uploaded is then used from either door.
BYTES = {"uploadArtwork", "checkLogo"}
TUS = {"beginUpload", "getUploadProtocol", "getUpload", "continueUpload", "dropUpload"}
# Pictures and files are bytes as well; their addresses follow from the proof's or order's id.
FILES = {
    "getProofView",
    "getProofSection",
    "getPieceView",
    "getProofPrint",
    "getRemakeSheets",
    "getItemDrawing",
    "getJointSheets",
    "getProofSolid",
    "getSheetPage",
}
# Cookies, accounts and tokens are not about an order; browsers sign in at the REST door.
NOT_ABOUT_ORDERS = {
    # files and pictures of test boards and programs
    "getTestBoardDrawing",
    "keepTestBoardPhotograph",
    "getTestBoardPhotograph",
    "checkProgram",
    "checkBatchProgram",
    "checkBedProgram",
    "getProgramCheck",
    "getProgramPicture",
    "getProgramSheet",
    "signIn",
    "signOut",
    "openLink",
    "askForLink",
    "mailLostLinks",
    "askForPassword",
    "whosePassword",
    "choosePassword",
    "getSecondStep",
    "beginSecondStep",
    "confirmSecondStep",
    "requireSecondStep",
    "endSecondStep",
    "dropSecondStep",
    "listPeople",
    "invitePerson",
    "changePerson",
    "listSessions",
    "listMyWorkshops",
    "goToWorkshop",
    "endSessions",
    "changePassword",
    "listTokens",
    # events are for programs beside an order's: the graph has subscriptions of its own
    "listEvents",
    "followEvents",
    "listWebhooks",
    "makeWebhook",
    "dropWebhook",
    "rotateWebhookSecret",
    "enableWebhook",
    "listDeliveries",
    "sendAgain",
    "makeToken",
    "renewToken",
    "signAddresses",
    "listTokenUses",
    "revokeToken",
    "listLinks",
    "listWorkshops",
    "listFramingSites",
    "estimateOfferedModel",
    "estimateModel",
    # aids for whoever sets up models
    "getAllowanceCosts",
    "drawSlat",
    "drawRow",
    "readPieceDrawing",
    "listStarters",
    "listTypefaces",
    "readSlatDrawing",
}
# Convenience of the graph over what the table has already.
GRAPH_ONLY = {"Query.node", "Subscription.jobsChanged"}


def rest_names() -> set[str]:
    return {op["operationId"] for path in document()["paths"].values() for op in path.values()}


def graph_fields() -> set[str]:
    types = build_schema()._schema.type_map.values()
    return {f"{t.name}.{f}" for t in types if isinstance(t, GraphQLObjectType) for f in t.fields}


def test_every_rest_operation_has_its_row():
    assert rest_names() == TABLE.keys() | BYTES | TUS | FILES | NOT_ABOUT_ORDERS


def test_every_row_leads_to_a_field_of_the_graph():
    assert set(TABLE.values()) <= graph_fields()


def test_every_root_field_of_the_graph_has_its_row():
    roots = {f for f in graph_fields() if f.split(".")[0] in ("Query", "Mutation", "Subscription")}
    assert roots == {v for v in TABLE.values() if v in roots} | GRAPH_ONLY
