"""Where and how it is cut: trials, placements, cures, the maker's changes."""

from __future__ import annotations

from artwork.cut import Placement
from service.orders.actors import Actor
from service.usecases.answers import Cure, Judged, WholeOrder
from service.usecases.commands import CutChange, Trial
from service.usecases.context import Context


def try_cut(ctx: Context, actor: Actor, carving_id: str, trial: Trial, picture: bool = False) -> Judged:
    """Judge a cut at once, keeping nothing. NotFound, NotAllowed, Invalid, Conflict "no-outline", TooMany."""
    raise NotImplementedError


def place(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, placement: Placement
) -> WholeOrder:
    """Lay the art; a new proof follows in the background. NotFound, NotAllowed, Invalid, Stale, Conflict."""
    raise NotImplementedError


def change_cut(
    ctx: Context, actor: Actor, carving_id: str, expected_revision: int, change: CutChange
) -> WholeOrder:
    """Change slat, bit, board or allowances. NotFound, NotAllowed, Invalid, Stale, Conflict."""
    raise NotImplementedError


def check_again(ctx: Context, actor: Actor, carving_id: str, expected_revision: int) -> WholeOrder:
    """A new proof of the same cut under today's settings. NotFound, NotAllowed, Stale, Conflict."""
    raise NotImplementedError


def list_cures(ctx: Context, actor: Actor, carving_id: str) -> tuple[Cure, ...]:
    """What would make it carve, best first; each has passed the full check. NotFound, Conflict, TooMany."""
    raise NotImplementedError


def apply_cure(ctx: Context, actor: Actor, carving_id: str, expected_revision: int, code: str) -> WholeOrder:
    """Take one cure; a new proof follows. NotFound, NotAllowed, Stale, Conflict "cure-gone"."""
    raise NotImplementedError
