"""Choices about art, its readings, checks, versions and drawings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, Literal, get_args

from artwork.drawings.frame import Zero
from artwork.findings.kinds import EARLIER_KINDS, MEANINGS, Kind
from artwork.findings.values import Severity, Verdict
from artwork.furniture import Face
from artwork.intake.values import Kind as ReadingKind
from artwork.intake.values import Way
from artwork.remark import Severity as RemarkSeverity
from service.orders.artworks import ReadingState
from service.orders.by_hand import HandChange
from service.orders.choices.choice import Choice
from service.orders.finishes import Finish
from service.orders.machine import Language, Paper, ZeroPer
from service.orders.suites import SuiteKind
from service.orders.versions import ChangeKind, ChangeUnit, VersionKind, VersionsState

FindingKind: Any = Literal[(*get_args(Kind), *EARLIER_KINDS)]
DrawingForm = Literal["svg", "dxf", "pdf"]

CHOICES: Final[Mapping[Any, Choice]] = {
    FindingKind: Choice(
        "FindingKind",
        "What sort of thing is found. Each kind is shown with a picture in the gallery.",
        MEANINGS,
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
    ReadingState: Choice(
        "ReadingState",
        "How far one reading of a file is.",
        {
            "waiting": "asked for",
            "read": "there is an outline",
            "refused": "it could not be read; `trouble` says why",
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
    Language: Choice(
        "Language",
        "Which language the bench's sheets and the workshop's mails are in.",
        {"en": "English", "de": "German"},
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
    DrawingForm: Choice(
        "DrawingForm",
        "Format of a drawing.",
        {"svg": "SVG, user units are mm", "dxf": "DXF, drawing units are mm", "pdf": "PDF at true size"},
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
            "by-hand": "changed at the bench, place by place",
            "as-sent": "what was sent, as it lay",
        },
    ),
    HandChange: Choice(
        "HandChange",
        "What is done to one place of a drawing by hand.",
        {
            "as-drawn": "the change there is put back",
            "thicken": "the stroke there gets wider, or narrower",
            "open": "the gap there gets wider, or narrower",
            "fill": "the gap or the island of wood there is carved as well",
            "leave-out": "the part or the stroke there stays plain wood",
            "sturdier": "all of it has more to spare, as long as it is still the drawing",
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
            "hatch-thinned": "strokes of a hatching are left out",
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
}
