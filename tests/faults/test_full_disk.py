"""A disk that is full or read-only: writing is refused in time and words, reading goes on, nothing has to be mended."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from seeds.shop import load
from tests.faults import switches
from tests.parts.small import SmallShape, can_mount
from tests.running import API, FROM_HERE, Caller, art, carvings, placed_order

AWAY = (503, "5")
"""Status and Retry-After where the store takes nothing."""

needs_root = pytest.mark.skipif(not can_mount(), reason="a disk of its own needs root")


@needs_root
def test_writing_is_refused_until_there_is_room(tmp_path):
    shape = SmallShape(tmp_path, disk_mb=64)
    refused_meanwhile(shape, shape.fill, shape.empty, to_client=(507, None))  # the workshop's reserve is gone


def test_writing_is_refused_while_the_disk_is_read_only(tmp_path):
    disk = switches.disk(tmp_path, tmp_path / "small" / "data")
    shape = SmallShape(tmp_path / "small", also=switches.environ(disk))
    refused_meanwhile(shape, lambda: disk.set(1), lambda: disk.set(0), to_client=AWAY)


@needs_root
def test_a_start_on_a_read_only_disk_says_why_and_ends(tmp_path):
    shape = SmallShape(tmp_path, disk_mb=64)
    try:
        shape.allow_writing(False)
        shape.part.start()
        shape.part.wait()
        said = (tmp_path / "service.log").read_text()
        assert said == f"The folder {shape.data} cannot be used: Read-only file system.\n"
    finally:
        shape.stop()


@needs_root
def test_a_start_on_a_full_disk_says_why_and_ends(tmp_path):
    shape = SmallShape(tmp_path, disk_mb=64)
    try:
        shape.start()
        shape.part.stop()
        shape.fill()
        before = (tmp_path / "service.log").read_text()
        shape.part.start()
        shape.part.wait()
        said = (tmp_path / "service.log").read_text().removeprefix(before)
        assert said == "The database cannot be used: disk I/O error. Does it run, with room on its disk?\n"
    finally:
        shape.stop()


@needs_root
def test_started_anew_on_a_full_disk_it_answers_and_works_once_there_is_room(tmp_path):
    shape = SmallShape(tmp_path, disk_mb=64)
    shape.start()
    try:
        order, client = placed_order(shape.url)
        with client:
            shape.part.kill()
            shape.fill()
            shape.start()
            wait_until(lambda: "background work cannot begin yet" in (tmp_path / "service.log").read_text())
            assert client.order(order["id"])["number"] == order["number"]
            assert shape.part.running
            shape.empty()
            client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
            assert carvings(client.settled(order["id"], 60))[0]["state"] == "checked"
    finally:
        shape.stop()


def wait_until(found: Callable[[], bool], seconds: float = 60) -> None:
    """Until then, or AssertionError."""
    end = time.monotonic() + seconds
    while not found():
        assert time.monotonic() < end
        time.sleep(0.05)


def refused_meanwhile(
    shape: SmallShape,
    spoil: Callable[[], None],
    mend: Callable[[], None],
    *,
    to_client: tuple[int, str | None],
) -> None:
    """An upload is refused while the disk is spoilt, nothing of it stays, and the same one is taken afterwards.

    ``to_client``: status and Retry-After of what clients are told; the maker, who has the reserve, is told `AWAY`.
    """
    shape.start()
    try:
        order, client = placed_order(shape.url)
        with client, Caller(base_url=shape.url, timeout=60, headers=FROM_HERE) as maker:
            sign_in(maker)
            spoil()
            for caller, told in ((client, to_client), (maker, AWAY)):
                sent = {"files": {"file": ("crest.svg", art("crest.svg"))}}
                form = {"carvings": carvings(order)[0]["id"]}
                refused = caller.post(f"{API}/orders/{order['id']}/artworks", data=form, **sent)
                assert (refused.status_code, refused.headers.get("retry-after")) == told, refused.text
            assert client.order(order["id"])["artworks"] == []
            mend()
            client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
            assert carvings(client.settled(order["id"], 60))[0]["state"] == "checked"
    finally:
        shape.stop()


def sign_in(caller: Caller) -> None:
    """Make the caller the maker of the seed shop."""
    email = next(person.email for person in load().people if person.role == "maker")
    caller.do("POST", "/session", json={"email": email, "password": load().password})
