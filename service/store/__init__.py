"""Tables, migrations, engine and queries; SQLite and PostgreSQL alike."""
