"""I/O in: what printers say, over MQTT brokers and polled HTTP. Carries, and decides nothing."""
