"""What a shop's own site keeps with an order: its number there, values of its own, and whether it is paid."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Final

from pydantic import Field

from service.orders.definition import Trait
from service.orders.errors import FieldError
from service.orders.limits import LONGEST_SITE_NUMBER, LONGEST_SITE_VALUE, MOST_SITE_VALUES


class OrderKind(StrEnum):
    """What an order is for."""

    ORDER = "order"
    CHECK = "check"
    TEST = "test"


class Payment(StrEnum):
    """Whether an order is paid, as its site says."""

    UNSAID = "unsaid"
    DUE = "due"
    PAID = "paid"
    REFUNDED = "refunded"


@dataclass(frozen=True)
class SiteValue:
    """One value that a site keeps with an order."""

    name: Annotated[str, Field(pattern=r"^[A-Za-z0-9_.-]{1,60}$", description="of the site's choosing")]
    text: Annotated[str, Field(max_length=LONGEST_SITE_VALUE, description="anything; it is not looked into")]


@dataclass(frozen=True)
class SiteTerms:
    """What a shop's own site says of an order; whoever sees the order sees it, only the site and the maker set it."""

    order_number: Annotated[
        str,
        Field(
            max_length=LONGEST_SITE_NUMBER,
            description="the site's own number for the order; orders are found by it",
        ),
        Trait.SEARCHABLE,
    ] = ""
    unique: Annotated[
        bool, Field(description="whether this number is refused where another order that asks so has it")
    ] = False
    metadata: Annotated[
        tuple[SiteValue, ...],
        Field(max_length=MOST_SITE_VALUES, description="values of the site's own, each name once"),
    ] = ()


NO_SITE: Final = SiteTerms()


def site_problems(site: SiteTerms) -> Iterator[FieldError]:
    """What keeps this from being stored."""
    if site.unique and not site.order_number:
        yield FieldError("site.order_number", "missing", "Give the number that is to be the only one.")
    counts = Counter(each.name for each in site.metadata)
    for place, each in enumerate(site.metadata):
        if counts[each.name] > 1:
            yield FieldError(f"site.metadata.{place}.name", "twice", "Give each name once.")
