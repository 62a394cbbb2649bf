"""``python -m tests.judging [COUNT [FIRST]]``: flip cases held against the judge, and how they agree."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import numpy as np

from tests.judging.flips import Held, cases, held

WITHIN = {"line": 0.03, "land": 0.05}


def summary(found: Sequence[Held]) -> list[str]:
    """The figures that have targets."""
    unsafe = sum(bool(each.unsafe) for each in found)
    said = [f"{len(found)} cases, {unsafe} unsafe (target 0)"]
    for of, share in WITHIN.items():
        sizes = np.array([each.size for each in found if each.of == of and each.size is not None])
        none = sum(each.of == of and each.size is None for each in found)
        if len(sizes):
            near = float((np.abs(sizes - 1) <= share).sum() / (len(sizes) + none))
            said.append(
                f"{of}s: {len(sizes) + none}, within ±{100 * share:.0f} %: {100 * near:.1f} % (target 95), "
                f"median {np.median(sizes):.3f}, {none} without a flip nearby"
            )
    turned = [1 / each.size for each in found if each.of == "land" and each.size and each.case.turned]
    if turned:
        said.append(f"turned lands: median {np.median(turned):.3f} (target at least 0.98)")
    return said


def _say(words: str) -> None:
    sys.stdout.write(f"{words}\n")
    sys.stdout.flush()


def main(arguments: Sequence[str]) -> int:
    """Prints every case as it is judged; the exit code tells whether any was unsafe."""
    count = int(arguments[0]) if arguments else 300
    first = int(arguments[1]) if len(arguments) > 1 else 0
    found = []
    for case in cases(count, first):
        found.append(held(case))
        size = "none" if found[-1].size is None else f"{found[-1].size:.3f}"
        _say(f"{case.number} {case.kind}: {found[-1].of} {size} {found[-1].unsafe}")
    _say("\n".join(summary(found)))
    return int(any(each.unsafe for each in found))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
