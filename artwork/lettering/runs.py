"""A personalised run: many pieces, each with its own text, every one checked like any artwork."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any

import rfc8785

from artwork import ENGINE_VERSION
from artwork.axis import study
from artwork.cut import Cut
from artwork.digest import digest
from artwork.errors import EngineError
from artwork.findings import Check, check
from artwork.lettering.curing import Bench, Cures
from artwork.lettering.field import Field
from artwork.lettering.fitting import FitRule, Lettered, fit
from artwork.lettering.roster import Entry
from artwork.lettering.typefaces import typeface
from artwork.workpiece import Allowances, Bit, Slat

_NONE: Mapping[str, Check] = MappingProxyType({})


@dataclass(frozen=True)
class Run:
    """What is to be carved: one slat, one rule, many texts.

    Attributes:
        entries: a piece each, in order.
        rule: how texts are fitted.
        field: where on the slat.
        slat, bit, allowances: of every piece.
    """

    entries: tuple[Entry, ...]
    rule: FitRule
    field: Field
    slat: Slat
    bit: Bit
    allowances: Allowances


@dataclass(frozen=True, eq=False)
class Judged:
    """A text fitted and checked; equal texts of a run share one.

    Attributes:
        lettered, cut, check, digest: ``None`` where the text was refused.
        refusal: why it was.
        cure: under which spacing, size or face a text carves that stops; empty where none was looked for or found.
    """

    lettered: Lettered | None
    cut: Cut | None
    check: Check | None
    digest: str | None
    refusal: EngineError | None = None
    cure: str = ""

    @property
    def stops(self) -> bool:
        """Whether no piece can be made of it as it is."""
        return self.check is None or self.check.verdict == "will-not-carve"

    @property
    def notes(self) -> tuple[str, ...]:
        """What somebody who signs should read: refusal, findings, what the rule did; often nothing."""
        if self.refusal is not None:
            return (str(self.refusal),)
        if self.check is None or self.lettered is None:
            return ()
        judged = () if self.check.verdict == "carves" else (self.check.sentence,)
        cure = (self.cure,) if self.cure else ()
        return (*judged, *cure, *(remark.message for remark in self.lettered.remarks))


@dataclass(frozen=True, eq=False)
class Piece:
    """One piece of a run: its ordinal from 1, its text and what became of it."""

    number: int
    entry: Entry
    judged: Judged


@dataclass(frozen=True, eq=False)
class JudgedRun:
    """The whole run, to be signed as one.

    Attributes:
        run: what was asked.
        pieces: in order.
    """

    run: Run
    pieces: tuple[Piece, ...]

    @property
    def exceptions(self) -> tuple[Piece, ...]:
        """Pieces that somebody should look at one by one, those that stop first."""
        noted = [piece for piece in self.pieces if piece.judged.notes]
        return tuple(sorted(noted, key=lambda piece: (not piece.judged.stops, piece.number)))

    @property
    def stopped(self) -> int:
        """How many pieces cannot be made as they are."""
        return sum(piece.judged.stops for piece in self.pieces)

    @property
    def sentence(self) -> str:
        """The run in words."""
        good = len(self.pieces) - self.stopped
        noted = len(self.exceptions) - self.stopped
        said = f"{good} of {len(self.pieces)} pieces will carve"
        if noted:
            said += f", {noted} of them with something to note"
        return f"{said}; {self.stopped} cannot be made as they are." if self.stopped else f"{said}."

    @cached_property
    def facts(self) -> dict[str, Any]:
        """All that is signed, as JSON values: every piece's text and the digest of its cut."""
        face = typeface(self.run.rule.typeface)
        return {
            "engine": ENGINE_VERSION,
            "typeface": {"key": face.key, "sha256": face.sha256},
            "pieces": [
                {
                    "number": piece.number,
                    "text": piece.entry.text,
                    "cut": piece.judged.digest,
                    "refused": None if piece.judged.refusal is None else piece.judged.refusal.code,
                }
                for piece in self.pieces
            ],
        }

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the RFC 8785 canonical JSON of :attr:`facts`: names the run's one proof."""
        return hashlib.sha256(rfc8785.dumps(self.facts)).hexdigest()


def judge_run(run: Run) -> JudgedRun:
    """Every piece fitted and checked.

    Raises:
        EngineError: ``unknown-typeface``: nothing of the run could be set.
    """
    typeface(run.rule.typeface)
    return JudgedRun(run, tuple(judged_pieces(run)))


def judged_pieces(run: Run, first: int = 1, known: Mapping[str, Check] = _NONE) -> Iterator[Piece]:
    """The pieces one after the other.

    Args:
        run: what was asked.
        first: number of the first piece.
        known: checks made before, by the digest of their cut: those cuts are not checked again.
    """
    judged: dict[str, Judged] = {}
    cures = Cures(run.rule, Bench(run.field, run.slat, run.bit, run.allowances))
    for number, entry in enumerate(run.entries, first):
        if entry.text not in judged:
            judged[entry.text] = _judged(run, entry.text, known, cures)
        yield Piece(number, entry, judged[entry.text])


def _judged(run: Run, text: str, known: Mapping[str, Check], cures: Cures) -> Judged:
    try:
        lettered = fit(text, run.rule, run.field)
    except EngineError as refusal:
        return Judged(None, None, None, None, refusal)
    cut = Cut(lettered.outline, run.slat, lettered.placement, run.bit, run.allowances)
    name = digest(cut)
    found = known.get(name) or check(cut, study(cut.outline))
    cure = cures.sentence(text) if found.verdict == "will-not-carve" else ""
    return Judged(lettered, cut, found, name, cure=cure)
