"""Uploads that there is no room for: they wait a little, then are told to come back; room that is left is had again."""

from __future__ import annotations

import anyio
import pytest

from service.rest.pipeline import problem_of
from service.rest.upload_limiter import TooBusyError, UploadLimiter


def test_as_many_as_there_may_be_and_no_more():
    async def crowd() -> tuple[int, int, int]:
        room, inside, most, refused = UploadLimiter(3, wait_seconds=0.05), 0, 0, 0
        done = anyio.Event()

        async def upload() -> None:
            nonlocal inside, most, refused
            try:
                async with room.place():
                    inside += 1
                    most = max(most, inside)
                    await done.wait()
                    inside -= 1
            except TooBusyError:
                refused += 1

        async with anyio.create_task_group() as group:
            for _ in range(10):
                group.start_soon(upload)
            while refused < 7:
                await anyio.sleep(0.01)
            done.set()
        async with room.place():
            inside += 1
        return most, refused, inside

    assert anyio.run(crowd) == (3, 7, 1)


def test_one_that_waits_gets_the_place_of_one_that_ends():
    async def two() -> list[str]:
        room, order = UploadLimiter(1, wait_seconds=5), []

        async def upload(name: str, seconds: float) -> None:
            async with room.place():
                order.append(name)
                await anyio.sleep(seconds)

        async with anyio.create_task_group() as group:
            group.start_soon(upload, "first", 0.05)
            group.start_soon(upload, "second", 0)
        return order

    assert sorted(anyio.run(two)) == ["first", "second"]


def test_no_network_and_no_order_has_more_than_its_share():
    async def crowd() -> list[str]:
        room, inside, done = UploadLimiter(5, wait_seconds=0.1, share=2), [], anyio.Event()

        async def upload(name: str, *whose: str) -> None:
            try:
                async with room.place(*whose):
                    inside.append(name)
                    await done.wait()
            except TooBusyError:
                inside.append(f"not {name}")

        async with anyio.create_task_group() as group:
            for name, *whose in (
                ("a1", "order a", "192.0.2.1"),
                ("a2", "order a", "192.0.2.2"),
                ("a3", "order a", "192.0.2.3"),
                ("b1", "order b", "192.0.2.1"),
                ("b2", "order b", "192.0.2.1"),
                ("c1", "order c", "192.0.2.9"),
                ("d1", "", ""),
            ):
                group.start_soon(upload, name, *whose)
                await anyio.sleep(0.001)
            await anyio.sleep(0.3)
            done.set()
        async with room.place("order a", "192.0.2.1"):  # what was held is had again
            inside.append("after")
        return sorted(inside)

    assert anyio.run(crowd) == sorted(["a1", "a2", "b1", "c1", "d1", "not a3", "not b2", "after"])


def test_a_failed_upload_leaves_its_place():
    async def fail() -> None:
        room = UploadLimiter(1, wait_seconds=0.05)
        for _ in range(3):
            with pytest.raises(ZeroDivisionError):
                async with room.place():
                    raise ZeroDivisionError
        async with room.place():
            pass

    anyio.run(fail)


def test_it_is_told_as_too_much_to_do_and_when_to_come_back():
    answer = problem_of(TooBusyError())
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "3")
