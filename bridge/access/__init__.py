"""How the bridge is let in: credentials, TLS, HTTP sessions, and what to say where it is not."""
