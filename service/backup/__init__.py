"""Copies of everything: backups, bringing them back, moving to another database or store, damaged files."""
