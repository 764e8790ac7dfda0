"""Findings about a whole site: what its files say together that no single file shows."""
