"""The parts of the large shape as processes from packages: PostgreSQL, an S3 store, web replicas, workers.

``python -m tests.parts`` (``scripts/shape``) starts them as one command; tests and measurements use the same parts.
"""
