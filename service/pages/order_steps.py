"""Where an order stands, step by step."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from service.language.chosen import N_, _


class Step(NamedTuple):
    """One step of an order: its name once it is done, what has to happen before, and whether it is done."""

    done_words: str
    words: str
    done: bool


def state_steps(order: Mapping[str, Any], *, at_bench: bool = False) -> list[Step]:
    """Where an order stands, in the words of whoever looks."""
    carvings = [carving for line in order["lines"] for carving in line["carvings"]]
    states = {carving["state"] for carving in carvings}
    verdicts = {carving["proof"]["verdict"] for carving in carvings if carving["proof"]}
    sent = order["state"] != "draft"
    proved = bool(carvings) and all(carving["proof"] for carving in carvings)
    carves = proved and "will-not-carve" not in verdicts
    signed = bool(carvings) and states <= {"signed", "approved", "released"}
    judged = bool(carvings) and states <= {"feasible", "approved", "released"}
    made = {"released": 1, "in-production": 2, "done": 3}.get(order["state"], 0)
    who = _BENCH_STEPS if at_bench else _CLIENT_STEPS
    reached = [
        bool(carvings) and not states & {"no-art", "refused"},
        carves and not states & {"reading", "checking", "no-art", "refused"},
        sent and signed,
        sent and judged,
        made >= 1,
        made >= 2,
        made >= 3,
    ]
    steps = [
        Step(_(done_words), _(words), done) for (done_words, words), done in zip(who, reached, strict=True)
    ]
    if "will-not-carve" in verdicts:
        steps[1] = steps[1]._replace(words=_("change something so that it carves"))
    for state, words in _TURNED_BACK:
        if state in states:
            steps[2] = steps[2]._replace(words=_(words[at_bench]))
    return steps


# What is next where a proof was turned back, for the client and at the bench; what comes later in the list is said.
_TURNED_BACK = (
    ("stale", (N_("check it again: the workshop has changed something"),) * 2),
    (
        "change-asked",
        (
            N_("the workshop looks at the change you asked for"),
            N_("answer the change that the client asks for"),
        ),
    ),
    ("rejected", (N_("change what the workshop said no to"), N_("the client changes what you said no to"))),
)
_CLIENT_STEPS = (
    (N_("Artwork in"), N_("send the artwork")),
    (N_("It carves"), N_("it is read and checked")),
    (N_("You signed off"), N_("look at the proof and sign it off")),
    (N_("Workshop said yes"), N_("the workshop judges it")),
    (N_("Released"), N_("the workshop releases it")),
    (N_("Being made"), N_("it is cut and carved")),
    (N_("Done"), N_("the last piece is finished")),
)
_BENCH_STEPS = (
    (N_("Artwork in"), N_("the client sends the artwork")),
    (N_("It carves"), N_("it is read and checked")),
    (N_("Client signed off"), N_("the client signs it off")),
    (N_("Judged feasible"), N_("judge whether it is feasible")),
    (N_("Released"), N_("release it")),
    (N_("Being made"), N_("put the first board on")),
    (N_("Done"), N_("finish the last piece")),
)
