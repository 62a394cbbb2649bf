"""The only errors that leave the use cases; the doors turn each into one kind of answer."""

from __future__ import annotations

import math
from dataclasses import dataclass


class DomainError(Exception):
    """Base of every answer other than yes."""


class NotFoundError(DomainError):
    """There is no such thing, or it is not yours: both look the same.

    Attributes:
        what: kind of thing asked for (``"order"``), never whether it exists elsewhere.
    """

    def __init__(self, what: str) -> None:
        super().__init__(what)
        self.what = what

    def __str__(self) -> str:
        return f"There is no such {self.what}."


class NotAllowedError(DomainError):
    """You may see this, but not do that to it.

    Attributes:
        message: one sentence that says who may.
    """

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


@dataclass(frozen=True)
class FieldError:
    """One thing wrong with what was sent.

    Attributes:
        field: dotted path into the command (``"lines.0.quantity"``), empty for the whole.
        code: stable identifier, lower case with hyphens.
        message: what is wrong and what to do, one sentence.
    """

    field: str
    code: str
    message: str


class InvalidError(DomainError):
    """What was sent cannot be used; says every problem at once."""

    def __init__(self, *problems: FieldError) -> None:
        super().__init__(*problems)
        self.problems = problems

    def __str__(self) -> str:
        return " ".join(problem.message for problem in self.problems)


class StaleError(DomainError):
    """Somebody changed it since you looked; look again, then decide.

    Attributes:
        current: the revision now stored.
    """

    def __init__(self, current: int) -> None:
        super().__init__(current)
        self.current = current

    def __str__(self) -> str:
        return "This was changed in the meantime. Load it again and check before you go on."


class ConflictError(DomainError):
    """It cannot be done as things stand.

    Attributes:
        code: stable identifier, lower case with hyphens (``"not-approved"``).
        message: the reason and what would help, for the person asking.
    """

    def __init__(self, code: str, message: str) -> None:
        super().__init__(code, message)
        self.code = code
        self.message = message

    def __str__(self) -> str:
        return self.message


_LONGEST_SECONDS = 90.0  # longer waits are told in minutes


class TooManyError(DomainError):
    """Too much at once.

    Attributes:
        retry_after: seconds to wait.
    """

    def __init__(self, retry_after: float) -> None:
        super().__init__(retry_after)
        self.retry_after = retry_after

    def __str__(self) -> str:
        if self.retry_after <= _LONGEST_SECONDS:
            return f"Too many requests. Try again in {self.retry_after:.0f} s."
        return f"Too many requests. Try again in {math.ceil(self.retry_after / 60)} minutes."
