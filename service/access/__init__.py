"""People and programs: accounts, sessions, client links, API tokens, and who a request comes from."""
