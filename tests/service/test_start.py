"""A start loads what the first answer needs, and no more: a slip here costs every start a second."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

LATER = (
    "dbos",
    "strawberry",
    "alembic",
    "scipy",
    "ezdxf",
    "reportlab",
    "cv2",
    "pypdfium2",
    "obstore",
    "psycopg",
)


def test_putting_a_service_together_loads_none_of_the_large_libraries():
    code = f"import sys, service.cli, service.root; print([m for m in {LATER!r} if m in sys.modules])"
    root = Path(__file__).parents[2]
    found = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
