#!/bin/sh
# An ordinary user with a database of its own: rules that keep workshops apart hold it back, as they would no superuser.
# The container runs this once, when it makes its files; elsewhere run it as the user postgres.
set -e
psql -v ON_ERROR_STOP=1 -v password="$POSTGRES_PASSWORD" --username "${POSTGRES_USER:-postgres}" <<'END'
CREATE USER slatproof PASSWORD :'password';
CREATE DATABASE slatproof OWNER slatproof;
END
