"""A computation that hangs, crashes or eats memory costs its sender an answer, and nobody else anything."""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import shapely

from artwork.errors import EngineError
from service.orders.errors import TooManyError
from service.work.places import Places
from service.work.processes import LOADED, Cage, ComputeFaultError, Limits, Processes

HERE = Cage((*LOADED, __name__))


def add(a: int, b: int) -> int:
    return a + b


def own_pid() -> int:
    return os.getpid()


def refuse() -> None:
    raise EngineError("blank", "Nothing is drawn on this page.", "Send a page with the drawing on it.")


def crash() -> None:
    ctypes.string_at(0)


def eat() -> int:
    return len(bytearray(8 * 1024**3))


def fail() -> None:
    raise ZeroDivisionError("nobody thought of that")


def geos_out_of_memory() -> None:
    raise shapely.errors.GEOSException("std::bad_alloc")


def hang() -> None:
    time.sleep(600)


def nap(seconds: float) -> int:
    time.sleep(seconds)
    return os.getpid()


def work(seconds: float) -> int:
    """Keeps a processor busy; which process did it."""
    end = time.process_time() + seconds
    while time.process_time() < end:
        pass
    return os.getpid()


@pytest.fixture(scope="module")
def processes():
    made = Processes(2, Limits(seconds=20, memory=2 * 1024**3), cage=HERE)
    made.warm()
    yield made
    made.stop()


def test_a_result_and_a_refusal_come_back_as_they_are(processes):
    assert processes.run(add, 2, 3) == 5
    with pytest.raises(EngineError) as refusal:
        processes.run(refuse)
    assert (refusal.value.code, refusal.value.cure) == ("blank", "Send a page with the drawing on it.")


def test_a_crash_is_refused_and_the_neighbour_survives(processes):
    with ThreadPoolExecutor(2) as threads:
        neighbour = threads.submit(processes.run, nap, 1.5)
        time.sleep(0.3)
        with pytest.raises(EngineError) as refusal:
            processes.run(crash)
        assert refusal.value.code == "crashed"
        assert neighbour.result() > 0
    assert processes.run(add, 1, 1) == 2


def test_too_much_processor_time_is_refused_and_counts_anew_for_each_computation():
    processes = Processes(1, Limits(seconds=60, memory=2 * 1024**3, cpu_seconds=1), cage=HERE)
    try:
        assert processes.run(work, 0.6) == processes.run(work, 0.6) == processes.run(work, 0.6)
        with pytest.raises(EngineError) as refusal:
            processes.run(work, 30.0)
        assert refusal.value.code == "too-much-work"
        assert processes.run(add, 1, 1) == 2
    finally:
        processes.stop()


def test_too_much_memory_is_refused_and_the_place_works_again(processes):
    with pytest.raises(EngineError) as refusal:
        processes.run(eat)
    assert refusal.value.code == "too-much-memory"
    assert processes.run(add, 1, 1) == 2


def test_a_fault_of_ours_is_told_from_a_refusal(processes):
    with pytest.raises(ComputeFaultError, match="ZeroDivisionError: nobody thought of that"):
        processes.run(fail)


def test_libraries_that_run_out_of_memory_in_their_own_words_are_refused(processes):
    with pytest.raises(EngineError) as refusal:
        processes.run(geos_out_of_memory)
    assert refusal.value.code == "too-much-memory"


def test_a_hanging_computation_is_ended(processes):
    processes.run(add, 1, 1)
    with pytest.raises(EngineError) as refusal:
        processes.run(hang, seconds=0.5)
    assert refusal.value.code == "too-slow"
    assert processes.run(add, 1, 1) == 2


def test_work_on_the_same_thing_goes_to_the_same_process(processes):
    first = processes.run(own_pid, about="a" * 64)
    second = processes.run(own_pid, about="b" * 64)
    assert {processes.run(own_pid, about="a" * 64) for _ in range(3)} == {first}
    assert processes.run(own_pid, about="b" * 64) == second


def test_many_calls_run_side_by_side_in_order_and_leave_a_place_to_others():
    processes = Processes(3, Limits(seconds=20, memory=2 * 1024**3), cage=HERE)
    try:
        assert list(processes.run_each(add, ((n, 10) for n in range(7)))) == [n + 10 for n in range(7)]
        doing = processes.run_each(nap, ((0.8,) for _ in range(4)))
        first = next(doing)
        assert processes.run(add, 1, 1, wait=0.0) == 2, "a place is free while others are at it"
        assert len({first, *doing}) > 1
    finally:
        processes.stop()


