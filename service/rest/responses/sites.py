"""What shop sites are answered, as JSON."""

from __future__ import annotations

from dataclasses import dataclass

from service.rest.responses.base import shows
from service.usecases.verdicts import CarvingVerdict


@shows(CarvingVerdict)
class VerdictBody:
    """Where one carving stands, in short."""


@dataclass(frozen=True)
class VerdictsBody:
    """The verdicts asked for; what is not yours is left out."""

    items: tuple[CarvingVerdict, ...]
