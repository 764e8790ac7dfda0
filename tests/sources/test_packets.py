"""Packets out of a stream, however it is cut. Built by hand after MQTT 5.0 §2.1."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.sources.packets import PacketError, Packets, Skipped


def length_bytes(length: int) -> bytes:
    """§1.5.5, by its own algorithm."""
    encoded = []
    while True:
        length, digit = divmod(length, 128)
        encoded.append(digit | (0x80 if length else 0))
        if not length:
            return bytes(encoded)


def publish(topic: str, payload: bytes) -> bytes:
    """A PUBLISH of quality of service 0, as 3.1.1 has it."""
    body = len(topic.encode()).to_bytes(2, "big") + topic.encode() + payload
    return b"\x30" + length_bytes(len(body)) + body


def read_all(packets: Packets) -> bytes:
    """One packet, a byte and then the rest, as paho reads it."""
    found = [packets.read(1)]
    while True:
        try:
            found.append(packets.read(1000))
        except BlockingIOError:
            return b"".join(found)


def drain(packets: Packets) -> list[bytes]:
    """Every packet that is whole."""
    found = []
    while packets.advance():
        found.append(read_all(packets))
    return found


@pytest.mark.parametrize(
    ("length", "encoded"),
    [
        (0, "00"),
        (127, "7f"),
        (128, "8001"),
        (16_383, "ff7f"),
        (16_384, "808001"),
        (2_097_151, "ffff7f"),
        (2_097_152, "80808001"),
    ],
)
def test_the_lengths_of_the_specification(length: int, encoded: str) -> None:
    """MQTT 5.0 table 1-1: the ends of each number of bytes."""
    assert length_bytes(length).hex() == encoded
    packets = Packets(length)
    packets.feed(b"\x30" + bytes.fromhex(encoded) + b"x" * length)
    assert packets.advance()
    assert len(read_all(packets)) == 1 + len(encoded) // 2 + length


CONTENTS = st.lists(st.binary(max_size=300), max_size=8)


@given(CONTENTS, st.lists(st.integers(min_value=1, max_value=40), min_size=1))
def test_the_cuts_of_the_stream_do_not_matter(payloads: list[bytes], cuts: list[int]) -> None:
    """The same packets come out however the network divides them."""
    whole = [publish("bench/phase", payload) for payload in payloads]
    stream = b"".join(whole)
    packets = Packets(400)
    found = []
    turn = 0
    while stream:
        size = cuts[turn % len(cuts)]
        turn += 1
        packets.feed(stream[:size])
        stream = stream[size:]
        found += drain(packets)
    assert found == whole
    assert packets.skipped == []


@given(st.integers(min_value=1, max_value=60), st.integers(min_value=101, max_value=500))
def test_a_packet_that_is_too_long_is_skipped_alone(size: int, length: int) -> None:
    """Its topic is told once, nothing of it is kept, and its neighbours arrive."""
    before, after = publish("bench/a", b"one"), publish("bench/c", b"two")
    stream = before + publish("bench/b", b"x" * length) + after
    packets = Packets(100)
    found = []
    for start in range(0, len(stream), size):
        packets.feed(stream[start : start + size])
        found += drain(packets)
    assert found == [before, after]
    packet_bytes = 2 + len("bench/b") + length
    assert packets.skipped == [Skipped("bench/b", packet_bytes, retained=False)]


def test_the_longest_that_is_taken() -> None:
    """The bound is inclusive, and counts what follows the fixed header."""
    packets = Packets(20)
    packets.feed(publish("top", b"x" * 15) + publish("top", b"x" * 16))
    assert len(drain(packets)) == 1
    assert packets.skipped == [Skipped("top", 21, retained=False)]


def test_a_stored_message_that_is_too_long_is_known_as_one() -> None:
    """MQTT 5.0 §3.3.1.3: the lowest bit of its first byte."""
    packets = Packets(20)
    live = publish("top", b"x" * 16)
    packets.feed(bytes((live[0] | 1,)) + live[1:])
    assert drain(packets) == []
    assert packets.skipped == [Skipped("top", 21, retained=True)]


def test_other_packets_that_are_too_long_have_no_topic() -> None:
    """No other kind is that long; should one be, it is left out likewise."""
    packets = Packets(20)
    packets.feed(b"\x90" + length_bytes(30) + b"x" * 30 + publish("top", b""))
    assert drain(packets) == [publish("top", b"")]
    assert packets.skipped == [Skipped("", 30, retained=False)]


def test_a_stream_that_is_not_mqtt() -> None:
    """A length of five bytes is none: whoever sends that speaks something else."""
    packets = Packets(100)
    packets.feed(b"\x30" + b"\xff" * 4)
    with pytest.raises(PacketError):
        drain(packets)


def test_nothing_is_read_beyond_a_packet() -> None:
    """The client may ask for more than there is; it never gets the next packet's bytes."""
    packets = Packets(100)
    packets.feed(b"\xd0\x00\xd0\x00")
    assert packets.advance()
    assert packets.read(100) == b"\xd0\x00"
    with pytest.raises(BlockingIOError):
        packets.read(1)


def ready(packet: bytes) -> Packets:
    """The packet is whole, and another follows it."""
    packets = Packets(1000)
    packets.feed(packet + publish("next", b"!"))
    assert packets.advance()
    return packets


@pytest.mark.parametrize(
    ("body", "has_properties", "expected"),
    [
        ("0003746f70", False, ("top", b"")),
        ("0003746f707b7d", False, ("top", b"{}")),
        ("0003746f70007b7d", True, ("top", b"{}")),
        # What looks like no properties is the payload's own in 3.1.1.
        ("0003746f70007b7d", False, ("top", b"\0{}")),
        ("0002c3bc00", True, ("ü", b"")),
    ],
)
@pytest.mark.parametrize("stored", [False, True])
def test_a_plain_message(
    body: str, expected: tuple[str, bytes], *, has_properties: bool, stored: bool
) -> None:
    """MQTT 5.0 §3.3.2 and §3.3.3: two bytes of length, topic, properties, payload."""
    content = bytes.fromhex(body)
    packets = ready(bytes((0x30 | stored,)) + length_bytes(len(content)) + content)
    assert packets.plain_message(has_properties=has_properties) == (*expected, stored)
    # As if the client had read it.
    assert drain(packets) == [publish("next", b"!")]


@pytest.mark.parametrize(
    ("head", "body", "has_properties"),
    [
        # Quality of service 1 and 2, and one that is repeated.
        (0x32, "0003746f7000017b7d", False),
        (0x34, "0003746f7000017b7d", False),
        (0x38, "0003746f707b7d", False),
        # §3.3.2.3.3: a property, the message expires in 60 s.
        (0x30, "0003746f7005020000003c7b7d", True),
        # Other kinds.
        (0xD0, "", False),
        (0x90, "000100", True),
        # No topic; one longer than the packet; no UTF-8; no room for properties; no length.
        (0x30, "00007b7d", False),
        (0x30, "0004746f70", False),
        (0x30, "ffff746f70", True),
        (0x30, "0001ff7b7d", False),
        (0x30, "0003746f70", True),
        (0x30, "00", False),
        (0x30, "", False),
    ],
)
def test_what_is_left_to_the_client(head: int, body: str, *, has_properties: bool) -> None:
    """Whatever is not plain is read by it, from the first byte to the last."""
    content = bytes.fromhex(body)
    packet = bytes((head,)) + length_bytes(len(content)) + content
    packets = ready(packet)
    assert packets.plain_message(has_properties=has_properties) is None
    assert read_all(packets) == packet
