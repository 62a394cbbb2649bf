"""``scripts/attack``: attacks on an own copy of the service, with figures; writes ``bench/attack.json``."""

from __future__ import annotations

import argparse
import json
import subprocess
import tempfile
from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tests.attack.attacks import ATTACKS
from tests.attack.victim import Victim

HERE = Path(__file__).parents[2]
RESULTS = HERE / "bench" / "attack.json"
PAGE = HERE / "docs" / "security.md"
BEGIN, END = "<!-- attack table -->\n", "<!-- end of attack table -->"


def main() -> int:
    parser = argparse.ArgumentParser(prog="scripts/attack", description=__doc__)
    parser.add_argument(
        "--tree", type=Path, default=HERE, help="folder of the code to attack, for a comparison"
    )
    parser.add_argument("--only", help="the one attack of that name")
    parser.add_argument("--label", default="after", help="what the figures are kept as")
    given = parser.parse_args()
    figures = []
    for attack in ATTACKS:
        if given.only not in (None, attack.__name__):
            continue
        with tempfile.TemporaryDirectory(prefix="slatproof-attack-") as home:
            victim = Victim(given.tree, Path(home))  # each on a fresh one: none spoils another's figure
            try:
                figures.append(attack(victim))
            finally:
                victim.stop()
        last = figures[-1]
        good = last.target is None or last.value <= last.target
        told = f"{'  ' if good else '! '}{last.name}: {last.value:g} {last.unit} (target {last.target:g})"
        print(told, last.detail, flush=True)  # noqa: T201 - a command
    _keep(given.label, given.tree, [asdict(figure) for figure in figures])
    return 0 if all(each.target is None or each.value <= each.target for each in figures) else 1


def _keep(label: str, tree: Path, rows: list[dict[str, object]]) -> None:
    kept = json.loads(RESULTS.read_text()) if RESULTS.exists() else {}
    commit = subprocess.run(
        ["git", "-C", str(tree), "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False
    ).stdout.strip()
    old = {row["name"]: row for row in kept.get(label, {}).get("rows", [])}
    merged = old | {str(row["name"]): row for row in rows}
    kept[label] = {
        "measured": datetime.now(UTC).isoformat(timespec="seconds"),
        "commit": commit,
        "rows": list(merged.values()),
    }
    PAGE.write_text(with_table(PAGE.read_text(encoding="utf-8"), kept), encoding="utf-8")
    RESULTS.write_text(json.dumps(kept, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def with_table(page: str, kept: Mapping[str, Any]) -> str:
    """The page on security with the figures that are kept."""
    before = {row["name"]: row for row in kept.get("before", {}).get("rows", [])}
    lines = [
        f"| figure | before ({kept.get('before', {}).get('commit', '–')}) | now | target |",
        "| --- | --- | --- | --- |",
        *(_line(before.get(row["name"]), row) for row in kept.get("after", {}).get("rows", [])),
    ]
    head, _, rest = page.partition(BEGIN)
    return head + BEGIN + "\n".join(lines) + "\n" + END + rest.partition(END)[2]


def _line(before: Mapping[str, Any] | None, now: Mapping[str, Any]) -> str:
    then = "not measured" if before is None else _said(before)
    return f"| {now['name']} | {then} | {_said(now)} | {now['target']:g} {now['unit']} |"


def _said(row: Mapping[str, Any]) -> str:
    detail = f" ({row['detail']})" if row["detail"] else ""
    return f"{row['value']:g} {row['unit']}{detail}"


if __name__ == "__main__":
    raise SystemExit(main())
