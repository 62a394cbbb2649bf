"""Why a batch may not be exported: what its readers catch, apart from what draws it."""

from __future__ import annotations

from service.batches.content import CarvingContent


class NotApprovedError(Exception):
    """The record does not let a carving of the batch go: nothing may be exported."""

    def __init__(self, carving: CarvingContent, reasons: tuple[str, ...]) -> None:
        super().__init__(carving.id, reasons)
        self.carving_id = carving.id
        self.reasons = reasons

    def __str__(self) -> str:
        return f"Carving {self.carving_id} may not be exported: {'; '.join(self.reasons)}."


class DamagedFileError(Exception):
    """The bytes of a file are not the ones the proof names: nothing may be exported."""

    def __init__(self, what: str, digest: str) -> None:
        super().__init__(what, digest)
        self.what = what
        self.digest = digest

    def __str__(self) -> str:
        return (
            f"{self.what} is missing or damaged (SHA-256 {self.digest}). "
            "Restore it from a backup, then export again."
        )
