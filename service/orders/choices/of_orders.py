"""Choices about orders, what is carved for them, and the work on it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, Literal

from service.orders.choices.choice import Choice
from service.orders.items import BreakReason, ItemState
from service.orders.messages import Side
from service.orders.record import EntryKind
from service.orders.site import OrderKind, Payment
from service.orders.states import CarvingState, OrderState
from service.orders.work import BatchState, JobKind, JobState

OrderBy = Literal["newest", "needed-by"]

CHOICES: Final[Mapping[Any, Choice]] = {
    OrderBy: Choice(
        "OrderBy",
        "In which order a list comes.",
        {"newest": "the newest first", "needed-by": "the earliest day needed first, those without one last"},
    ),
    OrderState: Choice(
        "OrderState",
        "Where an order stands.",
        {
            "draft": "the client is still at it",
            "submitted": "sent to the maker",
            "released": "approved by both, ready for the bench",
            "in-production": "being made",
            "done": "made",
            "cancelled": "not made",
        },
    ),
    OrderKind: Choice(
        "OrderKind",
        "What an order is for.",
        {
            "order": "to be made",
            "check": "a logo that is checked before there is an order; no maker sees it",
            "test": "placed with a test's token; no maker sees it, and it is never made",
        },
    ),
    Payment: Choice(
        "Payment",
        "Whether an order is paid, as its site says.",
        {
            "unsaid": "nobody has said",
            "due": "it is still to be paid",
            "paid": "it is paid",
            "refunded": "it was paid back",
        },
    ),
    CarvingState: Choice(
        "CarvingState",
        "Where one carving stands.",
        {
            "no-art": "no file was sent for it",
            "reading": "its file is being read",
            "refused": "its art goes no further; `trouble` says why",
            "checking": "its proof is being made",
            "checked": "there is a proof",
            "offered": "the proof is before the client for signing",
            "signed": "the client has signed",
            "feasible": "the maker has judged it feasible",
            "approved": "signed and feasible",
            "change-asked": "the client wants something changed",
            "rejected": "the maker cannot make it so",
            "stale": "the workshop's settings changed since the proof",
            "released": "released with its order",
        },
    ),
    EntryKind: Choice(
        "EntryKind",
        "What was decided.",
        {
            "submission": "an order was sent to the maker",
            "offer": "proofs were put before the client",
            "waiver": "the client accepted remarks",
            "sign-off": "the client signed",
            "change-request": "the client asked for a change",
            "feasibility": "the maker judged proofs feasible",
            "rejection": "the maker rejected a proof",
            "release": "the maker released an order to the bench",
            "recall": "the maker took a release back",
            "production": "making began or ended",
            "cancellation": "an order was cancelled",
            "setting": "a setting of the workshop changed",
            "access": "who may come in changed",
            "erasure": "a client's particulars and art were erased",
            "mark-approval": "the maker approved a version of the workshop's mark",
            "mark-end": "a version of the mark was ended",
            "tick": "the workshop said how far slats of pieces are",
            "remake": "a board is made again",
            "shift": "the art of one board is shifted, within what the client allowed",
            "split": "some pieces of an order became an order of their own, with their approvals",
            "version": "a version was chosen in place of what was sent, or that was gone back to",
            "program-check": "a machine program was held against what was signed",
        },
    ),
    Side: Choice(
        "MessageSide",
        "Who wrote a message on an order.",
        {"client": "the client, or a site for them", "workshop": "somebody of the workshop"},
    ),
    ItemState: Choice(
        "ItemState",
        "How far one slat of one piece is.",
        {
            "to-carve": "its board waits for the machine",
            "to-cut": "its board carries no art and waits to be cut out",
            "carved": "the machine is done with it",
            "cut-out": "cut to its outline",
            "finished": "sanded and finished",
            "packed": "ready to go",
            "broken": "spoilt; it is made again",
        },
    ),
    BreakReason: Choice(
        "BreakReason",
        "Why a board is made again.",
        {
            "knot": "a knot, or another fault of the wood",
            "tear-out": "wood broke out",
            "wrong-zero": "the bit's zero was set wrong",
            "dropped": "it fell",
            "other": "something else, said in words",
        },
    ),
    JobKind: Choice(
        "JobKind",
        "What is being done in the background.",
        {
            "read-artwork": "a file is read",
            "prove": "a cut is judged and drawn",
            "suite": "a list of texts, or a large picture, is made and judged",
            "versions": "versions of a drawing that carve are worked out",
            "batch": "an archive is put together",
        },
    ),
    JobState: Choice(
        "JobState",
        "How far a piece of background work is.",
        {"waiting": "asked for", "running": "begun", "done": "done", "failed": "given up"},
    ),
    BatchState: Choice(
        "BatchState",
        "How far a batch is.",
        {
            "waiting": "being put together",
            "ready": "its archive can be fetched",
            "failed": "given up; `message` says why",
        },
    ),
}
