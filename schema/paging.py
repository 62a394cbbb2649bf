"""Relay connections over pages by keyset."""

from __future__ import annotations

from typing import Annotated, Generic, TypeVar

import strawberry

from service.usecases.answers import Page
from service.usecases.commands import PageAsk

T = TypeVar("T")
First = Annotated[int, strawberry.argument(description="How many, 1 to 100.")]
After = Annotated[str | None, strawberry.argument(description="The cursor of the last one had.")]

Count = Annotated[bool, strawberry.argument(description="Whether `total` is to be counted.")]


@strawberry.type
class PageInfo:
    """Whether there is more."""

    has_next_page: bool
    has_previous_page: bool
    start_cursor: str | None
    end_cursor: str | None


@strawberry.type
class Edge(Generic[T]):
    """One item of a page."""

    cursor: str
    node: T


@strawberry.type
class Connection(Generic[T]):
    """One page of a list."""

    page_info: PageInfo
    edges: list[Edge[T]]
    total: int | None = strawberry.field(
        default=None,
        description="How many there are on all pages, at most 10,000; null where `count` did not ask.",
    )


class _Item(Generic[T]):
    """An edge whose cursor is written when it is asked for."""

    __slots__ = ("_page", "_place", "node")

    def __init__(self, node: T, page: Page[T], place: int) -> None:
        self.node = node
        self._page = page
        self._place = place

    @property
    def cursor(self) -> str:
        return self._page.cursors[self._place]


def page_ask(first: int, after: str | None, *, count: bool = False) -> PageAsk:
    """As the use cases take it; they check the values."""
    return PageAsk(first, after, count)


def connection_of(page: Page[T], after: str | None) -> Connection[T]:
    """A page of the use cases as a connection."""
    cursors = page.cursors
    return Connection(
        page_info=PageInfo(
            has_next_page=page.more,
            has_previous_page=after is not None,
            start_cursor=cursors[0] if cursors else None,
            end_cursor=cursors[-1] if cursors else None,
        ),
        edges=[_Item(item, page, place) for place, item in enumerate(page.items)],  # type: ignore[misc]
        total=page.total,
    )
