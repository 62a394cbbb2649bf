"""A run of the tests goes on, and ends, where one of its processes dies."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.scheduling import LONGEST, rank

ROOT = Path(__file__).parents[2]
HOOKS = """
from tests.scheduling import WholeFiles

def pytest_xdist_make_scheduler(config, log):
    return WholeFiles(config, log)
"""
DIES = "import os\n\ndef test_before(): pass\n\ndef test_dies(): os._exit(1)\n\ndef test_after(): pass\n"


def test_what_a_process_that_died_has_left_is_run_and_the_run_ends(tmp_path: Path):
    (tmp_path / "conftest.py").write_text(HOOKS)
    for number in range(12):
        (tmp_path / f"test_{number:02}.py").write_text("def test_one(): pass\n\ndef test_two(): pass\n")
    (tmp_path / "test_05.py").write_text(DIES)
    how = ["-q", "-p", "xdist", "-p", "no:cacheprovider"]
    how += ["-n", "2", "--dist", "loadfile", "--no-loadscope-reorder", "--max-worker-restart", "2"]
    run = subprocess.run(
        [sys.executable, "-m", "pytest", *how, f"--rootdir={tmp_path}", tmp_path],
        env={"PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin", "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=280,  # a run that does not end; a busy machine takes a minute to start its processes
        check=False,
    )
    assert "1 failed, 24 passed" in run.stdout, run.stdout + run.stderr
    assert "crashed while running 'test_05.py::test_dies'" in run.stdout


def test_the_longest_files_come_first_and_every_room_in_the_order_is_there():
    assert rank("tests/pages/test_accessible.py") < rank("tests/pages/test_weight.py")
    assert rank("tests/pages/test_weight.py") < rank("tests/artwork/test_wood.py")
    assert all((ROOT / room).exists() for room in LONGEST)
