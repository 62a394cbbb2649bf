"""Settings that every test shares."""

from __future__ import annotations

import os

from hypothesis import settings

from tests.running import running  # noqa: F401 - a fixture of every room that goes through a door

# One profile: the same examples every run, so that a red test is red for everyone; more of them on demand.
settings.register_profile("shared", derandomize=True, deadline=None, max_examples=60, print_blob=True)
settings.register_profile("long", deadline=None, max_examples=2000)
settings.load_profile(os.environ.get("SLATPROOF_HYPOTHESIS", "shared"))
