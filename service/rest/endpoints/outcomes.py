"""What really happened: how items came out, and what that says."""

from __future__ import annotations

from service.orders.outcomes import Experience
from service.rest.operation import Operation, tagged
from service.rest.requests.outcomes import OutcomeAsk, TimeFactorAsk
from service.rest.responses.outcomes import OutcomesBody, outcome_body
from service.rest.use import Does, items, itself, one
from service.usecases import outcomes

TAG = "Items at the bench"

OPERATIONS = tagged(
    TAG,
    Operation(
        "POST /orders/{order}/items/{item}/outcome",
        "recordOutcome",
        "Say how an item came out, where it went wrong, and how long carving took.",
        Does(outcomes.record_outcome, one(outcome_body)),
        ask=OutcomeAsk,
        graph="",
        problems=("not-released",),
        more="In place of what was said of it before.",
    ),
    Operation(
        "GET /orders/{order}/outcomes",
        "listOutcomes",
        "List how an order's items came out, beside what was predicted.",
        Does(outcomes.list_outcomes, items(OutcomesBody, outcome_body)),
    ),
    Operation(
        "GET /experience",
        "getExperience",
        "Get what all outcomes of the workshop say, group by group, and its factor of times.",
        Does(outcomes.get_experience, itself(Experience)),
    ),
    Operation(
        "POST /experience/time-factor",
        "acceptTimeFactor",
        "Take the factor of times that was shown into the settings.",
        Does(outcomes.accept_time_factor, itself(Experience)),
        ask=TimeFactorAsk,
        graph="",
        problems=("nothing-to-accept",),
        more="Nothing is taken over unasked. `time_scale` is that of `getExperience`.",
    ),
)
