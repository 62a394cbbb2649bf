"""Every fixed choice that both doors show: its name in the contracts, and what each value means.

Stated once; the graph's enums and the words in the OpenAPI document are made from it
(``docs/adr/0019-one-definition-of-each-value.md``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal, get_args

from artwork.drawings.frame import Zero
from artwork.findings.values import Kind, Severity, Verdict
from artwork.furniture import Face
from artwork.intake.values import Kind as ReadingKind
from artwork.intake.values import Way
from artwork.remark import Severity as RemarkSeverity
from service.orders.actors import Role, Scope
from service.orders.artworks import ReadingState
from service.orders.finishes import Finish
from service.orders.items import BreakReason, ItemState
from service.orders.machine import Paper, ZeroPer
from service.orders.messages import Side
from service.orders.outcomes import Outcome
from service.orders.price_list import PriceKind, Rounding
from service.orders.program_checks import DifferenceKind, ProgramOutcome
from service.orders.record import EntryKind
from service.orders.site import OrderKind, Payment
from service.orders.states import CarvingState, OrderState
from service.orders.suites import SuiteKind
from service.orders.test_boards import AcceptFor
from service.orders.versions import ChangeKind, ChangeUnit, VersionKind, VersionsState
from service.orders.webhooks import DeliveryState
from service.orders.wellness import Level, Subject
from service.orders.work import BatchState, JobKind, JobState

EARLIER_KINDS: Final = ("floor", "nick")
"""Kinds of findings that checks of the first engine know."""
FindingKind: Any = Literal[(*get_args(Kind), *EARLIER_KINDS)]
OrderBy = Literal["newest", "needed-by"]
DrawingForm = Literal["svg", "dxf", "pdf"]


@dataclass(frozen=True)
class Choice:
    """One fixed choice.

    Attributes:
        name: of the graph's enum.
        words: what is chosen.
        values: value → what it means.
    """

    name: str
    words: str
    values: Mapping[str, str]


CHOICES: Final[Mapping[Any, Choice]] = {
    FindingKind: Choice(
        "FindingKind",
        "What sort of thing is found. Each kind is shown with a picture in the gallery.",
        {
            "line": "a line is too thin to be carved deep enough",
            "tip": "a sharp point of a line ends early",
            "vanishing": "a part disappears altogether",
            "fleck": "a speck is too small to be seen",
            "land": "wood between lines is too thin to stand",
            "land-tip": "a sharp sliver of wood would crumble at its point",
            "counter": "a small island of wood inside a shape would break out",
            "depth": "the slat is too thin to carve deep enough",
            "hidden": "the cut would meet a screw or joint below the face",
            "round-over": "the slat's rounded edge takes some of it away",
            "edge-margin": "closer to the edge than the workshop likes",
            "end-margin": "closer to the end of the slat than the workshop likes",
            "off-slat": "a part lies beyond the slat's edge",
            "keep-out": "too close to a screw or joint",
            "edge-land": "too little wood is left between it and the slat's edge",
            "resolution": "the picture is coarse for this size",
            "touching": "shapes touch each other at points",
            "gaps": "the gaps between the slats take a part of it",
            "floor": "a flat bottom; only in checks of the first engine",
            "nick": "a small notch; only in checks of the first engine",
        },
    ),
    Severity: Choice(
        "Severity",
        "How bad a finding is.",
        {"stops": "it will not carve so", "warns": "it will carve, and somebody should know this"},
    ),
    Verdict: Choice(
        "Verdict",
        "Whether a cut carves.",
        {
            "carves": "without any finding",
            "carves-with-remarks": "with warnings only, each to be accepted before signing",
            "will-not-carve": "something stops it",
        },
    ),
    RemarkSeverity: Choice(
        "RemarkSeverity",
        "How much a remark about a file matters.",
        {"warns": "the result may not be what was meant", "tells": "only to be known"},
    ),
    ReadingKind: Choice(
        "ReadingKind",
        "Where an outline came from.",
        {"traced": "a picture was traced", "vector": "the file's own curves were taken"},
    ),
    Way: Choice(
        "Way",
        "How carved colours that meet are kept apart.",
        {
            "solid": "they become one shape",
            "parted": "a line of wood is left between them",
            "drawn": "an edge between colours that are not carved is carved as a line",
            "toned": "what is dark is carved, and along edges within it light lines are left and dark ones cut",
        },
    ),
    Zero: Choice(
        "Zero",
        "Where a drawing's zero lies.",
        {
            "slat": "the slat's own origin: its foot, on the centre line",
            "lower-left": "lower left corner of the slat's bounding box as it then lies",
            "lower-right": "lower right corner of it",
            "upper-left": "upper left corner of it",
            "upper-right": "upper right corner of it",
            "centre": "middle of it",
        },
    ),
    Paper: Choice(
        "Paper",
        "What sheets are printed on.",
        {"A4": "210 by 297 mm (ISO 216)", "Letter": "215.9 by 279.4 mm (ANSI/ASME Y14.1)"},
    ),
    ZeroPer: Choice(
        "ZeroPer",
        "Where the bit's zero is set.",
        {"board": "on every board, over the art", "bed": "once for the whole bed"},
    ),
    OrderBy: Choice(
        "OrderBy",
        "In which order a list comes.",
        {"newest": "the newest first", "needed-by": "the earliest day needed first, those without one last"},
    ),
    DrawingForm: Choice(
        "DrawingForm",
        "Format of a drawing.",
        {"svg": "SVG, user units are mm", "dxf": "DXF, drawing units are mm", "pdf": "PDF at true size"},
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
    Scope: Choice(
        "Scope",
        "What an API token may do.",
        {
            "orders.read": "look at orders, proofs, verdicts, prices and events",
            "orders.write": "place and change orders, send artwork, have logos checked",
            "orders.sign": "sign for its clients",
            "orders.export": "export everything held about an order",
            "orders.payments": "say what is paid",
            "orders.release": "release what is fully approved",
            "batches.read": "fetch batches",
            "batches.write": "have batches put together",
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
    ReadingState: Choice(
        "ReadingState",
        "How far one reading of a file is.",
        {
            "waiting": "asked for",
            "read": "there is an outline",
            "refused": "it could not be read; `trouble` says why",
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
    Outcome: Choice(
        "ItemOutcomeKind",
        "How an item came out.",
        {
            "fine": "as it was approved",
            "faded": "something carved does not read any more",
            "broke": "wood broke out",
            "tear-out": "fibres were torn out along a groove",
            "wrong": "something else went wrong",
        },
    ),
    AcceptFor: Choice(
        "AcceptFor",
        "Whose allowances a test board changes.",
        {"workshop": "the workshop's own", "wood": "those of the slats of the board's wood alone"},
    ),
    ProgramOutcome: Choice(
        "ProgramOutcome",
        "How a machine program compares with what was signed.",
        {
            "cuts-what-was-signed": "it cuts what was signed",
            "differs": "it differs, and where is said",
            "is-not-this-carving": "it is another carving",
        },
    ),
    DifferenceKind: Choice(
        "ProgramDifferenceKind",
        "How a program and the signed carving part at one place.",
        {
            "missing": "wood stays that should go",
            "extra": "wood goes that should stay",
            "shallow": "it is too shallow",
            "deep": "it is too deep",
        },
    ),
    DeliveryState: Choice(
        "DeliveryState",
        "How far a message to a webhook is.",
        {
            "waiting": "to be sent, or tried again",
            "delivered": "taken",
            "dead": "given up after the last try",
        },
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
    VersionKind: Choice(
        "VersionKind",
        "What sort of change makes a drawing carve.",
        {
            "as-placed": "strokes and gaps are changed where it lies",
            "finer-bit": "the same, with a finer bit",
            "stacked": "the same, set on two lines",
            "turned": "the same, turned by a quarter",
            "finer-bit-turned": "the same, turned and with a finer bit",
            "move": "it lies elsewhere on the slat",
            "resize": "it has another size",
            "thicken": "every line is thicker by the same",
            "thin": "every line is thinner by the same",
            "resize-and-thicken": "another size, every line thicker",
            "resize-and-thin": "another size, every line thinner",
            "turn": "it is turned",
            "other-slat": "it goes on another slat",
            "other-bit": "it is carved with another bit",
            "drop-parts": "parts that would be lost are left out",
            "outline-only": "only its edges are carved",
            "no-floor": "it is so small that no bottom is flat",
            "carve-background": "the ground around it is carved",
            "as-sent": "what was sent, as it lay",
        },
    ),
    ChangeKind: Choice(
        "ChangeKind",
        "What was done to a drawing.",
        {
            "thickened": "strokes are thicker",
            "thinned": "strokes are thinner",
            "moved": "parts are moved aside",
            "gap-opened": "gaps between lines are wider",
            "gap-filled": "gaps are carved",
            "counter-opened": "wood within a shape is larger",
            "counter-filled": "small islands of wood are carved away",
            "dot-grown": "small parts are larger",
            "end-shortened": "thin ends are left out",
            "stroke-cut": "strokes are interrupted",
            "left-out": "small parts are left out: plain wood",
            "letters-spaced": "letters are farther apart",
            "stacked": "set on several lines",
            "turned": "turned",
            "resized": "another size",
            "bit": "another bit",
        },
    ),
    ChangeUnit: Choice(
        "ChangeUnit",
        "What the amount of a change is counted in.",
        {
            "mm": "millimetres",
            "degrees": "degrees, counter-clockwise; of a bit, its angle",
            "percent": "per cent of the former size",
            "lines": "lines that it is set on",
        },
    ),
    VersionsState: Choice(
        "VersionsState",
        "How far the versions of a carving are.",
        {
            "not-needed": "it carves, or there is no proof",
            "not-asked": "nobody had them worked out",
            "working": "they are being worked out",
            "ready": "there are versions, or the reason why there are none",
            "failed": "they could not be worked out; they can be asked for again",
        },
    ),
    Level: Choice(
        "Level",
        "How well something is.",
        {"well": "as it should be", "watch": "to be looked at soon", "trouble": "to be looked at now"},
    ),
    Subject: Choice(
        "Subject",
        "What a sign of wellness is about.",
        {
            "worker": "whether a worker is there",
            "work": "work that waits",
            "given-up": "work that was given up",
            "mail": "mail that waits or was lost",
            "files": "whether files can be kept",
            "room": "room on the disk",
            "housekeeping": "the daily tidying",
            "backup": "the daily copy",
            "scrub": "the monthly re-check of what is kept",
            "address": "the address that people were told",
            "delivery": "whether mail goes to a mail server",
            "rights": "rights of the data folder",
            "seeded": "accounts with the seeded password",
            "clock": "the machine's clock",
            "wall": "whether the database keeps workshops apart by itself too",
            "cage": "what shuts in the readers of strangers' files",
            "version": "versions of code and database",
            "share": "what the host lets the workshop have",
        },
    ),
    Role: Choice(
        "Role",
        "What the rules distinguish people by.",
        {
            "maker": "a person of the workshop who decides and releases",
            "helper": "a person of the workshop who works the bench and decides nothing",
            "client": "whoever holds the link of one order",
            "shop-site": "a shop's own site, acting with a token",
            "visitor": "somebody without any credential",
            "system": "the service itself",
        },
    ),
    SuiteKind: Choice(
        "SuiteKind",
        "What makes carvings belong together.",
        {
            "names": "a run of texts, one for each piece of a line",
            "across": "one picture over several slats",
        },
    ),
    Face: Choice(
        "CarvedFace",
        "Which face of a part is carved.",
        {"front": "the one that is seen from the front", "rear": "the one that is seen from behind"},
    ),
    Finish: Choice(
        "FinishKind",
        "What is put on the wood after sanding.",
        {
            "bare": "nothing",
            "oiled": "oil, on all of it",
            "paint-filled": "paint in the grooves, the face sanded clean",
        },
    ),
    PriceKind: Choice(
        "PriceKind",
        "What is counted.",
        {
            "model": "each piece of a model",
            "carved-slat": "each slat that carries art",
            "carving-minute": "each minute of carving",
            "order-setup": "each order, once",
            "personalised-piece": "each piece with a text of its own",
            "finish": "each piece with a finish, of that finish",
            "material": "each cubic metre of wood in the parts, without waste, of that wood or of any",
            "delivery": "each order that is delivered, once",
            "travel": "each kilometre to the site and back",
            "tax": "a tax: a share of the sum before taxes, in hundredths of a percent",
        },
    ),
    Rounding: Choice(
        "Rounding",
        "How a fraction of a minor unit is rounded, once for each line of a quote.",
        {
            "half-even": "to the nearest, a tie to the even one (IEEE 754)",
            "half-up": "to the nearest, a tie away from zero",
        },
    ),
}


def told(choice: Choice) -> str:
    """The choice in words, value by value, for contracts that have no room beside each."""
    return (
        f"{choice.words} " + "; ".join(f"`{value}`: {words}" for value, words in choice.values.items()) + "."
    )
