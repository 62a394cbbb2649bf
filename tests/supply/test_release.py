"""The files of a release: the same bytes every time, and checksums that ``sha256sum`` (GNU coreutils) takes."""

from __future__ import annotations

import shutil
import subprocess
import tarfile
from pathlib import Path

import pytest

from service import VERSION

ROOT = Path(__file__).parents[2]


def release(to: Path) -> bytes:
    subprocess.run(["scripts/release", "--to", str(to)], cwd=ROOT, check=True, capture_output=True)
    subprocess.run(
        ["sha256sum", "--check", "--strict", "SHA256SUMS"], cwd=to, check=True, capture_output=True
    )
    return (to / f"slatproof-{VERSION}.tar.gz").read_bytes()


@pytest.mark.skipif(shutil.which("git") is None, reason="a release is made of what git has")
def test_a_release_is_the_same_every_time_and_holds_what_an_installation_needs(tmp_path: Path):
    assert release(tmp_path / "one") == release(tmp_path / "two")
    with tarfile.open(tmp_path / "one" / f"slatproof-{VERSION}.tar.gz") as archive:
        names = set(archive.getnames())
    top = f"slatproof-{VERSION}/"
    assert {
        top + name for name in ("LICENSE", "CHANGELOG.md", "scripts/prepare", "requirements/run.lock")
    } <= names
    assert not any("__pycache__" in name or "/.venv" in name for name in names)
