"""Every answer other than yes, as types: a mutation's outcome is a union of its success and these."""

from __future__ import annotations

import strawberry

from service.metering import REFUSALS
from service.orders import errors


@strawberry.interface
class Refusal:
    """An answer other than yes; nothing was changed."""

    message: str = strawberry.field(description="What happened and what helps, for the person asking.")


@strawberry.type
class Stale(Refusal):
    """Somebody changed it since you looked; look again, then decide."""

    current: int = strawberry.field(description="The revision now stored.")


@strawberry.type
class Problem:
    """One thing wrong with what was sent."""

    field: str = strawberry.field(description="Dotted path into the input, empty for the whole.")
    code: str
    message: str


@strawberry.type
class Invalid(Refusal):
    """What was sent cannot be used; says every problem at once."""

    problems: list[Problem]


@strawberry.type
class NotAllowed(Refusal):
    """You may see this, but somebody else has to do it."""


@strawberry.type
class NotFound(Refusal):
    """It does not exist, or it is not yours: both look the same."""


@strawberry.type
class Conflict(Refusal):
    """It cannot be done as things stand."""

    code: str = strawberry.field(description="Stable identifier; each is explained at /problems/{code}.")


@strawberry.type
class TooMany(Refusal):
    """Too much at once."""

    retry_after: float = strawberry.field(description="Seconds to wait.")


Refusals = Stale | Invalid | NotAllowed | NotFound | Conflict | TooMany


_CODES = {
    errors.Stale: "stale",
    errors.Invalid: "invalid",
    errors.NotAllowed: "not-allowed",
    errors.NotFound: "not-found",
    errors.TooMany: "too-many",
}


def refusal_of(error: errors.Refused) -> Refusals:
    """The outcome for an error of the use cases."""
    words = str(error)
    code = error.code if isinstance(error, errors.Conflict) else _CODES[type(error)]
    REFUSALS.labels("graph", code).inc()
    match error:
        case errors.Stale():
            return Stale(message=words, current=error.current)
        case errors.Invalid():
            problems = [Problem(field=p.field, code=p.code, message=p.message) for p in error.problems]
            return Invalid(message=words, problems=problems)
        case errors.NotAllowed():
            return NotAllowed(message=words)
        case errors.NotFound():
            return NotFound(message=words)
        case errors.Conflict():
            return Conflict(message=words, code=error.code)
        case errors.TooMany():
            return TooMany(message=words, retry_after=error.retry_after)
    raise TypeError(type(error))
