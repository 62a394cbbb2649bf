"""What the service is made of: the licence of every locked package, and what is known against its version.

``python -m scripts.supply_chain licences`` works without a network and fails on a licence outside of ALLOWED.
``python -m scripts.supply_chain advisories`` asks pip-audit; it fails on a known vulnerability, and says
plainly what could not be checked.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
LOCK = ROOT / "requirements" / "run.lock"
LIST = ROOT / "requirements" / "licences.txt"

# SPDX identifiers that go with GPL-2.0-or-later (docs/adr/0001-licence.md): permissive ones, and the GNU family.
ALLOWED = frozenset(
    {
        *("MIT", "MIT-0", "MIT-CMU", "0BSD", "BSD-2-Clause", "BSD-3-Clause", "Apache-2.0"),
        *("PSF-2.0", "Zlib", "CC0-1.0", "OFL-1.1"),
        *("GPL-2.0-or-later", "GPL-3.0-or-later", "LGPL-3.0-only", "LGPL-3.0-or-later"),
    }
)
# What packages call their licence where they do not use SPDX.
_WORDS = {
    "Apache 2.0": "Apache-2.0",
    "Apache License 2.0": "Apache-2.0",
    "Apache Software License": "Apache-2.0",
    "BSD License": "BSD-3-Clause",
    "MIT License": "MIT",
    "Python Software Foundation License": "PSF-2.0",
    "PSFL": "PSF-2.0",
    "SIL Open Font License 1.1 (OFL-1.1)": "OFL-1.1",
    "SIL OFL 1.1": "OFL-1.1",
}
# Read in the licence file of the package, whose metadata say nothing or not which version.
_READ = {
    "pypdfium2": "BSD-3-Clause OR Apache-2.0",
    "pypotrace": "GPL-3.0-or-later",
    "pysqlite3": "Zlib",
    "python-bidi": "LGPL-3.0-or-later",
    "resvg-py": "MIT",
}
_LOCKED = re.compile(r"^([A-Za-z0-9][A-Za-z0-9._-]*)==([^ ;\\]+)")
_NAME = re.compile(r"[A-Za-z0-9.+-]+")
_JOINS = {"AND", "OR", "WITH"}


def locked(lock: str) -> dict[str, str]:
    """Name → version of every package of a lock file; of several versions, the last."""
    return {found[1]: found[2] for line in lock.splitlines() if (found := _LOCKED.match(line))}


def licence_of(name: str, known: Any) -> str:
    """A package's licence as an SPDX expression, or what it calls it where that is not known here."""
    if name in _READ:
        return _READ[name]
    if known.get("License-Expression"):
        return str(known["License-Expression"])
    told = [
        line.rpartition("::")[2].strip() for line in known.get_all("Classifier") or () if "License ::" in line
    ]
    told = [one for one in told if one != "OSI Approved"] or [(known.get("License") or "").strip()]
    return " AND ".join(dict.fromkeys(_WORDS.get(one, one) for one in told))


def not_allowed(expression: str) -> list[str]:
    """The parts of an expression that are not on the list; of alternatives, one is enough."""
    wrong = [[n for n in _NAME.findall(way) if n not in ALLOWED | _JOINS] for way in expression.split(" OR ")]
    return [] if not expression.strip() or [] in wrong else wrong[0]


def licences(lock: str) -> Iterator[tuple[str, str, str]]:
    """Name, version and licence of every locked package that is installed here."""
    for name, version in sorted(locked(lock).items()):
        try:
            yield name, version, licence_of(name, metadata(name))
        except PackageNotFoundError:
            continue  # for another system or Python


def check_licences() -> int:
    """Write the list; fail on a licence that is not allowed, or on none."""
    rows = list(licences(LOCK.read_text()))
    LIST.write_text("".join(f"{name} {version}: {licence}\n" for name, version, licence in rows))
    wrong = [f"{n}: {lic or 'no licence told'}" for n, _, lic in rows if not lic or not_allowed(lic)]
    for line in wrong:
        print(f"licence not on the list: {line}", file=sys.stderr)
    print(f"licences: {len(rows)} packages, {len(wrong)} not allowed (requirements/licences.txt)")
    return 1 if wrong else 0


def told(report: Mapping[str, Any]) -> tuple[list[str], int, int]:
    """From pip-audit's report: what is known against our versions, how many were checked, how many not."""
    packages = report["dependencies"]
    checked = [package for package in packages if "skip_reason" not in package]
    known = [
        f"{package['name']} {package['version']}: {fault['id']}, mended in {', '.join(fault['fix_versions']) or 'none'}"
        for package in checked
        for fault in package["vulns"]
    ]
    return known, len(checked), len(packages) - len(checked)


def check_advisories() -> int:
    """Ask pip-audit about the locked versions."""
    command = [
        sys.executable,
        "-m",
        "pip_audit",
        "-r",
        str(LOCK),
        "--disable-pip",
        "--progress-spinner",
        "off",
    ]
    answer = subprocess.run(
        [*command, "-f", "json", "--timeout", "10"], capture_output=True, text=True, check=False
    )
    try:
        known, checked, skipped = told(json.loads(answer.stdout))
    except ValueError:
        reason = (answer.stderr.strip().splitlines() or ["no answer"])[-1]
        print(f"advisories: NOT CHECKED, no network or no advisory service ({reason[:200]})")
        return 0
    for line in known:
        print(f"known vulnerability: {line}", file=sys.stderr)
    if not checked:
        print(f"advisories: NOT CHECKED, the advisory service knows none of the {skipped} packages")
    else:
        print(
            f"advisories: {checked} packages checked, {len(known)} known vulnerabilities, {skipped} not checked"
        )
    return 1 if known else 0


if __name__ == "__main__":
    sys.exit({"licences": check_licences, "advisories": check_advisories}[sys.argv[1]]())
