"""A broker to try things on: it is up when it is given, and gone when it was stopped."""

from __future__ import annotations

import socket

import pytest

from bridge.simulator.brokers import NoBrokerError, free_port, mosquitto_path, start_broker


def listens(port: int) -> bool:
    """Whether somebody accepts connections there."""
    try:
        socket.create_connection(("127.0.0.1", port), timeout=1).close()
    except OSError:
        return False
    return True


@pytest.mark.parametrize(
    ("mosquitto", "name"), [(mosquitto_path(), "mosquitto"), (None, "embedded iotcore")]
)
def test_a_broker_comes_and_goes(mosquitto: str | None, name: str) -> None:
    """A mosquitto that is found, else the embedded one; it says which it is."""
    broker = start_broker(mosquitto)
    try:
        assert (broker.name, listens(broker.port)) == (name, True)
    finally:
        broker.stop()
    assert not listens(broker.port)


def test_a_broker_that_cannot_start_is_said() -> None:
    """Without waiting for it: its process is over."""
    with pytest.raises(NoBrokerError, match="did not come up on port"):
        start_broker("/bin/false")


def test_two_free_ports_can_be_had() -> None:
    """Above those that need rights."""
    assert min(free_port(), free_port()) > 1023
