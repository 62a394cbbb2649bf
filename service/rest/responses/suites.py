"""Suites, as JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from artwork.findings.values import Verdict
from artwork.lettering.typefaces import Typeface
from service.orders.definition import OneOf
from service.orders.states import CarvingState
from service.orders.suites import SuiteKind, WholeSuite
from service.rest.raw_json import stored_as
from service.rest.responses.judged import AcrossWantedBody, NamesWantedBody, SuiteMadeBody
from service.rest.responses.orders import API
from service.usecases.approving import kind_of


@dataclass(frozen=True)
class PartBody:
    """One carving of a suite; `notes` is what somebody who signs should read of it."""

    carving_id: str
    slat_key: str
    place: int
    row: int
    text: str
    state: CarvingState
    verdict: Annotated[str, OneOf(Verdict)] | None
    notes: tuple[str, ...]
    picture_url: str | None


@dataclass(frozen=True)
class SuiteBody:
    """Carvings that are made, shown and signed as one.

    `digest` names all of it for a decision; `null` while a part has no proof. `remarks` counts, by kind, the
    remarks that are still to be accepted.
    """

    id: str
    order_id: str
    line_id: str
    kind: SuiteKind
    revision: int
    digest: str | None
    sentence: str
    wanted: stored_as(NamesWantedBody | AcrossWantedBody)  # type: ignore[valid-type]
    made: stored_as(SuiteMadeBody)  # type: ignore[valid-type]
    problems: tuple[str, ...]
    remarks: Mapping[str, int]
    parts: tuple[PartBody, ...]
    sheet_url: str | None


@dataclass(frozen=True)
class SuitesBody:
    """The suites of an order, oldest first."""

    items: tuple[SuiteBody, ...]


@dataclass(frozen=True)
class TypefaceBody:
    """A typeface that texts can be carved in."""

    key: str
    name: str
    licence: str


@dataclass(frozen=True)
class TypefacesBody:
    """The typefaces there are; all of them are open, each with its licence in full."""

    items: tuple[TypefaceBody, ...]


def suite_body(whole: WholeSuite) -> SuiteBody:
    """From a suite with its parts."""
    suite = whole.suite
    open_remarks = Counter(
        kind_of(name)
        for proof in whole.proofs
        if proof is not None
        for name in proof.remarks
        if name not in proof.waived
    )
    parts = tuple(
        PartBody(
            carving_id=part.carving_id,
            slat_key=carving.slat_key,
            place=part.place,
            row=part.row,
            text=part.text,
            state=carving.state,
            verdict=carving.verdict,
            notes=part.notes,
            picture_url=None if proof is None else f"{API}/proofs/{proof.id}/picture",
        )
        for part, carving, proof in zip(whole.parts, whole.carvings, whole.proofs, strict=True)
    )
    names = suite.kind is SuiteKind.NAMES
    return SuiteBody(
        id=suite.id,
        order_id=suite.order_id,
        line_id=suite.line_id,
        kind=suite.kind,
        revision=suite.revision,
        digest=whole.digest,
        sentence=whole.sentence,
        wanted=suite.wanted,
        made=suite.made,
        problems=suite.problems,
        remarks=dict(sorted(open_remarks.items())),
        parts=parts,
        sheet_url=f"{API}/suites/{suite.id}/sheet.pdf" if names else None,
    )


def typeface_body(face: Typeface) -> TypefaceBody:
    """From a typeface."""
    return TypefaceBody(face.key, face.name, face.licence)
