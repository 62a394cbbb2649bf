"""Colour art: how often the reading as it comes, or a picture beside it, is the drawing that was sent.

``looked_at.json`` names drawings of Open Clip Art and, of each, the looks that a person who looked at the contact sheet
(``python -m tests.artwork.intake.sheets``) took for it: the way and the inks; ``as it comes`` where none were offered;
an empty list where none of the pictures was it.
"""

from __future__ import annotations

import json
from pathlib import Path

from artwork.intake import Reading, read_artwork
from tests.bench.harness import Measured, case

CLIPART = Path("/usr/share/openclipart/svg")
LABELS: dict[str, list[str]] = json.loads(Path(__file__).with_name("looked_at.json").read_text())


def looks_of(reading: Reading) -> set[str]:
    """The looks that a person is shown, in the words of the labels."""
    if not reading.choices:
        return {"as it comes"}
    return {f"{c.wishes.way} {','.join(map(str, c.wishes.inks or ()))}" for c in reading.choices}


@case(
    issue=16,
    name="colour art: the drawing is the reading or a picture beside it",
    n=f"{len(LABELS)} drawings, labelled by hand",
    target=0.95,
    sense="at least",
)
def drawings_that_are_shown() -> Measured:
    missed = [
        name
        for name, accepted in LABELS.items()
        if not looks_of(read_artwork((CLIPART / name).read_bytes(), name)) & set(accepted)
    ]
    share = 1 - len(missed) / len(LABELS)
    return Measured(share, figure=share, unit="share", note=f"not shown: {', '.join(missed)}")
