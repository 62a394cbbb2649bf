"""A start loads what the first answer needs, and no more: a slip here costs every start a second."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from service.root import build
from service.server import server_of
from service.settings import Settings

USUAL_IDLE_SECONDS = 60
"""How long common proxies keep an idle connection to what is behind them: common practice, no source."""
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


def test_a_proxy_lets_go_of_an_idle_connection_before_the_service_does(tmp_path):
    """Else the service closes one on which a request is just under way, and nobody answers that."""
    config = server_of(build(Settings(data=tmp_path))).config
    assert config.timeout_keep_alive > USUAL_IDLE_SECONDS
