"""Hostile code inside the processes that read strangers' files: what it tries is refused, by the kernel.

These tests need a kernel with Landlock and seccomp (Linux 5.13 and newer, x86-64 or aarch64); ``docs/security.md``
says what holds without.
"""

from __future__ import annotations

import os
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgpack
import pytest
from hypothesis import given
from hypothesis import strategies as st

from artwork.errors import EngineError
from seeds.shop import load
from service.usecases import (
    computing,
    computing_boards,
    computing_programs,
    computing_suites,
    computing_versions,
    computing_views,
)
from service.work.cage import messages
from service.work.processes import LOADED, Cage, ComputeFaultError, Limits, Processes
from tests.hostile import caged

SECRET = "SLATPROOF_S3_SECRET"


@pytest.fixture(scope="module")
def cage() -> Iterator[Processes]:
    os.environ[SECRET] = "open sesame"
    made = Processes(1, Limits(seconds=20), cage=Cage((*LOADED, "tests.hostile.caged"), required=False))
    made.warm()
    yield made
    made.stop()
    del os.environ[SECRET]


@pytest.fixture
def listening() -> Iterator[int]:
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield server.getsockname()[1]


def refused(cage: Processes, function: Any, *args: Any) -> str:
    with pytest.raises(ComputeFaultError) as fault:
        cage.run(function, *args)
    return str(fault.value)


@pytest.mark.parametrize("path", ["/etc/passwd", "/proc/self/environ", "/proc/1/environ", "/proc/self/maps"])
def test_files_of_the_machine_are_not_read(cage: Processes, path: str):
    assert "PermissionError" in refused(cage, caged.read_file, path)


def test_libraries_that_are_loaded_late_find_no_home_and_go_on_without(cage: Processes):
    assert not Path(cage.run(caged.home)).exists()


def test_the_data_folder_is_neither_read_nor_written(cage: Processes, tmp_path: Path):
    database = tmp_path / "slatproof.db"
    database.write_text("keys")
    tmp_path.chmod(0o777)
    database.chmod(0o666)  # not even where anybody may
    for attempt, path in (
        (caged.read_file, database),
        (caged.write_file, database),
        (caged.append_to_file, database),
        (caged.remove_file, database),
        (caged.write_file, tmp_path / "new"),
        (caged.make_folder, tmp_path / "folder"),
        (caged.list_folder, tmp_path),
    ):
        assert "PermissionError" in refused(cage, attempt, str(path)), attempt.__name__
    assert database.read_text() == "keys"
    assert [each.name for each in tmp_path.iterdir()] == ["slatproof.db"]


def test_the_parents_memory_and_life_are_out_of_reach(cage: Processes):
    for pid in (os.getpid(), os.getppid()):
        assert "PermissionError" in refused(cage, caged.read_file, f"/proc/{pid}/mem")
        assert "PermissionError" in refused(cage, caged.attach_to, pid)
        assert "PermissionError" in refused(cage, caged.read_memory_of, pid)
        assert "PermissionError" in refused(cage, caged.signal_to, pid)


def test_no_socket_no_program_no_fork(cage: Processes, listening: int):
    for attempt, args in (
        (caged.connect, (listening,)),
        (caged.datagram, (listening,)),
        (caged.abstract_socket, ()),
        (caged.run_program, ()),
        (caged.become_program, ()),
        (caged.fork, ()),
        (caged.raise_limits, ()),
        (caged.become_root, ()),
    ):
        words = refused(cage, attempt, *args)
        assert "PermissionError" in words or "not allowed to raise" in words, (attempt.__name__, words)


def test_nothing_of_the_service_is_at_hand(cage: Processes):
    assert os.environ[SECRET] not in str(cage.run(caged.environment))
    assert SECRET not in cage.run(caged.environment)
    described = cage.run(caged.open_descriptors)
    assert len(described) == 4, described  # three that lead nowhere, and the channel
    assert described[3].endswith(":0o14"), "a socket"


def test_an_object_in_an_answer_is_never_built(cage: Processes, tmp_path: Path):
    target = tmp_path / "was-here"
    tmp_path.chmod(0o777)
    with pytest.raises(EngineError) as refusal:
        cage.run(caged.answer_with_a_pickle, str(target))
    assert refusal.value.code == "crashed"
    assert not target.exists()
    assert cage.run(caged.add, 1, 1) == 2


