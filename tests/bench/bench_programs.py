"""Files as other programs write them: how many are read. The others are refused with what to send instead."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.artwork.intake.programs import everything, outcome
from tests.bench.harness import Measured, case


@case(
    issue=16,
    name="files made by their own programs that are read",
    n="at least 60 files of 20 kinds",
    target=0.9,
    sense="at least",
)
def files_of_programs() -> Measured:
    """The note names those that are not."""
    with tempfile.TemporaryDirectory() as libraries:
        said = {name: outcome(data) for name, data in everything(Path(libraries))}
    others = [f"{name}: {code}" for name, code in said.items() if code != "read"]
    read = len(said) - len(others)
    return Measured(
        0.0,
        figure=read / len(said),
        unit="share",
        note=f"{read} of {len(said)}; {', '.join(others) or 'all'}",
    )
