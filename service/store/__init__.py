"""Tables, migrations, engines, blobs and the unit of work."""
