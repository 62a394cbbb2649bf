"""What really happened: how items came out, and what that says."""

from __future__ import annotations

from service.orders.outcomes import Experience
from service.rest.operation import Operation
from service.rest.requests.outcomes import OutcomeAsk, TimeFactorAsk
from service.rest.responses.outcomes import OutcomeBody, OutcomesBody, outcome_body
from service.rest.use import Does, items, one
from service.usecases import outcomes

TAG = "Items at the bench"

OPERATIONS = (
    Operation(
        "POST",
        "/orders/{order}/items/{item}/outcome",
        "recordOutcome",
        "Say how an item came out, where it went wrong, and how long carving took.",
        TAG,
        Does(outcomes.record_outcome, one(outcome_body)),
        ask=OutcomeAsk,
        gives=OutcomeBody,
        graph="",
        problems=("not-released",),
        more="In place of what was said of it before.",
    ),
    Operation(
        "GET",
        "/orders/{order}/outcomes",
        "listOutcomes",
        "List how an order's items came out, beside what was predicted.",
        TAG,
        Does(outcomes.list_outcomes, items(OutcomesBody, outcome_body)),
        gives=OutcomesBody,
    ),
    Operation(
        "GET",
        "/experience",
        "getExperience",
        "Get what all outcomes of the workshop say, group by group, and its factor of times.",
        TAG,
        Does(outcomes.get_experience, one(lambda found: found)),
        gives=Experience,
    ),
    Operation(
        "POST",
        "/experience/time-factor",
        "acceptTimeFactor",
        "Take the factor of times that was shown into the settings.",
        TAG,
        Does(outcomes.accept_time_factor, one(lambda found: found)),
        ask=TimeFactorAsk,
        gives=Experience,
        graph="",
        problems=("nothing-to-accept",),
        more="Nothing is taken over unasked. `time_scale` is that of `getExperience`.",
    ),
)
