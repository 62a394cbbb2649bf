"""Whether everything is well, and work that was given up."""

from __future__ import annotations

from service.orders.work import Job
from service.rest.bodies.upkeep import (
    GivenUpWorkBody,
    WellnessBody,
    given_up_body,
    wellness_body,
)
from service.rest.bodies.work import JobBody, job_body
from service.rest.operation import Answer, Call, Operation
from service.rest.use import Does
from service.usecases import retrying, wellness

UPKEEP = "Upkeep"


def _job(job: Job) -> Answer:
    return Answer(job_body(job))


def _wellness(call: Call) -> Answer:
    return Answer(wellness_body(wellness.list_signs(call.ctx, call.actor)))


def _given_up(call: Call) -> Answer:
    found = retrying.list_given_up(call.ctx, call.actor)
    return Answer(GivenUpWorkBody(tuple(given_up_body(each) for each in found)))


OPERATIONS = (
    Operation(
        "GET",
        "/wellness",
        "getWellness",
        "See whether everything is well: work, mail, room, backups.",
        UPKEEP,
        _wellness,
        gives=WellnessBody,
        more="For people of the workshop. Whoever watches machines asks `/health/live`, `/health/ready` and "
        "`/metrics`, outside of this API.",
    ),
    Operation(
        "GET",
        "/given-up-work",
        "listGivenUpWork",
        "List work that was given up, newest first, at most 100.",
        UPKEEP,
        _given_up,
        gives=GivenUpWorkBody,
    ),
    Operation(
        "POST",
        "/jobs/{job}/retries",
        "retryWork",
        "Ask once more for work that was given up.",
        UPKEEP,
        Does(retrying.retry_work, _job),
        graph="",
        gives=JobBody,
        status=202,
        problems=("not-given-up",),
        more="Gives the new work; where nothing waits for it any more, the old work, closed.",
    ),
)
