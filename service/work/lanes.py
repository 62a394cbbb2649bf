"""The lanes of background work: queues of the durable engine, each taken in turns by workshop.

A lane's work is partitioned by workshop (the engine's partitioned queues): a free place goes to a workshop drawn by
lot among those with work in the lane, and within it to the order that asked for least lately (its priority). A
workshop alone may have as many places as there are processors here; as many again are for the others, so that
whoever comes beside a flood is begun at once.

The limits are this process's own: a worker on a small machine and one on a large one share a database.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from service.usecases.payloads import FIRST_IN_A_RUSH, OVER_SHARE, PATIENT, TURN

if TYPE_CHECKING:
    from dbos import EnqueueOptions

WORKFLOW = "work"
QUICK = "proofs"
RUSH = "later-proofs"
PATIENT_LANE = "long-work"
VERSIONS = "versions"
"""Proposals: nobody's proof waits behind them."""
SLOW = "archives"
HOUSE = "house"
"""Partition of what is nobody's: tidying up."""
FORMER = frozenset({"artwork", "rush", "patient", "batches"})
"""Names of the lanes before they were partitioned; work in flight then is asked for anew."""
_LANES = {"batch": SLOW, "housekeeping": SLOW, "versions": VERSIONS}
_AFTER_OTHERS = frozenset({"read-artwork"})
"""Of an order's turn: what a rush of uploads asks for comes after the proofs of those read before."""


@dataclass(frozen=True)
class Lane:
    """One lane as this process takes work from it.

    Attributes:
        places: pieces of work under way here at once.
        of_one: of one workshop.
        every_seconds: between two looks while there is work.
    """

    name: str
    places: int
    of_one: int
    every_seconds: float


def lanes(at_once: int, quick_seconds: float, slow_seconds: float) -> tuple[Lane, ...]:
    """The lanes of a process that has ``at_once`` processors for this work."""
    return (
        Lane(QUICK, 2 * at_once, at_once, quick_seconds),
        Lane(RUSH, at_once, at_once, quick_seconds),
        Lane(PATIENT_LANE, 1, 1, slow_seconds),
        Lane(VERSIONS, 1, 1, slow_seconds),
        Lane(SLOW, 1, 1, slow_seconds),
    )


def most_at_once(at_once: int) -> int:
    """Pieces of work that may be under way in all lanes together."""
    return sum(lane.places for lane in lanes(at_once, 1, 1))


def options_of(kind: str, workflow: str, payload: Mapping[str, Any]) -> EnqueueOptions:
    """Which lane work goes into, whose it counts for, and how soon its turn comes there."""
    turn = int(payload.get(TURN, 0))
    usual = QUICK if turn < FIRST_IN_A_RUSH else RUSH
    last = payload.get(PATIENT) or payload.get(OVER_SHARE)
    lane = _LANES.get(kind) or (PATIENT_LANE if last else usual)
    options: EnqueueOptions = {
        "workflow_name": WORKFLOW,
        "queue_name": lane,
        "queue_partition_key": payload.get("workshop", HOUSE),
        "workflow_id": workflow,
    }
    if lane != SLOW:
        options["priority"] = 1 + 2 * turn + (kind in _AFTER_OTHERS)
    return options
