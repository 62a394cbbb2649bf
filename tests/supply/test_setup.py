"""Set-up that cannot be wedged: its steps, with stand-ins for what it calls that fail as the real ones were seen to."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PYTHON = """#!/bin/sh
said() { echo "$*" >>"$STAND_INS/calls"; }
cut_off() { [ -e "$STAND_INS/cut-$1" ] && rm "$STAND_INS/cut-$1"; }
case "$1 $2" in
  "-c "*base_prefix*) cat "$STAND_INS/version" ;;
  "-c "*"import numpy"*) if cut_off imports; then exit 1; fi ;;
  "-c "*include*) echo /nowhere ;;
  "--version "*) echo "Python 3.12.0" ;;
  "-m venv")
    said venv; mkdir -p "$3/bin"
    if cut_off venv; then exit 130; fi
    cp "$0" "$3/bin/python" ;;
  "-m pip") said pip; if cut_off pip; then exit 130; fi ;;
  "-m uv") said uv; if cut_off uv; then exit 130; fi ;;
esac
"""
COMPILER = """#!/bin/sh
for word; do last=$word; done
echo compiler >>"$STAND_INS/calls"
: >"$last"
if [ -e "$STAND_INS/cut-compiler" ]; then rm "$STAND_INS/cut-compiler"; exit 130; fi
"""
APT = """#!/bin/sh
echo apt >>"$STAND_INS/calls"
if [ -s "$STAND_INS/refusals" ]; then
  cat "$STAND_INS/refusal" >&2
  sed -i 1d "$STAND_INS/refusals"
  exit 100
fi
"""
# as apt says it (apt-pkg/deb/debsystem.cc, apt-pkg/acquire-item.cc)
LOCKED = "E: Could not get lock /var/lib/dpkg/lock-frontend. It is held by process 4711 (unattended-upgr)\n"
NO_NETWORK = (
    "E: Failed to fetch http://deb.debian.org/debian/x.deb  Temporary failure resolving 'deb.debian.org'\n"
)


class SetUp:
    """A checkout with nothing in it but the set-up, in a path with a space."""

    def __init__(self, folder: Path) -> None:
        self.root, self.stand_ins = folder / "with a space", folder / "bin"
        for made in ("scripts", "requirements", "artwork/axis", "artwork/program", "artwork/repair"):
            (self.root / made).mkdir(parents=True)
        (self.root / "scripts/setup.sh").write_bytes((ROOT / "scripts/setup.sh").read_bytes())
        for empty in ("requirements/uv.lock", "requirements/run.lock"):
            (self.root / empty).touch()
        for source in (
            "axis/_boost.cpp",
            "program/_sweep.cpp",
            "repair/_crossing.cpp",
            "repair/_pressing.cpp",
        ):
            (self.root / "artwork" / source).touch()
        self.stand_ins.mkdir()
        for name, text in (("python3", PYTHON), ("g++", COMPILER), ("apt-get", APT)):
            (self.stand_ins / name).write_text(text)
            (self.stand_ins / name).chmod(0o755)
        self.note("version", "3.12.0\n")

    def note(self, name: str, text: str = "") -> None:
        (self.stand_ins / name).write_text(text)

    def run(self, command: str) -> tuple[int, str]:
        """A step's status and what it said; what it has to sleep for takes no time."""
        script = f'source "{self.root}/scripts/setup.sh"; sleep() {{ :; }}; as_root() {{ "$@"; }}; {command}'
        environ = {"PATH": f"{self.stand_ins}:/usr/bin:/bin", "STAND_INS": str(self.stand_ins)}
        done = subprocess.run(
            ["bash", "-euo", "pipefail", "-c", script],
            env=environ,
            capture_output=True,
            text=True,
            timeout=30,
            check=False,
        )
        return done.returncode, done.stderr

    def calls(self) -> list[str]:
        """What was called since the last look."""
        log = self.stand_ins / "calls"
        found = log.read_text().split() if log.exists() else []
        log.unlink(missing_ok=True)
        return found


@pytest.fixture
def set_up(tmp_path: Path) -> SetUp:
    return SetUp(tmp_path)


@pytest.mark.parametrize(
    ("step", "again"), [("venv", ["venv", "pip", "uv"]), ("pip", ["pip", "uv"]), ("uv", ["pip", "uv"])]
)
def test_interrupted_in_the_environment_it_goes_on_the_next_time(set_up: SetUp, step: str, again: list[str]):
    set_up.note(f"cut-{step}")
    assert set_up.run("python_environment run")[0] != 0
    set_up.calls()
    assert set_up.run("python_environment run")[0] == 0
    assert set_up.calls() == again
    assert set_up.run("python_environment run")[0] == 0
    assert set_up.calls() == [], "nothing is done twice"


def test_interrupted_in_the_compiler_it_goes_on_the_next_time(set_up: SetUp):
    set_up.note("cut-compiler")
    assert set_up.run("python_environment run; extensions")[0] != 0
    assert not list(set_up.root.glob("artwork/*/*.abi3.so")), (
        "a half-written part is not taken for a whole one"
    )
    assert set_up.run("extensions")[0] == 0
    assert len(list(set_up.root.glob("artwork/*/*.abi3.so"))) == 4


def test_another_python_of_the_system_has_the_environment_made_anew(set_up: SetUp):
    set_up.run("python_environment run")
    set_up.calls()
    set_up.note("version", "3.13.1\n")
    assert set_up.run("python_environment run")[0] == 0
    assert set_up.calls() == ["venv", "pip", "uv"]


def test_what_cannot_be_loaded_is_made_once_more_from_nothing(set_up: SetUp):
    set_up.note("cut-imports")
    assert set_up.run("python_environment run")[0] == 0
    assert set_up.calls() == ["venv", "pip", "uv"] * 2


def test_a_lock_that_another_package_manager_holds_is_waited_for(set_up: SetUp):
    set_up.note("refusal", LOCKED)
    set_up.note("refusals", "1\n2\n3\n")
    status, said = set_up.run("apt install x")
    assert (status, set_up.calls()) == (0, ["apt"] * 4)
    assert said.count("another package manager is at work; waiting for it") == 1


def test_without_a_network_the_true_reason_is_said_at_once(set_up: SetUp):
    set_up.note("refusal", NO_NETWORK)
    set_up.note("refusals", "1\n")
    status, said = set_up.run("debian_packages no-such-package-of-any-release")
    assert (status, set_up.calls()) == (1, ["apt"])
    assert "Temporary failure resolving 'deb.debian.org'" in said
    assert "Traceback" not in said


def test_the_short_form_on_a_bare_machine_names_tests_that_are_there():
    words = re.search(r"^leaning=\((.*?)\)$", (ROOT / "scripts/fresh").read_text(), re.M | re.S)
    assert words is not None
    listed = subprocess.run(
        ["bash", "-c", f"printf '%s\\n' {' '.join(words[1].split())}"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    assert listed and [name for name in listed if not (ROOT / name).exists()] == []
