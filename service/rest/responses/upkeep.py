"""How everything is, as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.orders.wellness import Level, Sign, Subject, level_of
from service.rest.responses.work import JobBody, job_body
from service.usecases.answers import GivenUp


@dataclass(frozen=True)
class SignBody:
    """One sign in words; `at` is the moment it is about, where there is one."""

    subject: Subject
    level: Level
    words: str
    at: datetime | None


@dataclass(frozen=True)
class WellnessBody:
    """Every sign, and the worst level among them."""

    level: Level
    signs: tuple[SignBody, ...]


@dataclass(frozen=True)
class GivenUpBody:
    """Work that was given up, and the number of the order it is for; a batch has none."""

    job: JobBody
    order_number: int | None


@dataclass(frozen=True)
class GivenUpWorkBody:
    """Work that was given up."""

    items: tuple[GivenUpBody, ...]


def wellness_body(found: tuple[Sign, ...]) -> WellnessBody:
    """From the signs."""
    signs = tuple(SignBody(sign.subject, sign.level, sign.words, sign.at) for sign in found)
    return WellnessBody(level_of(found), signs)


def given_up_body(given_up: GivenUp) -> GivenUpBody:
    """From work that was given up."""
    return GivenUpBody(job_body(given_up.job), given_up.order_number)
