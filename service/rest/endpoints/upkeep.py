"""Whether everything is well, and work that was given up."""

from __future__ import annotations

from service.rest.operation import Operation, tagged
from service.rest.responses.upkeep import (
    GivenUpWorkBody,
    given_up_body,
    wellness_body,
)
from service.rest.responses.work import JobsBody, job_body
from service.rest.use import Does, items, one
from service.usecases import retrying, wellness

UPKEEP = "Upkeep"


OPERATIONS = tagged(
    UPKEEP,
    Operation(
        "GET /wellness",
        "getWellness",
        "See whether everything is well: work, mail, room, backups.",
        Does(wellness.list_signs, one(wellness_body)),
        more="For people of the workshop. Whoever watches machines asks `/health/live`, `/health/ready` and "
        "`/metrics`, outside of this API.",
    ),
    Operation(
        "GET /given-up-work",
        "listGivenUpWork",
        "List work that was given up, newest first, at most 100.",
        Does(retrying.list_given_up, items(GivenUpWorkBody, given_up_body)),
    ),
    Operation(
        "POST /jobs/{job}/retries",
        "retryWork",
        "Ask once more for work that was given up.",
        Does(retrying.retry_work, one(job_body)),
        graph="",
        status=202,
        problems=("not-given-up",),
        more="Gives the new work; where nothing waits for it any more, the old work, closed.",
    ),
    Operation(
        "POST /given-up-work/retries",
        "retryAllWork",
        "Ask once more for all work that was given up.",
        Does(retrying.retry_all_work, items(JobsBody, job_body)),
        graph="",
        status=202,
        more="Gives, for each piece, what `retryWork` gives.",
    ),
)
