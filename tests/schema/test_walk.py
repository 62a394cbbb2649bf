"""docs/walk.md is run as it stands: every block of it, in one shell, against the running service."""

from __future__ import annotations

import os
import re
import subprocess
from pathlib import Path

import pytest

from seeds.shop import load
from tests.running import Running

ROOT = Path(__file__).parents[2]
BLOCK = re.compile(r"^```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)
PART = re.compile(r"^## ", re.MULTILINE)


@pytest.fixture(scope="module")
def said(running: Running) -> list[str]:
    """What the walk prints, by part: before, in curl, in GraphQL."""
    parts = PART.split((ROOT / "docs" / "walk.md").read_text(encoding="utf-8"))
    assert [part.splitlines()[0] for part in parts[1:]] == ["In curl", "In GraphQL"]
    script = "\necho '== next part'\n".join("\n".join(BLOCK.findall(part)) for part in parts)
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", script],
        cwd=ROOT,
        env=os.environ | {"SLATPROOF": running.url, "PASSWORD": load().password},
        capture_output=True,
        text=True,
        timeout=280,  # it waits for work in many steps; it is no measure of speed, and ends before its process is ended
        check=False,
    )
    assert done.returncode == 0, f"{done.stderr}\n{done.stdout}"
    return done.stdout.split("== next part\n")


def test_in_curl_an_order_goes_from_the_shop_to_the_machine(said):
    lines = said[1].splitlines()
    assert "longwalk-bench" in lines and "  back-centre" in lines
    assert any(line.startswith("back-centre: This will carve") for line in lines), said[1]
    refused = "403: Only maker or shop-site may release for production."
    for line in ("maker", "offered", "signed", refused, "released"):
        assert line in lines, said[1]
    assert any(re.fullmatch(r"image/png, \d{4,} bytes", line) for line in lines)
    assert any(line.startswith("This batch is sound: 1 carving") for line in lines)
    kinds = [line.split()[1] for line in lines if re.fullmatch(r"\d+ [a-z-]+", line)]
    decided = [kind for kind in kinds if kind != "waiver"]
    assert decided == ["submission", "offer", "sign-off", "feasibility", "release"]
    assert re.fullmatch(r'\{"holds":true,"at":\d+\}', lines[-1])


def test_in_graphql_the_same_order_comes_as_far(said):
    assert said[2].splitlines() == [
        "OrderChanged",
        "OrderChanged",
        "OrderChanged",
        "OrderChanged",
        "RELEASED",
    ]
