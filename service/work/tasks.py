"""What the killable processes hold ready."""

from __future__ import annotations


def load() -> None:
    """Import what computations need, once per process and before the first one waits for it."""
    import artwork.findings
    import artwork.intake.pdf
    import artwork.intake.raster
    import artwork.intake.reader
    import artwork.intake.svg
    import artwork.jsonable
    import artwork.preview
    import artwork.version_pictures
    import artwork.versions  # noqa: F401
    import service.usecases.computing
    import service.usecases.computing_suites
    import service.usecases.computing_versions  # noqa: F401
