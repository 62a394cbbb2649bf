"""How the pieces of a run are laid on the paper of a contact sheet, and how much of the slat each picture shows."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely import affinity

from artwork.lettering.paper import A4
from artwork.lettering.runs import JudgedRun

MARGIN = 12.0
HEAD = 22.0
FOOT = 8.0
GAP = 3.0
LABEL = 5.0
"""Strip under a picture for its number and verdict, mm."""
TALLEST = 60.0
"""A picture is not drawn higher than this, mm."""
WIDEST = 60.0
"""A picture is not drawn wider than this, mm: three side by side on A4."""
AROUND = 8.0
"""How much of the slat is shown around the field, mm on the wood."""


@dataclass(frozen=True, eq=False)
class View:
    """How pieces are drawn: the field turned upright, with some of the slat around it.

    Attributes:
        window: least x, least y, width and height of what is shown, in the field's own upright frame.
        scale: paper mm per mm of wood.
        columns, rows: pictures on a page.
        size: of the page.
        turn_deg: of the field on the slat.
    """

    window: tuple[float, float, float, float]
    scale: float
    columns: int
    rows: int
    size: tuple[float, float]
    turn_deg: float

    @property
    def shown(self) -> tuple[float, float]:
        """Width and height of a picture on the paper, mm."""
        return self.window[2] * self.scale, self.window[3] * self.scale

    def corner(self, place: int) -> tuple[float, float]:
        """Lower left of the picture at a place of its page, mm."""
        width, height = self.shown
        row, column = divmod(place, self.columns)
        x = MARGIN + column * (width + GAP)
        return x, self.size[1] - MARGIN - HEAD - (row + 1) * (height + LABEL) - row * GAP + LABEL

    @classmethod
    def of(cls, judged: JudgedRun, size: tuple[float, float] = A4) -> View:
        """As much as the run's field needs, as large as paper has room for."""
        field = judged.run.field
        middle = affinity.rotate(shapely.Point(field.x, field.y), -field.turn_deg, origin=(0, 0))
        width, height = field.width + 2 * AROUND, field.height + 2 * AROUND
        left, low = middle.x - width / 2, middle.y - height / 2
        scale = min(WIDEST / width, TALLEST / height)
        room_across = size[0] - 2 * MARGIN + GAP
        room_up = size[1] - 2 * MARGIN - HEAD - FOOT + GAP
        columns = max(int(room_across / (width * scale + GAP)), 1)
        rows = max(int(room_up / (height * scale + LABEL + GAP)), 1)
        return cls((left, low, width, height), scale, columns, rows, size, field.turn_deg)
