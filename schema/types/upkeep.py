"""Whether everything is well, and work that was given up."""

from __future__ import annotations

from datetime import datetime

import strawberry

from schema.types.enums import Level, Subject
from schema.types.work import Job
from service.orders import wellness
from service.usecases import answers


@strawberry.type
class Sign:
    """One sign of how things are, in words."""

    subject: Subject
    level: Level
    words: str
    at: datetime | None = strawberry.field(description="The moment it is about, where there is one.")

    @classmethod
    def is_type_of(cls, value: object, _info: object) -> bool:
        """Values of the rules are given as they are."""
        return isinstance(value, wellness.Sign)


@strawberry.type
class Wellness:
    """Every sign, and the worst level among them."""

    level: Level
    signs: list[Sign]


@strawberry.type
class GivenUpWork:
    """Work that was given up, and the number of the order it is for; a batch has none."""

    job: Job
    order_number: int | None

    @classmethod
    def is_type_of(cls, value: object, _info: object) -> bool:
        """Answers of use cases are given as they are."""
        return isinstance(value, answers.GivenUp)
