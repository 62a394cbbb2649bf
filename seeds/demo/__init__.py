"""The main job, acted out through the public API: ``python -m seeds.demo``."""
