"""The proof: one judged cut, never changed once made."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Any

from artwork.close_up import close_up
from artwork.cut import Placement
from artwork.findings.values import Verdict
from artwork.workpiece import Allowances, Bit, Slat
from service.orders.definition import OneOf


@dataclass(frozen=True)
class Proof:
    """One immutable revision of one carving.

    Going back to an earlier placement makes a new proof with the same digest and a new number: approvals
    belong to the proof, so a new proof has none.

    Attributes:
        number: counted per carving from 1.
        digest: ``artwork.digest.digest`` of the cut, 64 hex digits.
        basis: digest of slat, bit and allowances alone: tells whether the settings have changed since.
        facts: slat, bit, allowances and placement it was made of, exactly, as plain JSON values
            (``artwork.jsonable``), and what was remarked of its file (``service.orders.file_remarks``). The
            canonical facts with the outline are the blob that ``digest`` names.
        outline, picture: SHA-256 of the blobs: packed outline, preview PNG that people are shown.
        pieces: how many pieces it will be cut on.
        verdict: whether it carves.
        sentence: the verdict in words that a client can read.
        check: the whole check as plain JSON values (``artwork.jsonable.check``).
        remarks: names of the findings that only warn (``"thin-line-2"``: kind, then its ordinal in it), then of
            what was left out of its file in reading (``"file-text-left-out-1"``); the client accepts each by
            name before signing off.
        waived: those already accepted.
        signed_at, judged_at: when it was signed off and found feasible; ``None`` for not, or no longer.
        stale_because: what changed in the workshop's settings since, empty while it is current.
    """

    id: str
    order_id: str
    carving_id: str
    number: int
    digest: str
    basis: str
    facts: Mapping[str, Any]
    outline: str
    picture: str
    pieces: int
    verdict: Annotated[str, OneOf(Verdict)]
    sentence: str
    check: Mapping[str, Any]
    remarks: tuple[str, ...]
    waived: tuple[str, ...]
    signed_at: datetime | None
    judged_at: datetime | None
    stale_because: str
    made_at: datetime

    @property
    def close_up(self) -> tuple[float, float, float, float]:
        """The part of the slat that shows its art close: left, low, right, high, slat mm."""
        ring = self.facts["slat"]["outline"]["coordinates"][0]
        at, figures = self.facts["placement"], self.check["figures"]
        aside, up = figures["width"] / 2, figures["height"] / 2
        xs, ys = [point[0] for point in ring], [point[1] for point in ring]
        slat = min(xs), min(ys), max(xs), max(ys)
        return close_up(slat, (at["x"] - aside, at["y"] - up, at["x"] + aside, at["y"] + up))


@dataclass(frozen=True)
class Facts:
    """What :attr:`Proof.facts` holds, as plain JSON values.

    Attributes:
        engine: version of the rules that judged it.
        slat, bit, allowances: as they were then; allowances that an earlier version did not know are left out.
        placement: where the art lies.
        file_remarks: name → what was remarked of its file, in words.
    """

    engine: str
    slat: Slat
    bit: Bit
    allowances: Allowances
    placement: Placement
    file_remarks: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Shown:
    """What somebody had before their eyes when they decided: refused unless it is the current proof.

    Attributes:
        digest: of the proof.
        picture: SHA-256 of the preview shown.
    """

    carving_id: str
    digest: str
    picture: str
