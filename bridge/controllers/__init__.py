"""I/O out: requests to the controllers of lights. Carries, and decides nothing."""
