"""Which operations an API token may call, and the scope it needs there. ``tests/access`` holds them to the answers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from service.orders.actors import Scope

_READ = (
    "getCarving", "getContactSheet", "getJob", "getOrder", "getOrderActivity", "getOrderEvents", "getOriginal",
    "getPieceView", "getProof", "getProofDrawing", "getProofPicture", "getProofPrint", "getProofSection",
    "getProofSolid", "getProofView", "getQuote", "getReadingPicture", "getSheetPage", "getSuite", "listCures",
    "listDecisions", "listEvents", "followEvents", "listJobs", "listMessages", "listOrderCures", "listOrders",
    "listProofs", "getProofHistory", "listOrderVersions", "listPrices", "listSuites", "listVerdicts", "getPrices",
    "quoteFor", "listVersions", "signAddresses", "tryCut",
)  # fmt: skip
_WRITE = (
    "amendOrder", "cancelOrder", "changeCut", "checkLogo", "chooseVersion", "keepCheck", "findVersions", "takeAsSent",
    "checkAgain", "checkSuite", "dropSuite", "layAcross", "offerProofs",
    "placeArt", "placeOrder", "readAgain", "reorder", "setNames", "submitOrder", "takeCure", "uploadArtwork",
    "beginUpload", "getUpload", "continueUpload", "dropUpload",
    "useArtwork", "writeMessage",
)  # fmt: skip
_SIGN = ("askForChange", "signOff", "waiveRemarks", "waiveTogether")
_BATCHES = ("getBatch", "getBatchArchive", "listBatches")

SCOPES: Final[Mapping[str, Scope]] = {
    **dict.fromkeys(_READ, Scope.ORDERS_READ),
    **dict.fromkeys(_WRITE, Scope.ORDERS_WRITE),
    **dict.fromkeys(_SIGN, Scope.ORDERS_SIGN),
    **dict.fromkeys(_BATCHES, Scope.BATCHES_READ),
    "exportOrder": Scope.ORDERS_EXPORT,
    "setPayment": Scope.ORDERS_PAYMENTS,
    "releaseOrder": Scope.ORDERS_RELEASE,
    "takeBatch": Scope.BATCHES_WRITE,
}
"""Operation → scope that a token needs."""
ANY_TOKEN: Final = frozenset({"listModels", "getModel", "estimateModel"})
"""Operations that any token may call, whatever its scopes."""


def takes_tokens(name: str, *, open_to_all: bool) -> bool:
    """Whether a token may call an operation, with whatever scope; each of its requests is counted."""
    return open_to_all or name in SCOPES or name in ANY_TOKEN


def who_may(name: str, *, open_to_all: bool) -> str:
    """What a token needs for an operation, in a sentence."""
    if name in SCOPES:
        return f"A token needs the scope `{SCOPES[name].value}`."
    return "" if takes_tokens(name, open_to_all=open_to_all) else "Not for tokens: for people who sign in."
