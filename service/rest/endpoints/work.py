"""Background work, batches and the record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.orders.work import Batch
from service.rest.endpoints.ordering import whole
from service.rest.operation import Answer, Call, Operation
from service.rest.requests.base import PageQuery
from service.rest.requests.cutting import BatchAsk
from service.rest.responses.orders import API, OrderBody
from service.rest.responses.work import (
    BatchBody,
    BatchesBody,
    EntriesBody,
    JobBody,
    JobsBody,
    VerificationBody,
    batch_body,
    batches_body,
    entries_body,
    entry_body,
    job_body,
    verification_body,
)
from service.rest.use import Does, one
from service.usecases import looking, privacy_and_audit, producing
from service.usecases.answers import OrderAggregate

BATCHES = "Batches"
RECORD = "Record and privacy"


def _batch(batch: Batch) -> Answer:
    return Answer(batch_body(batch), location=f"{API}/batches/{batch.id}")


def _list_batches(call: Call) -> Answer:
    return Answer(batches_body(producing.list_batches(call.ctx, call.actor, call.query.page())))


def _list_jobs(call: Call) -> Answer:
    order = call.path["order"]
    looking.find_order(call.ctx, call.actor, order)  # refuses an order that is not yours
    jobs = looking.jobs_by_order_ids(call.ctx, call.actor, [order])[0]
    return Answer(JobsBody(tuple(job_body(job) for job in jobs)))


def _decisions(call: Call) -> Answer:
    order = call.path["order"]
    looking.find_order(call.ctx, call.actor, order)
    entries = looking.decisions_by_order_ids(call.ctx, call.actor, [order])[0]
    return Answer(EntriesBody(tuple(entry_body(entry) for entry in entries), None, len(entries)))


def _record(call: Call) -> Answer:
    return Answer(entries_body(privacy_and_audit.list_record(call.ctx, call.actor, call.query.page())))


def _verify(call: Call) -> Answer:
    fault = privacy_and_audit.verify_record(call.ctx, call.actor)
    return Answer(verification_body(fault, privacy_and_audit.take_checkpoint(call.ctx, call.actor)))


def _export(call: Call) -> Answer:
    return Answer(dict(privacy_and_audit.export_order(call.ctx, call.actor, call.path["order"])))


def _forget(call: Call, erased: OrderAggregate) -> None:
    call.kept.forget(erased.order.id)


OPERATIONS = (
    Operation(
        "POST",
        "/batches",
        "takeBatch",
        "Ask for the archive of released orders.",
        BATCHES,
        Does(producing.take_batch, _batch),
        graph="",
        ask=BatchAsk,
        gives=BatchBody,
        status=202,
        once=True,
        problems=("not-released", "key-reused"),
        more="It is put together in the background: ask for the batch until it has its archive.",
    ),
    Operation(
        "GET",
        "/batches",
        "listBatches",
        "List the workshop's batches, newest first.",
        BATCHES,
        _list_batches,
        query=PageQuery,
        gives=BatchesBody,
    ),
    Operation(
        "GET",
        "/batches/{batch}",
        "getBatch",
        "Get a batch.",
        BATCHES,
        Does(producing.get_batch, one(batch_body)),
        gives=BatchBody,
    ),
    Operation(
        "GET",
        "/jobs/{job}",
        "getJob",
        "Get one piece of background work.",
        "Background work",
        Does(looking.get_job, one(job_body)),
        gives=JobBody,
    ),
    Operation(
        "GET",
        "/orders/{order}/jobs",
        "listJobs",
        "List the background work of an order, newest first.",
        "Background work",
        _list_jobs,
        gives=JobsBody,
    ),
    Operation(
        "GET",
        "/orders/{order}/decisions",
        "listDecisions",
        "List what was decided about an order, oldest first.",
        RECORD,
        _decisions,
        gives=EntriesBody,
    ),
    Operation(
        "GET",
        "/record",
        "listRecord",
        "List the workshop's record, newest first.",
        RECORD,
        _record,
        query=PageQuery,
        gives=EntriesBody,
    ),
    Operation(
        "GET",
        "/record/verification",
        "verifyRecord",
        "Re-check the whole chain of the record.",
        RECORD,
        _verify,
        gives=VerificationBody,
    ),
    Operation(
        "GET",
        "/orders/{order}/export",
        "exportOrder",
        "Get everything held about an order, files by digest.",
        RECORD,
        _export,
        gives=Mapping[str, Any],
    ),
    Operation(
        "POST",
        "/orders/{order}/erasure",
        "eraseClient",
        "Erase the client's particulars, art and pictures; the record stays verifiable.",
        RECORD,
        Does(privacy_and_audit.erase_client, whole, after=_forget),
        graph="",
        gives=OrderBody,
        conditional=True,
        problems=("stale", "in-hand"),
    ),
)
