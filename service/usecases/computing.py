"""The engine's work, as functions that run in killable processes: plain values in, plain values out.

A process keeps the last outlines it studied, so that trying placement after placement of one outline costs
the study once; callers pass the outline's digest as ``about`` to come back to the same process.
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

from artwork.cut import Cut, Placement
from artwork.digest import canonical, digest_of
from artwork.intake.foreign import Converted, Foreign, ForeignError
from artwork.intake.values import Limits as ArtLimits
from artwork.intake.values import Wishes
from artwork.outline_file import pack
from service.batches.board_plan import PlannedBoard
from service.batches.drawn import DrawnProof
from service.orders.cuts import Circumstances
from service.orders.machine import Machine
from service.usecases.studied import anatomy_of, outline_of

if TYPE_CHECKING:
    from artwork.findings import Check, Finding
    from service.batches.content import OrderContent
    from service.boards.cut_parts import CutPart

DRAWN_FOR_IT = 0.6
"""Share of the largest fit from which art is taken to be drawn for such a slat, and keeps the size it states."""


@dataclass(frozen=True)
class ReadArt:
    """What was read from a file.

    Attributes:
        outline: packed.
        picture: PNG.
        report: remarks, inks, counts, pages, the sentence and the choices as plain JSON values; each choice's
            picture is a PNG in base64, its wishes are what the file is read again with.
    """

    outline: bytes
    picture: bytes
    kind: str
    format: str
    report: Mapping[str, Any]


@dataclass(frozen=True)
class JudgedCut:
    """What the engine says of a cut.

    Attributes:
        facts: canonical JSON of all that decides the cut; ``digest`` is its SHA-256.
        check: plain JSON values.
        remarks: names of the findings that only warn.
        picture: preview PNG, empty where it was not asked for.
    """

    facts: bytes
    digest: str
    verdict: str
    sentence: str
    check: Mapping[str, Any]
    remarks: tuple[str, ...]
    picture: bytes

    def __post_init__(self) -> None:
        """A process that judged may say anything; a digest that is not of its facts, nobody believes."""
        if digest_of(self.facts) != self.digest:
            raise ValueError("the digest is not of these facts")


@dataclass(frozen=True)
class ToConvert:
    """A file that other programs must convert before it is read."""

    parts: tuple[Foreign, ...]


def read_art(
    data: bytes, name: str, wishes: Wishes, limits: ArtLimits, drawings: Mapping[str, Converted]
) -> ReadArt | ToConvert:
    """Read a stranger's file, with what other programs made of its parts. EngineError."""
    from artwork.intake import read_artwork

    try:
        reading = read_artwork(data, name, wishes, limits, drawings)
    except ForeignError as foreign:
        return ToConvert(foreign.parts)
    report = {
        "remarks": [asdict(remark) for remark in reading.remarks],
        "inks": [asdict(ink) for ink in reading.inks],
        "counts": dict(reading.counts),
        "pages": reading.pages,
        "sentence": reading.sentence,
        "choices": [
            {
                "wishes": asdict(choice.wishes),
                "words": choice.words,
                "picture": b64encode(choice.picture).decode(),
                "taken": choice.taken,
            }
            for choice in reading.choices
        ],
    }
    return ReadArt(pack(reading.outline), reading.picture, reading.kind, reading.format, plain_values(report))


def lay(outline: bytes, at: Circumstances) -> Placement:
    """Where art starts out: where the workshop likes it on that slat, if it fits there, else where it becomes largest.

    It is as large as fits there, but for art that was drawn for such a slat: what states a size near that keeps it.
    A logo off a letterhead states one too, and nobody wants it a thumb wide on a bench. EngineError.
    """
    from artwork.placing import largest_fit, largest_fit_at

    drawn = outline_of(outline)
    liked = None if at.art_y is None else largest_fit_at(drawn, at.slat, at.allowances, at.art_y)
    largest = liked or largest_fit(drawn, at.slat, at.allowances)
    if at.art_high is not None and at.art_high < largest.scale * drawn.size[1]:
        largest = replace(largest, scale=at.art_high / drawn.size[1])
    if drawn.stated_mm is not None and DRAWN_FOR_IT * largest.scale <= drawn.stated_mm < largest.scale:
        return replace(largest, scale=drawn.stated_mm)
    return largest


