"""What is counted and timed, for Prometheus; each process counts its own."""

from __future__ import annotations

from collections.abc import Mapping

from prometheus_client import Counter, Histogram

_REQUEST_BUCKETS = (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0)
_WORK_BUCKETS = (0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 120.0)

REQUESTS = Histogram(
    "slatproof_request_seconds",
    "From a request to the head of its answer.",
    ("method", "route", "status"),
    buckets=_REQUEST_BUCKETS,
)
REFUSALS = Counter("slatproof_refusals_total", "Noes, by their code.", ("door", "code"))
FAILED_PROPOSALS = Counter(
    "slatproof_failed_proposals_total", "Cures that could not be worked out and were left out.", ("proposal",)
)
ENDED_CONNECTIONS = Counter(
    "slatproof_ended_connections_total",
    "Connections that were ended for being slow, silent or too many.",
    ("why",),
)
TURNED_AWAY = Counter("slatproof_turned_away_total", "Requests and streams that had no place.", ("kind",))
WORK = Histogram(
    "slatproof_work_seconds",
    "One attempt at a piece of background work.",
    ("kind", "outcome"),
    buckets=_WORK_BUCKETS,
)
STAGES = Histogram(
    "slatproof_stage_seconds",
    "One stage of a piece of background work.",
    ("kind", "stage"),
    buckets=_WORK_BUCKETS,
)


def route_of(path: str, params: Mapping[str, object], *, known: bool) -> str:
    """A path with the names of its parameters in place of their values: few routes, and nobody's id."""
    if not known:
        return "none"
    for name, value in sorted(params.items(), key=lambda item: -len(str(item[1]))):
        path = f"{path}/".replace(f"/{value}/", f"/{{{name}}}/", 1).removesuffix("/")
    return path or "/"
