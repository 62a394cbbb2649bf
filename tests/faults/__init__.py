"""Orders go through while processes are killed, disks fill and lines fail; then what was promised is looked for.

``python -m tests.faults`` (``scripts/faults``) runs as many rounds as wanted; ``test_faults.py`` runs a few.
"""
