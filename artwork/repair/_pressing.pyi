"""Types of the extension in ``_pressing.cpp``."""

from typing_extensions import Buffer

Compressed = tuple[Buffer, Buffer, Buffer]

def press(
    resistance: Compressed,
    rows: Compressed,
    lack: Buffer,
    weight: Buffer,
    pull: Buffer,
    most: float,
    held: float,
    rounds: int,
    clear: float,
    halvings: int,
    /,
) -> bytes:
    """Matrices as starts (int32), columns (int32) and values (float64) of rows → one float64 for each unknown."""
