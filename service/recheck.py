"""The record of every workshop checked again from the command line, and against checkpoints kept elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from service.batches.checkpoints import BadCheckpointError, SignedCheckpoint, read_checkpoint
from service.orders.actors import System
from service.orders.record import Fault
from service.usecases import privacy_and_audit, shop
from service.usecases.context import Context


@dataclass
class Said:
    """What was found, in words."""

    good: list[str] = field(default_factory=list)
    bad: list[str] = field(default_factory=list)


def recheck(ctx: Context, kept: Path | None) -> Said:
    """Check every workshop's record; ``kept`` names a file of checkpoints, which grows by today's."""
    said = Said()
    earlier = _read(kept, said) if kept is not None and kept.exists() else []
    workshops, lines = shop.list_workshops(ctx), []
    gone = {each.checkpoint.workshop for each in earlier} - {workshop.key for workshop in workshops}
    said.bad += [f"{key}: the workshop is gone, with its record." for key in sorted(gone)]
    for workshop in workshops:
        actor = System(workshop.id)
        theirs = [each for each in earlier if each.checkpoint.workshop == workshop.key]
        found = [privacy_and_audit.verify_record(ctx, actor), *_against(ctx, actor, theirs)]
        reasons = [fault.reason for fault in found if fault is not None]
        said.bad += [f"{workshop.key}: {reason}" for reason in reasons]
        signed = privacy_and_audit.take_checkpoint(ctx, actor)
        if theirs and signed.key != theirs[0].key:
            said.bad.append(f"{workshop.key}: the workshop's key is not the one that signed the checkpoints.")
        elif not reasons:
            said.good.append(f"{workshop.key}: the record holds ({signed.checkpoint.number} entries)")
        lines.append(signed.line)
    if kept is not None and not said.bad:
        with kept.open("a", encoding="utf-8") as file:
            file.writelines(f"{line}\n" for line in lines)
    return said


def _against(ctx: Context, actor: System, theirs: Sequence[SignedCheckpoint]) -> list[Fault | None]:
    return [privacy_and_audit.compare_checkpoint(ctx, actor, each.checkpoint) for each in theirs]


def _read(kept: Path, said: Said) -> list[SignedCheckpoint]:
    found = []
    for number, line in enumerate(kept.read_text(encoding="utf-8").splitlines(), start=1):
        try:
            found.append(read_checkpoint(line))
        except BadCheckpointError as bad:
            said.bad.append(f"{kept}, line {number}: {bad}")
    return found