def lay_largest(outline: bytes, at: Circumstances, like: Placement | None) -> Placement:
    """As large as fits, turned and mirrored ``like`` another placement. EngineError."""
    from artwork.placing import largest_fit

    turn, mirrored = (like.rotation_deg, like.mirrored) if like else (0.0, False)
    return largest_fit(outline_of(outline), at.slat, at.allowances, turn, mirrored)


def judge(outline: bytes, at: Circumstances, placement: Placement, picture: bool) -> JudgedCut:
    """Check a cut, and draw what will be left of it. EngineError."""
    from artwork.findings import check as check_cut
    from artwork.preview import preview_png

    cut = Cut(outline_of(outline), at.slat, placement, at.bit, at.allowances)
    check = check_cut(cut, anatomy_of(outline))
    return judged(cut, check, preview_png(cut, check) if picture else b"")


def judged(cut: Cut, check: Check, picture: bytes) -> JudgedCut:
    """What the engine said of a cut, as plain values."""
    from artwork.jsonable import check_to_json

    told = canonical(cut)
    return JudgedCut(
        facts=told,
        digest=digest_of(told),
        verdict=check.verdict,
        sentence=check.sentence,
        check=plain_values(check_to_json(check)),
        remarks=remark_names(check.findings),
        picture=picture,
    )


def draw_each(proofs: Sequence[DrawnProof], machine: Machine) -> list[dict[str, bytes]]:
    """The drawings of each proof, by file ending, from the facts that its digest names."""
    from service.batches import drawn

    return [drawn.draw(proof, machine) for proof in proofs]


def draw_one(proof: DrawnProof, machine: Machine, form: str) -> bytes:
    """One drawing of a proof."""
    from service.batches import drawn

    return drawn.draw(proof, machine, (form,))[form]


def plan_boards(parts: Sequence[CutPart], machine: Machine) -> tuple[tuple[PlannedBoard, ...], str]:
    """The boards of an order, and the plan in words; parts that no board gives must have been refused before."""
    from service.batches.board_plan import planned
    from service.boards.shop import stocks_of
    from service.boards.wood_plan import plan_wood

    plan = plan_wood(parts, stocks_of(machine))
    return planned(plan), plan.sentence


def draw_order_sheets(order: OrderContent, proofs: Mapping[str, DrawnProof]) -> dict[str, bytes]:
    """File name → bytes of what a batch has of a whole order besides its carvings. EngineError."""
    from service.batches import order_sheets

    return order_sheets.order_sheets(order, proofs)


def draw_joint_sheets(orders: Sequence[OrderContent], proofs: Mapping[str, DrawnProof]) -> dict[str, bytes]:
    """Path → bytes of the sheets of several orders that share their boards. EngineError."""
    from service.batches import order_sheets

    return order_sheets.joint_sheets(orders, proofs)


def plain_values(value: Mapping[str, Any]) -> dict[str, Any]:
    """As it comes back from the store: lists for tuples, and nothing that JSON cannot say."""
    plain: dict[str, Any] = json.loads(json.dumps(value, allow_nan=False))
    return plain


def remark_names(findings: Iterable[Finding]) -> tuple[str, ...]:
    """The name of each finding that only warns, in their order."""
    return numbered(finding.kind for finding in findings if finding.severity == "warns")


def numbered(kinds: Iterable[str]) -> tuple[str, ...]:
    """Each kind with its ordinal among those of its kind: ``line-1``, ``tip-1``, ``line-2``."""
    seen: Counter[str] = Counter()
    names = []
    for kind in kinds:
        seen[kind] += 1
        names.append(f"{kind}-{seen[kind]}")
    return tuple(names)
