"""Every answer other than yes, as types: a mutation's outcome is a union of its success and these."""

from __future__ import annotations

import strawberry

from service.language.phrasebook import told
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
    errors.StaleError: "stale",
    errors.InvalidError: "invalid",
    errors.NotAllowedError: "not-allowed",
    errors.NotFoundError: "not-found",
    errors.TooManyError: "too-many",
}


def refusal_of(error: errors.DomainError) -> Refusals:
    """The outcome for an error of the use cases."""
    words = told(str(error))
    code = error.code if isinstance(error, errors.ConflictError) else _CODES[type(error)]
    REFUSALS.labels("graph", code).inc()
    match error:
        case errors.StaleError():
            return Stale(message=words, current=error.current)
        case errors.InvalidError():
            problems = [Problem(field=p.field, code=p.code, message=told(p.message)) for p in error.problems]
            return Invalid(message=words, problems=problems)
        case errors.NotAllowedError():
            return NotAllowed(message=words)
        case errors.NotFoundError():
            return NotFound(message=words)
        case errors.ConflictError():
            return Conflict(message=words, code=error.code)
        case errors.TooManyError():
            return TooMany(message=words, retry_after=error.retry_after)
    raise TypeError(type(error))
