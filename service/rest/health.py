"""For whoever watches the machines: is this process alive, can it take in orders, what has it counted.

Outside of the API, for nobody is signed in. What is counted is for the machine itself, or for whoever knows
the token of the settings; everybody else finds nothing there.
"""

from __future__ import annotations

import hmac
import time
from collections.abc import Iterator
from datetime import datetime

from anyio import to_thread
from prometheus_client import CONTENT_TYPE_LATEST, REGISTRY, CollectorRegistry, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.registry import Collector
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from service.orders.wellness import Vitals
from service.rest import problems
from service.rest.operation import Pipeline
from service.usecases.context import Context
from service.usecases.wellness import Readiness, readiness, vitals_of

_FRESH_SECONDS = 2.0
"""How long an answer stands: whoever asks all the time must not keep the disk busy."""
_LOOPBACK = frozenset({"127.0.0.1", "::1"})
_FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip")


def health_routes(pipeline: Pipeline, metrics_token: str) -> list[BaseRoute]:
    """``/health/live``, ``/health/ready`` and ``/metrics``."""
    known: tuple[float, Readiness] | None = None

    async def live(_request: Request) -> Response:
        return PlainTextResponse("alive\n", headers={"Cache-Control": "no-store"})

    async def ready(_request: Request) -> Response:
        nonlocal known
        if known is None or time.monotonic() - known[0] > _FRESH_SECONDS:
            found = await to_thread.run_sync(readiness, pipeline.ctx, limiter=pipeline.threads)
            known = (time.monotonic(), found)
        found = known[1]
        body = {"ready": found.ready, "lacks": list(found.lacks), "worker": found.worker}
        return JSONResponse(body, 200 if found.ready else 503, headers={"Cache-Control": "no-store"})

    async def metrics(request: Request) -> Response:
        if not _may_see(request, metrics_token):
            return problems.answer(problems.KINDS["not-found"])
        text = await to_thread.run_sync(_counted, pipeline.ctx, limiter=pipeline.threads)
        return Response(text, media_type=CONTENT_TYPE_LATEST)

    return [
        Route("/health/live", live, methods=["GET"]),
        Route("/health/ready", ready, methods=["GET"]),
        Route("/metrics", metrics, methods=["GET"]),
    ]


def _may_see(request: Request, token: str) -> bool:
    """With a token set: whoever has it. Without: this machine, and nobody whom a proxy here lets through."""
    if token:
        given = request.headers.get("authorization", "")
        return hmac.compare_digest(given.encode(), f"Bearer {token}".encode())
    here = request.client is not None and request.client.host in _LOOPBACK
    return here and not any(name in request.headers for name in _FORWARDED)


def _counted(ctx: Context) -> bytes:
    now = CollectorRegistry()
    now.register(_Found(vitals_of(ctx)))
    return generate_latest(REGISTRY) + generate_latest(now)


class _Found(Collector):
    """What is found in the database at this moment, the same from every process."""

    def __init__(self, vitals: Vitals) -> None:
        self._vitals = vitals

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """See prometheus-client."""
        vitals = self._vitals

        def gauge(name: str, words: str, value: float) -> GaugeMetricFamily:
            return GaugeMetricFamily(f"slatproof_{name}", words, value)

        def age(at: datetime | None) -> float:
            return max(0.0, (vitals.now - at).total_seconds()) if at else 0.0

        yield gauge("work_waiting", "Pieces of work asked for and not begun.", vitals.work_waiting)
        yield gauge("work_oldest_seconds", "For how long the oldest of them waits.", age(vitals.work_since))
        yield gauge("work_given_up", "Pieces of work that were given up.", vitals.given_up)
        yield gauge("mail_waiting", "Messages to be sent.", vitals.mail_waiting)
        yield gauge("mail_oldest_seconds", "For how long the oldest of them waits.", age(vitals.mail_since))
        yield gauge("files_kept", "1 where a file can be kept at this moment.", vitals.files_kept)
        if vitals.room is not None:
            yield gauge("room_bytes", "Bytes free where files are kept.", vitals.room)
        if vitals.worker_seen is not None:
            yield gauge(
                "worker_silent_seconds", "Since the last sign of life of a worker.", age(vitals.worker_seen)
            )
        since = GaugeMetricFamily(
            "slatproof_upkeep_age_seconds", "Since a chore was last done.", labels=["chore"]
        )
        for chore, done in vitals.upkeep.items():
            since.add_metric([chore.value], age(done.at))
        yield since
