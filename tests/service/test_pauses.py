"""No request waits while the interpreter looks through all that was ever loaded."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

READY = """
import gc, sys
from pathlib import Path
from service.server import ready
from service.settings import Settings
service = ready(Settings(data=Path(sys.argv[1])))
started = gc.get_freeze_count()
service.graph.load()
print(started, gc.get_freeze_count(), len(gc.get_objects()))
service.database.close()
"""


def test_a_full_collection_leaves_out_what_was_loaded(tmp_path: Path):
    """Each took a quarter of a second, every 130 queries of fifty orders, before what is loaded was taken out of it."""
    command = [sys.executable, "-c", READY, str(tmp_path / "data")]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60)
    started, loaded, looked_at = map(int, done.stdout.split())
    assert started > 100_000
    assert loaded > started + 50_000
    assert looked_at < loaded / 20
