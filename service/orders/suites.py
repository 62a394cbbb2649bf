"""Suites: carvings that are made, shown and signed as one; a run of names, or one picture over several slats."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from service.orders.chain import canonical_digest
from service.orders.order import Carving
from service.orders.proofs import Proof


class SuiteKind(StrEnum):
    """What makes the carvings belong together."""

    NAMES = "names"
    ACROSS = "across"


@dataclass(frozen=True)
class Part:
    """One carving of a suite.

    Attributes:
        place: ordinal within the suite, from 1; of a run of names, the piece.
        row: of the list that its text came from, from 1; 0 for a picture's slice.
        text: carved on it; empty for a picture's slice.
        notes: what somebody who signs should read of it, in sentences.
    """

    carving_id: str
    suite_id: str
    place: int
    row: int = 0
    text: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Suite:
    """What was asked for, and what came of it as a whole.

    Attributes:
        revision: raised whenever something else is asked for.
        wanted: how it is to be made: plain JSON values, by kind.
        made: what was found while making it (where a picture lies, what gaps eat): plain JSON values.
        problems: rows of the list that were left out or may be slips, in words.
    """

    id: str
    workshop_id: str
    order_id: str
    line_id: str
    kind: SuiteKind
    revision: int
    wanted: Mapping[str, Any]
    made: Mapping[str, Any]
    problems: tuple[str, ...]
    created_at: datetime


@dataclass(frozen=True)
class SuiteShown:
    """What somebody had before their eyes when they decided on a whole suite.

    Attributes:
        digest: of the suite: names every part with its proof and picture.
    """

    suite_id: str
    digest: str


@dataclass(frozen=True)
class WholeSuite:
    """A suite with its parts, their carvings and current proofs, in the order of the parts."""

    suite: Suite
    parts: tuple[Part, ...]
    carvings: tuple[Carving, ...]
    proofs: tuple[Proof | None, ...]

    @property
    def digest(self) -> str | None:
        """Names what is signed: kind, what was asked, and text, proof and picture of every part.

        ``None`` while a part has no proof: nothing can be signed then.
        """
        if any(proof is None for proof in self.proofs) or not self.parts:
            return None
        return canonical_digest(
            {
                "suite": self.suite.id,
                "kind": self.suite.kind.value,
                "wanted": dict(self.suite.wanted),
                "parts": [
                    {"place": part.place, "text": part.text, "cut": proof.digest, "picture": proof.picture}
                    for part, proof in zip(self.parts, self.proofs, strict=True)
                    if proof is not None
                ],
            }
        )

    @property
    def stopped(self) -> tuple[Part, ...]:
        """Parts that cannot be made as they are."""
        return tuple(
            part
            for part, carving, proof in zip(self.parts, self.carvings, self.proofs, strict=True)
            if carving.trouble is not None or (proof is not None and proof.verdict == "will-not-carve")
        )

    @property
    def sentence(self) -> str:
        """The suite in words."""
        judged = sum(proof is not None for proof in self.proofs) + sum(
            carving.trouble is not None for carving in self.carvings
        )
        names, count = self.suite.kind is SuiteKind.NAMES, len(self.parts)
        if judged < count and names:
            return f"{judged} of {count} pieces are judged so far."
        if judged < count:
            return f"{judged} of {count} slices are judged so far."
        stopped = len(self.stopped)
        noted = sum(bool(part.notes) for part in self.parts) - stopped
        good = count - stopped
        said = f"{good} of {count} pieces will carve" if names else f"{good} of {count} slices will carve"
        if noted > 0:
            said += f", {noted} of them with something to note"
        return f"{said}; {stopped} cannot be made as they are." if stopped else f"{said}."


def whole_suites(
    suites: Sequence[Suite], parts: Iterable[Part], carvings: Mapping[str, Carving], proofs: Iterable[Proof]
) -> tuple[WholeSuite, ...]:
    """The suites put together; ``proofs`` holds the carvings' current ones."""
    by_id = {proof.id: proof for proof in proofs}
    of_suite: dict[str, list[Part]] = {suite.id: [] for suite in suites}
    for part in parts:
        if part.carving_id in carvings:
            of_suite[part.suite_id].append(part)
    found = []
    for suite in suites:
        mine = sorted(of_suite[suite.id], key=lambda part: part.place)
        theirs = tuple(carvings[part.carving_id] for part in mine)
        current = tuple(by_id.get(carving.proof_id or "") for carving in theirs)
        found.append(WholeSuite(suite, tuple(mine), theirs, current))
    return tuple(found)
