"""What runs inside the killable processes."""

from __future__ import annotations


def load() -> None:
    """Import what every task needs, once per process."""
    import shapely  # noqa: F401
