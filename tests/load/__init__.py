"""A busy season: many clients at once who look, send files, try, decide and fetch; what they wait, and what gives way.

``python -m tests.load`` (``scripts/load``) measures both shapes and writes ``bench/load.json``.
"""
