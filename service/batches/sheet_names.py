"""What the files beside the drawings of an order's folder are called; loads nothing else."""

from __future__ import annotations

PARTS_LIST, LABELS, PACKING_LIST = "parts-list.csv", "labels.pdf", "packing-list.pdf"


def is_made(name: str) -> bool:
    """Whether a file of an order's folder is one of ``order_sheets``."""
    return name in {PARTS_LIST, LABELS, PACKING_LIST} or name.startswith("bed-")
