"""Segments, looks and the reconciling of what is desired with what is observed."""
