"""What was left out of a file in reading, or may not be what was meant, as remarks of a proof.

They have names beside those of the findings and are accepted by them before signing off. They are no part of what
decides the cut, so the digest of a proof is the same with and without them; older proofs hold none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from service.orders.artworks import StoredReading

FACT = "file_remarks"
"""Where :attr:`service.orders.proofs.Proof.facts`, and entries of the record, hold them: name → what it says."""


def of_reading(reading: StoredReading | None) -> dict[str, str]:
    """Name (``"file-text-left-out-1"``) → what the client is told; nothing for art that is no file's."""
    report = reading.report if reading is not None and reading.report is not None else {}
    seen: Counter[str] = Counter()
    named = {}
    for remark in report.get("remarks", ()):
        if remark["severity"] == "warns":
            seen[remark["code"]] += 1
            named[f"file-{remark['code']}-{seen[remark['code']]}"] = str(remark["message"])
    return named


def among(facts: Mapping[str, Any], names: Iterable[str]) -> dict[str, dict[str, str]]:
    """Those of a proof's facts that are among ``names``, as the record holds them: in words; ``{}`` for none."""
    known: Mapping[str, str] = facts.get(FACT, {})
    found = {name: known[name] for name in names if name in known}
    return {FACT: found} if found else {}
