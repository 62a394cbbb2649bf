"""The engine's work on whole suites, run in killable processes: plain values in, plain values out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from artwork.cut import Placement
from service.orders.cuts import Circumstances
from service.usecases import computing
from service.usecases.computing import JudgedCut


@dataclass(frozen=True)
class JudgedPart:
    """One part of a suite, made and judged.

    Attributes:
        outline: packed; empty where it was refused.
        judged: ``None`` where it was refused; its picture is what is shown and signed.
        notes: what somebody who signs should read.
        refusal: code, message and cure of why it was refused.
    """

    key: str
    outline: bytes
    placement: Placement | None
    judged: JudgedCut | None
    notes: tuple[str, ...]
    refusal: tuple[str, str, str] | None = None


@dataclass(frozen=True)
class CutAcross:
    """A picture cut by slat: where it lies on the piece, its slices, and what gaps and edges do to it."""

    placement: Placement
    slices: tuple[JudgedPart, ...]
    notes: tuple[str, ...]


def field_for(at: Circumstances, turn_deg: float) -> dict[str, float]:
    """The roomiest place for text on a slat. EngineError."""
    from artwork.lettering.field import roomiest_field
    from artwork.placing import safe_area

    return dict(vars(roomiest_field(safe_area(at.slat, at.allowances), turn_deg)))


def judge_names(
    wanted: Mapping[str, Any], at: Circumstances, rows: Sequence[tuple[int, int, str]]
) -> list[JudgedPart]:
    """Set and check some texts of a run, (place, row, text) each, places without gaps. EngineError."""
    from artwork.lettering.piece_pictures import piece_pictures
    from artwork.lettering.runs import JudgedRun, judged_pieces

    run = _run(wanted, at, rows)
    judged = JudgedRun(run, tuple(judged_pieces(run, rows[0][0])))
    return [
        _lettered(piece, picture)
        for piece, picture in zip(judged.pieces, piece_pictures(judged), strict=True)
    ]


def names_sheet(
    wanted: Mapping[str, Any],
    at: Circumstances,
    rows: Sequence[tuple[int, int, str]],
    head: tuple[str, str],
    known: Mapping[str, tuple[Mapping[str, Any], bytes]],
) -> bytes:
    """The contact sheet of a whole run, as PDF. EngineError.

    Args:
        head: title, and digest that is signed; printed on every page.
        known: check and picture of the proofs, by their digests: what they are of is not judged, nor drawn, again.
    """
    from artwork.jsonable import check_from_json
    from artwork.lettering.contact_sheet import contact_sheet
    from artwork.lettering.paper import pdf
    from artwork.lettering.piece_pictures import piece_pictures
    from artwork.lettering.runs import JudgedRun, judged_pieces

    run = _run(wanted, at, rows)
    checks = {digest: check_from_json(dict(check)) for digest, (check, _) in known.items()}
    judged = JudgedRun(run, tuple(judged_pieces(run, known=checks)))
    shown = list(piece_pictures(judged, {digest: picture for digest, (_, picture) in known.items()}))
    return pdf(contact_sheet(judged, head[0], signed=head[1], shown=shown), head[0])


def sheet_pages(document: bytes) -> tuple[bytes, ...]:
    """Each page of a sheet as a PNG."""
    from artwork.lettering.paper import pictures

    return tuple(pictures(document))


def _run(wanted: Mapping[str, Any], at: Circumstances, rows: Sequence[tuple[int, int, str]]) -> Any:
    from artwork.lettering.field import Field
    from artwork.lettering.fitting import FitRule
    from artwork.lettering.roster import Entry
    from artwork.lettering.runs import Run

    entries = tuple(Entry(row, text) for _, row, text in rows)
    rule, field = FitRule(**wanted["rule"]), Field(**wanted["field"])
    return Run(entries, rule, field, at.slat, at.bit, at.allowances)


def _lettered(piece: Any, picture: bytes) -> JudgedPart:
    from artwork.outline_file import pack

    judged = piece.judged
    if judged.refusal is not None or judged.cut is None:
        refusal = judged.refusal
        told = (refusal.code, refusal.message, refusal.cure)
        return JudgedPart(str(piece.number), b"", None, None, judged.notes, told)
    cut = computing.judged(judged.cut, judged.check, picture)
    return JudgedPart(str(piece.number), pack(judged.cut.outline), judged.cut.placement, cut, judged.notes)


def cut_across(
    outline: bytes,
    layout: Any,
    wanted: Mapping[str, Any],
    tools: Any,
) -> CutAcross:
    """Cut a picture by slat and judge every slice; laid as large as fits where no place is asked for. EngineError."""
    from artwork.across import fit_across, lay_across
    from artwork.outline_file import unpack

    drawn = unpack(outline)
    asked = wanted["placement"]
    placement = (
        fit_across(drawn, layout, wanted["slats"], tools.allowances) if asked is None else Placement(**asked)
    )
    found = lay_across(
        drawn, layout, wanted["slats"], placement, tools, without_slivers=wanted["without_slivers"]
    )
    notes = [gap.sentence for gap in found.gaps]
    if found.lost_share > 0:
        notes.insert(0, f"Gaps and rounded edges eat {100 * found.lost_share:.1f} % of the picture.")
    return CutAcross(placement, tuple(_slice(each) for each in found.slices), tuple(notes))


def _slice(each: Any) -> JudgedPart:
    from artwork.outline_file import pack
    from artwork.preview import preview_png

    judged = computing.judged(each.cut, each.check, preview_png(each.cut, each.check))
    notes = () if each.check.verdict == "carves" else (each.check.sentence,)
    told = (*notes, *(sliver.sentence for sliver in each.slivers))
    return JudgedPart(each.key, pack(each.cut.outline), each.cut.placement, judged, told)
