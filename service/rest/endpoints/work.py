"""Background work, batches and the record."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.orders.work import Batch
from service.rest.endpoints.ordering import whole
from service.rest.operation import Answer, Call, Operation, tagged
from service.rest.requests.base import PageQuery
from service.rest.requests.cutting import BatchAsk
from service.rest.responses.orders import API
from service.rest.responses.work import (
    BatchBody,
    EntriesBody,
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


def _batch(batch: Batch) -> Answer[BatchBody]:
    return Answer(batch_body(batch), location=f"{API}/batches/{batch.id}")


def _list_jobs(call: Call) -> Answer[JobsBody]:
    order = call.path["order"]
    looking.find_order(call.ctx, call.actor, order)  # refuses an order that is not yours
    jobs = looking.jobs_by_order_ids(call.ctx, call.actor, [order])[0]
    return Answer(JobsBody(tuple(job_body(job) for job in jobs)))


def _decisions(call: Call) -> Answer[EntriesBody]:
    order = call.path["order"]
    looking.find_order(call.ctx, call.actor, order)
    entries = looking.decisions_by_order_ids(call.ctx, call.actor, [order])[0]
    return Answer(EntriesBody(tuple(entry_body(entry) for entry in entries), None, len(entries)))


def _verify(call: Call) -> Answer[VerificationBody]:
    fault = privacy_and_audit.verify_record(call.ctx, call.actor)
    return Answer(verification_body(fault, privacy_and_audit.take_checkpoint(call.ctx, call.actor)))


def _export(call: Call) -> Answer[Mapping[str, Any]]:
    return Answer(dict(privacy_and_audit.export_order(call.ctx, call.actor, call.path["order"])))


def _forget(call: Call, erased: OrderAggregate) -> None:
    call.kept.forget(erased.order.id)


_BATCHES = tagged(
    BATCHES,
    Operation(
        "POST /batches",
        "takeBatch",
        "Ask for the archive of released orders.",
        Does(producing.take_batch, _batch),
        graph="",
        ask=BatchAsk,
        status=202,
        problems=("not-released",),
        more="It is put together in the background: ask for the batch until it has its archive.",
    ),
    Operation(
        "GET /batches",
        "listBatches",
        "List the workshop's batches, newest first.",
        Does(producing.list_batches, one(batches_body)),
        query=PageQuery,
    ),
    Operation("GET /batches/{batch}", "getBatch", "Get a batch.", Does(producing.get_batch, one(batch_body))),
)
_JOBS = tagged(
    "Background work",
    Operation(
        "GET /jobs/{job}", "getJob", "Get one piece of background work.", Does(looking.get_job, one(job_body))
    ),
    Operation(
        "GET /orders/{order}/jobs",
        "listJobs",
        "List the background work of an order, newest first.",
        _list_jobs,
    ),
)
_RECORD = tagged(
    RECORD,
    Operation(
        "GET /orders/{order}/decisions",
        "listDecisions",
        "List what was decided about an order, oldest first.",
        _decisions,
    ),
    Operation(
        "GET /record",
        "listRecord",
        "List the workshop's record, newest first.",
        Does(privacy_and_audit.list_record, one(entries_body)),
        query=PageQuery,
    ),
    Operation("GET /record/verification", "verifyRecord", "Re-check the whole chain of the record.", _verify),
    Operation(
        "GET /orders/{order}/export",
        "exportOrder",
        "Get everything held about an order, files by digest.",
        _export,
    ),
    Operation(
        "POST /orders/{order}/erasure",
        "eraseClient",
        "Erase the client's particulars, art and pictures; the record stays verifiable.",
        Does(privacy_and_audit.erase_client, whole, after=_forget),
        graph="",
        problems=("in-hand",),
    ),
)
OPERATIONS = (*_BATCHES, *_JOBS, *_RECORD)
