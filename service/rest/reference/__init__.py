"""The reference that people read: both doors and every problem, drawn by the server, without any script."""
