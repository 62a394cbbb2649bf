"""The carving engine: bytes and values in, values out.

Nothing here knows a web server, a database or a shop's settings. An upload flows once through
intake → ink → tracing → outline → medial axis → tooling arithmetic → findings → remedies →
placement → relief → preview and drawings.

Units everywhere: millimetres, y upwards; degrees at the edges of the package, radians inside.
"""

ENGINE_VERSION = "2"
"""Part of every proof digest: raise it when the same cut would be judged or drawn differently."""
EARLIER_ENGINES = ("1",)
"""What was signed under these stands: the same cut, judged by the rules of its day."""
