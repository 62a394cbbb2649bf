"""What of a batch is drawn from proofs alone: each carving's drawings.

A proof's facts are the bytes that its digest names, so whatever is drawn here is of what was signed, whoever
draws it and whatever a database says besides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import version
from typing import TYPE_CHECKING

from pydantic_core import from_json

from artwork.proof_facts import cut_of_facts
from service import VERSION
from service.orders.machine import Machine

if TYPE_CHECKING:
    from artwork.cut import Cut

FORMS = ("dxf", "pdf", "svg")
"""File endings of a carving's drawings."""


@dataclass(frozen=True)
class DrawnProof:
    """A proof to be drawn.

    Attributes:
        facts: the canonical JSON that the proof's digest names.
        slat_name: what people call the slat.
    """

    facts: bytes
    slat_name: str

    def cut(self) -> Cut:
        """What was approved."""
        return cut_of_facts(from_json(self.facts), self.slat_name)


@lru_cache(1)
def drawn_with() -> Mapping[str, str]:
    """The programs that decide a drawing's bytes, with their versions: others may write the same art otherwise."""
    names = ("ezdxf", "numpy", "reportlab", "shapely")
    return {"slatproof": VERSION, **{name: version(name) for name in names}}


def draw(proof: DrawnProof, machine: Machine, forms: Sequence[str] = FORMS) -> dict[str, bytes]:
    """A carving's drawings at true size by file ending, as it lies on that machine."""
    cut, frame = proof.cut(), machine.frame

    # each library is loaded only for whom it draws: that of DXF takes longer than a drawing
    def as_dxf() -> bytes:
        from artwork.drawings.dxf import dxf

        return dxf(cut, frame, splines=machine.splines)

    def as_pdf() -> bytes:
        from artwork.drawings.pdf import pdf

        return pdf(cut, frame)

    def as_svg() -> bytes:
        from artwork.drawings.svg import svg

        return svg(cut, frame)

    draws = {"dxf": as_dxf, "pdf": as_pdf, "svg": as_svg}
    return {form: draws[form]() for form in forms}
