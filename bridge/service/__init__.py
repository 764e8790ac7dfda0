"""The daemon: the core between real sources and real controllers."""