def test_an_answer_before_its_question_is_no_answer(cage: Processes):
    with pytest.raises(EngineError):
        cage.run(caged.answer_before_being_asked)
    assert cage.run(caged.add, 1, 1) == 2


@pytest.mark.parametrize("data", [b"\x91" * 300 + b"\x01", b"\x91" * 100_000, b"\x81\xa5value" * 3000])
def test_an_answer_nested_without_end_is_refused(data: bytes):
    with pytest.raises(messages.BadAnswerError):
        messages.read_answer(b"\x81\xa5value" + data, returns_anything)


def returns_anything() -> Any:
    """Declares nothing about what it returns."""


def test_answers_of_other_types_and_endless_ones_are_refused(cage: Processes):
    for trick in (caged.answer_another_type, caged.answer_no_figure, caged.answer_without_end):
        with pytest.raises(EngineError) as refusal:
            cage.run(trick, seconds=5.0)
        assert refusal.value.code == "crashed", trick.__name__
    assert cage.run(caged.add, 1, 1) == 2


def test_a_process_killed_by_the_machine_is_tried_once_more(cage: Processes):
    """A machine short of memory kills whom it likes: the file is not blamed for that."""
    first = cage.run(caged.nap, 0.0)
    killing = threading.Timer(0.4, lambda: os.kill(first, 9))
    killing.start()
    second = cage.run(caged.nap, 1.0)
    killing.join()
    assert second != first


def test_a_process_reads_one_strangers_file_and_no_more(cage: Processes):
    first = cage.run(caged.nap, 0.0, stranger=True)
    assert cage.run(caged.nap, 0.0) != first


def test_every_file_of_the_seed_shop_is_read_inside(cage: Processes):
    """Nothing that reading takes is out of reach: libraries, typefaces, tables are loaded before or may be read."""
    from artwork.intake.values import Limits as ArtLimits
    from artwork.intake.values import Wishes

    for art in load().artworks:
        try:
            read = cage.run(computing.read_art, art.data, art.name, Wishes(), ArtLimits(), {}, stranger=True)
            assert isinstance(read, computing.ReadArt)
            assert read.picture.startswith(b"\x89PNG")
        except EngineError as refusal:
            assert refusal.code not in {"crashed", "too-slow"}, art.name


ROOMS = (
    computing,
    computing_boards,
    computing_programs,
    computing_suites,
    computing_versions,
    computing_views,
)
FUNCTIONS = [
    getattr(room, name)
    for room in ROOMS
    for name in dir(room)
    if not name.startswith("_")
    and getattr(getattr(room, name), "__module__", "") == room.__name__
    and not isinstance(getattr(room, name), type)
]


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda one: one.__name__)
def test_whatever_is_computed_apart_declares_plain_values(function: Any):
    messages.adapter_of(function)


def returns_numbers() -> list[int]:
    return [1]


@given(st.binary(max_size=300))
def test_noise_is_no_answer(data: bytes):
    with pytest.raises(messages.BadAnswerError):
        messages.read_answer(data, returns_numbers)


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**63), 2**63) | st.floats() | st.text() | st.binary(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(st.dictionaries(st.sampled_from(["value", "refusal", "fault", "memory", "x"]), PLAIN, max_size=2))
def test_an_answer_is_of_the_declared_type_or_none(message: dict[str, Any]):
    try:
        found = messages.read_answer(msgpack.packb(message), returns_numbers)
    except (messages.BadAnswerError, messages.FaultyError, MemoryError, EngineError):
        return
    assert isinstance(found, list)
    assert all(isinstance(each, int) for each in found)


def test_a_template_that_ended_is_made_anew():
    processes = Processes(1, Limits(seconds=20), cage=Cage((*LOADED, "tests.hostile.caged")))
    try:
        assert processes.run(caged.add, 1, 1) == 2
        template = processes._template
        assert template is not None
        os.kill(template.pid, 9)
        time.sleep(0.3)
        assert processes.run(caged.add, 2, 2) == 4
    finally:
        processes.stop()