def test_the_first_of_many_calls_that_is_refused_ends_them(processes):
    asked = []

    def calls():
        for n in range(50):
            asked.append(n)
            yield () if n else (1,)

    with pytest.raises(Exception, match="argument"):
        list(processes.run_each(refuse, calls()))
    assert len(asked) < 5, "calls are not taken far ahead"
    assert processes.run(add, 1, 1) == 2


def test_no_free_place_within_the_wait_is_told(processes):
    done = threading.Event()
    with ThreadPoolExecutor(2) as threads:
        naps = [threads.submit(processes.run, nap, 1.0) for _ in range(2)]
        time.sleep(0.3)
        with pytest.raises(TooManyError):
            processes.run(add, 1, 1, wait=0.1)
        done.set()
        assert all(n.result() for n in naps)


def test_processes_started_from_a_short_lived_thread_outlive_it(processes):
    seen: list[int] = []
    thread = threading.Thread(target=lambda: seen.append(processes.run(own_pid, about="c" * 64)))
    thread.start()
    thread.join()
    time.sleep(0.3)
    assert processes.run(own_pid, about="c" * 64) == seen[0]


PARENT = """
import os, sys, time
from service.work.processes import LOADED, Cage, Limits, Processes
from tests.service.work.test_processes import own_pid
if __name__ == "__main__":
    processes = Processes(1, Limits(memory=2 * 1024**3), cage=Cage((*LOADED, "tests.service.work.test_processes")))
    print(processes.run(own_pid), flush=True)
    time.sleep(60)
"""


def test_processes_end_with_a_killed_parent(tmp_path: Path):
    script = tmp_path / "parent.py"
    script.write_text(PARENT)
    parent = subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": str(Path.cwd())},
    )
    try:
        assert parent.stdout is not None
        child = int(parent.stdout.readline())
        assert Path(f"/proc/{child}").exists()
    finally:
        parent.kill()
        parent.communicate()
    for _ in range(50):
        state = Path(f"/proc/{child}/stat")
        if not state.exists() or state.read_text().rsplit(")", 1)[1].split()[0] == "Z":
            break
        time.sleep(0.1)
    else:
        pytest.fail("the process outlived its parent")


def test_the_start_of_a_process_is_not_counted():
    fresh = Processes(1, Limits(seconds=0.5), cage=HERE)  # loading the engine alone takes longer
    try:
        assert fresh.run(add, 1, 2) == 3
    finally:
        fresh.stop()


def test_a_try_may_be_given_less_processor_time():
    processes = Processes(1, Limits(seconds=30, memory=2 * 1024**3, cpu_seconds=20), cage=HERE)
    try:
        with pytest.raises(EngineError) as refused:
            processes.run(work, 10.0, cpu_seconds=1.0)
        assert refused.value.code == "too-much-work" and "more than 1 s" in refused.value.message
        assert processes.run(add, 1, 2) == 3
    finally:
        processes.stop()


def test_gentle_work_lets_others_go_first_and_leaves_no_slow_process_behind(monkeypatch):
    processes = Processes(1, Limits(memory=2 * 1024**3), cage=HERE)
    seen: list[int] = []
    setpriority = os.setpriority

    def noted(which: int, pid: int, priority: int) -> None:
        setpriority(which, pid, priority)
        seen.append(os.getpriority(os.PRIO_PROCESS, pid) - os.getpriority(os.PRIO_PROCESS, 0))

    monkeypatch.setattr(os, "setpriority", noted)
    try:
        first = processes.run(own_pid)
        assert (processes.run(own_pid, gentle=True), seen) == (first, [min(10, 19 - os.getpriority(0, 0))])
        assert processes.run(own_pid) != first
        assert len(seen) == 1
    finally:
        processes.stop()


def test_a_picture_never_waits_behind_a_check():
    """With every other place taken a picture is drawn, and nothing but pictures is done in that place."""
    processes = Processes(1, Limits(memory=2 * 1024**3), cage=HERE, for_drawing=1)
    try:
        held = processes._places.take(None, None)
        assert processes.run(add, 1, 2, wait=0.0, drawing=True) == 3
        with pytest.raises(TooManyError):
            processes.run(add, 1, 2, wait=0.0)
        processes._places.give_back(held)
    finally:
        processes.stop()


def test_nobody_has_more_than_half_of_the_places():
    places = Places(4, 0)
    held = [places.take(None, None, whose="order a") for _ in range(2)]
    with pytest.raises(TooManyError):
        places.take(None, 0.05, whose="order a")
    places.take(None, 0.05, whose="order b")
    places.give_back(held[0])
    assert places.take(None, 0.05, whose="order a") is held[0]
