"""A broker as a source: real ones that come, go, refuse and fight; odd ones played by hand."""

from __future__ import annotations

import asyncio
import random
import signal
import subprocess
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path
from typing import Literal, TypeAlias

import pytest

from bridge.access.credentials import Credentials
from bridge.engine.events import Heard, SourceLost, SourceUp, TooLarge
from bridge.engine.site import Broker
from bridge.sources import mqtt
from bridge.sources.mqtt import MqttSource, bound_s
from tests.conftest import Certificates, Mosquitto, Recorder, StartMosquitto
from tests.serving import speaking
from tests.sources.brokers import FIVE, THREE, OddBroker

Protocol: TypeAlias = Literal["auto", "5", "3.1.1"]

pytestmark = pytest.mark.asyncio


class Eager(random.Random):
    """A jitter that hardly waits: the waits themselves are tried as numbers."""

    def uniform(self, a: float, b: float) -> float:
        """A hundredth of a second, where that is allowed."""
        return min(max(a, 0.01), b)


@asynccontextmanager
async def running(
    broker: Broker,
    recorder: Recorder,
    filters: Sequence[str] = ("bench/#",),
    *,
    credentials: Credentials | None = None,
    client_id: str = "lampwright",
) -> AsyncIterator[MqttSource]:
    """A source that runs until the end of the block."""
    source = MqttSource(
        broker,
        filters,
        recorder.feed,
        recorder.clock,
        credentials or Credentials({}),
        recorder.note,
        Eager(),
        client_id,
    )
    task = asyncio.create_task(source.run())
    try:
        yield source
    finally:
        assert not task.done(), "a source runs until it is cancelled"
        task.cancel()
        await asyncio.wait({task})


def at(port: int, host: str = "127.0.0.1") -> Broker:
    """A broker called bench."""
    return Broker("bench", host, port)


def port_of(url: str) -> int:
    """The port at the end of an address."""
    return int(url.rpartition(":")[2])


async def until_up(recorder: Recorder, count: int = 1) -> None:
    """Until the source was up so many times."""
    await recorder.until(lambda: len(recorder.of(SourceUp)) >= count)


# What is heard.


async def test_it_hears_what_is_published(mosquitto: Mosquitto, recorder: Recorder) -> None:
    """Topic, bytes and the retained mark arrive as they were sent, none before the source is up."""
    mosquitto.publish("bench/1/phase", b"RESTING", "-r")
    async with running(at(mosquitto.port), recorder):
        await until_up(recorder)
        await recorder.until(lambda: recorder.of(Heard))
        mosquitto.publish("bench/1/phase", b"LAYING", "-r")
        mosquitto.publish("bench/1/done", b"\xff\x00 not text")
        await recorder.until(lambda: len(recorder.of(Heard)) == 3)
    assert recorder.events == [
        SourceUp("bench"),
        Heard("bench", "bench/1/phase", b"RESTING", retained=True),
        Heard("bench", "bench/1/phase", b"LAYING"),
        Heard("bench", "bench/1/done", b"\xff\x00 not text"),
    ]
    assert [moment.ms for moment in recorder.moments] == sorted(
        moment.ms for moment in recorder.moments
    )


async def test_an_empty_retained_message_is_heard(mosquitto: Mosquitto, recorder: Recorder) -> None:
    """Clearing a topic is news: what was known of it is not known any more."""
    async with running(at(mosquitto.port), recorder):
        await until_up(recorder)
        mosquitto.publish("bench/1/phase", b"", "-r")
        await recorder.until(lambda: recorder.of(Heard))
    assert recorder.of(Heard) == [Heard("bench", "bench/1/phase", b"")]


async def test_many_filters_and_many_retained_messages(
    mosquitto: Mosquitto, recorder: Recorder
) -> None:
    """Subscriptions in several packets: nothing is lost or heard twice, and it is up once."""
    topics = [f"bench/{number}/phase" for number in range(120)]
    for topic in topics[::10]:
        mosquitto.publish(topic, topic.encode(), "-r")
    async with running(at(mosquitto.port), recorder, topics):
        await recorder.until(lambda: len(recorder.of(Heard)) >= 12)
        mosquitto.publish("bench/119/phase", b"last")
        await recorder.until(lambda: len(recorder.of(Heard)) >= 13)
    assert recorder.events[0] == SourceUp("bench")
    assert len(recorder.of(SourceUp)) == 1
    heard = [event.address for event in recorder.of(Heard) if isinstance(event, Heard)]
    assert heard == [*topics[::10], "bench/119/phase"]


async def test_a_message_of_ten_mebibytes_is_told_without_its_body(
    mosquitto: Mosquitto, recorder: Recorder
) -> None:
    """That it came is heard, and what comes after it; the largest that fits arrives."""
    async with running(at(mosquitto.port), recorder):
        await until_up(recorder)
        mosquitto.publish("bench/huge", bytes(10 * 1024 * 1024))
        mosquitto.publish("bench/large", bytes(1024 * 1024 - 100))
        mosquitto.publish("bench/small", b"RESTING")
        await recorder.until(lambda: len(recorder.of(Heard)) == 2)
    heard = [event.address for event in recorder.of(Heard) if isinstance(event, Heard)]
    assert heard == ["bench/large", "bench/small"]
    (too_large,) = recorder.of(TooLarge)
    packet_bytes = 2 + len("bench/huge") + 1 + 10 * 1024 * 1024
    assert too_large == TooLarge("bench", "bench/huge", packet_bytes)


async def test_it_publishes_what_makes_printers_speak(
    mosquitto: Mosquitto, recorder: Recorder
) -> None:
    """A publish reaches the broker; without a connection it is left out, and said so."""
    async with running(at(mosquitto.port), recorder) as source:
        source.publish("bench/ask", b"early")
        await until_up(recorder)
        source.publish("bench/ask", b"report")
        await recorder.until(lambda: recorder.of(Heard))
    assert recorder.of(Heard) == [Heard("bench", "bench/ask", b"report")]
    assert len(recorder.noted("not published, the broker is away")) == 1


# Coming and going.


async def test_a_broker_that_is_absent_at_start(
    start_mosquitto: StartMosquitto, free_port: int, recorder: Recorder
) -> None:
    """One line however often it is tried, lost once, and up when it comes."""
    async with running(at(free_port), recorder):
        await recorder.until(lambda: recorder.notes)
        await asyncio.sleep(0.2)
        start_mosquitto("allow_anonymous true")
        await until_up(recorder)
    assert recorder.events == [SourceLost("bench", "connection refused"), SourceUp("bench")]
    assert [note.event for note in recorder.notes] == ["broker not reached", "broker subscribed"]
    assert recorder.notes[0].fields["why"] == "connection refused"
    assert recorder.notes[0].fields["address"] == f"127.0.0.1:{free_port}"


async def test_a_broker_that_dies_and_returns(mosquitto: Mosquitto, recorder: Recorder) -> None:
    """Lost once, subscribed again, and heard again, with nobody touching anything."""
    async with running(at(mosquitto.port), recorder):
        await until_up(recorder)
        mosquitto.stop()
        await recorder.until(lambda: recorder.of(SourceLost))
        await asyncio.sleep(0.2)
        mosquitto.start()
        await until_up(recorder, 2)
        mosquitto.publish("bench/1/phase", b"RESTING")
        await recorder.until(lambda: recorder.of(Heard))
    kinds = [type(event) for event in recorder.events]
    assert kinds == [SourceUp, SourceLost, SourceUp, Heard]
    assert [note.event for note in recorder.notes] == [
        "broker subscribed",
        "broker lost",
        "broker not reached",
        "broker subscribed",
    ]


async def test_a_broker_that_freezes(start_mosquitto: StartMosquitto, recorder: Recorder) -> None:
    """A connection on which nothing comes is lost after one and a half keep-alives."""
    frozen = start_mosquitto("allow_anonymous true")
    async with running(replace(at(frozen.port), keep_alive_s=1), recorder):
        await until_up(recorder)
        await asyncio.sleep(2)
        assert recorder.of(SourceLost) == []
        frozen.signal(signal.SIGSTOP)
        try:
            await recorder.until(lambda: recorder.of(SourceLost), seconds=4)
        finally:
            frozen.signal(signal.SIGCONT)
        await until_up(recorder, 2)
    (lost,) = recorder.of(SourceLost)
    assert isinstance(lost, SourceLost)
    assert lost.why.startswith("nothing was heard from it for ")


async def test_it_takes_leave_properly(start_mosquitto: StartMosquitto, recorder: Recorder) -> None:
    """A source that is stopped disconnects: the broker's log has no lost connection."""
    broker = start_mosquitto("allow_anonymous true", "log_type all")
    async with running(at(broker.port), recorder):
        await until_up(recorder)
    await recorder.until(lambda: "Received DISCONNECT from lampwright" in broker.log)


@pytest.mark.parametrize(
    ("failures", "seconds"), [(1, 1), (2, 2), (3, 4), (5, 16), (6, 30), (7, 30), (10_000, 30)]
)
async def test_waits_double_up_to_a_bound(failures: int, seconds: float) -> None:
    """The bound from which each wait is drawn, from 0."""
    assert bound_s(failures) == seconds


# Versions.


@pytest.mark.parametrize(("protocol", "spoken"), [("auto", "5"), ("5", "5"), ("3.1.1", "3.1.1")])
async def test_the_version_that_is_spoken(
    start_mosquitto: StartMosquitto, recorder: Recorder, protocol: Protocol, spoken: str
) -> None:
    """MQTT 5 where nothing else is asked for, with a clean session and no will."""
    broker = start_mosquitto("allow_anonymous true", "log_type all")
    async with running(replace(at(broker.port), protocol=protocol), recorder):
        await until_up(recorder)
    number = {"5": 5, "3.1.1": 2}[spoken]
    assert f"as lampwright (p{number}, c1, k30)" in broker.log
    assert "No will message specified" in broker.log
    assert recorder.noted("broker subscribed")[0].fields["mqtt"] == spoken


@pytest.mark.parametrize("answer", [1, None])
async def test_it_falls_back_to_the_older_version(recorder: Recorder, answer: int | None) -> None:
    """Whether an old broker refuses MQTT 5 or hangs up on it, 3.1.1 follows without a wait."""
    old = OddBroker(connack={FIVE: answer})
    async with speaking(old) as (url, _), running(at(port_of(url)), recorder):
        await until_up(recorder)
    assert old.levels == [FIVE, THREE]
    assert recorder.events == [SourceUp("bench")]
    assert [note.event for note in recorder.notes if note.level != "debug"] == ["broker subscribed"]


async def test_a_broker_that_refuses_both_versions(recorder: Recorder) -> None:
    """It is tried again with both, and said once."""
    stubborn = OddBroker(connack={FIVE: 1, THREE: 1})
    async with speaking(stubborn) as (url, _), running(at(port_of(url)), recorder):
        await recorder.until(lambda: len(stubborn.levels) >= 6)
    assert stubborn.levels[:4] == [FIVE, THREE, FIVE, THREE]
    assert len(recorder.of(SourceLost)) == 1
    assert len(recorder.noted("broker not reached")) == 1


# Refusals, one line each.


async def test_a_topic_that_is_refused(recorder: Recorder) -> None:
    """The line names the filter, and the others go on."""
    strict = OddBroker(refused=("bench/2/#",))
    filters = ["bench/1/#", "bench/2/#"]
    async with speaking(strict) as (url, _), running(at(port_of(url)), recorder, filters):
        await until_up(recorder)
    (note,) = recorder.noted("topic refused")
    assert note.level == "error"
    assert note.fields["topic"] == "bench/2/#"


@pytest.fixture
def guarded(start_mosquitto: StartMosquitto, tmp_path: Path) -> Mosquitto:
    """A broker that knows one user."""
    words = ["mosquitto_passwd", "-b", "-c", str(tmp_path / "passwords"), "keel", "plum:3"]
    subprocess.run(words, check=True)
    return start_mosquitto(
        "allow_anonymous false", f"password_file {tmp_path / 'passwords'}", "log_type all"
    )


async def test_user_and_password(guarded: Mosquitto, recorder: Recorder) -> None:
    """The credential opens the broker."""
    credentials = Credentials({"LAMPWRIGHT_CREDENTIAL_BROKER": "keel:plum:3"})
    broker = replace(at(guarded.port), credential="broker")
    async with running(broker, recorder, credentials=credentials):
        await until_up(recorder)


@pytest.mark.parametrize("protocol", ["auto", "3.1.1"])
async def test_a_wrong_password(guarded: Mosquitto, recorder: Recorder, protocol: Protocol) -> None:
    """Tried again and again, said once, with what to do and without the password."""
    credentials = Credentials({"LAMPWRIGHT_CREDENTIAL_BROKER": "keel:gunwale"})
    broker = replace(at(guarded.port), credential="broker", protocol=protocol)
    async with running(broker, recorder, credentials=credentials):
        await recorder.until(lambda: guarded.log.count("not authori") >= 3)
    (note,) = [note for note in recorder.notes if note.level == "error"]
    assert note.event == "broker not reached"
    assert note.fields["why"] == "the broker refused the connection: not authorized"
    assert "the credential 'broker'" in str(note.fields["remedy"])
    assert "gunwale" not in repr(recorder)


async def test_nobody_without_a_password(guarded: Mosquitto, recorder: Recorder) -> None:
    """The remedy is to name a credential, not to check one that there is not."""
    async with running(at(guarded.port), recorder):
        await recorder.until(lambda: recorder.noted("broker not reached"))
    (note,) = recorder.noted("broker not reached")
    assert str(note.fields["remedy"]).startswith("name a credential for this broker")


async def test_a_missing_credential(guarded: Mosquitto, recorder: Recorder) -> None:
    """Said like any other reason, and nobody is bothered with a connection meanwhile."""
    broker = replace(at(guarded.port), credential="broker")
    async with running(broker, recorder):
        await recorder.until(lambda: recorder.notes)
    assert "LAMPWRIGHT_CREDENTIAL_BROKER" in str(recorder.notes[0].fields["why"])
    assert "as lampwright" not in guarded.log


@pytest.mark.parametrize("host", ["nowhere.invalid", "a..b", "x" * 70])
async def test_a_host_that_is_not_found(recorder: Recorder, host: str) -> None:
    """One line, whether the name is unknown or could never be one."""
    async with running(at(1883, host), recorder):
        await recorder.until(lambda: recorder.notes)
    why = str(recorder.notes[0].fields["why"])
    assert "host of that name" in why or "cannot be looked up now" in why


async def test_a_port_that_never_answers(
    recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A peer that takes the connection and says nothing is given up."""
    monkeypatch.setattr(mqtt, "ANSWER_TIMEOUT_S", 0.1)

    async def mute(_peer: object, reader: asyncio.StreamReader, _writer: object) -> None:
        await reader.read()

    async with speaking(mute) as (url, peer), running(at(port_of(url)), recorder):
        await recorder.until(lambda: peer.connections >= 3)
    (note,) = recorder.noted("broker not reached")
    assert str(note.fields["why"]).startswith("the broker did not answer within")


async def test_a_port_that_is_not_a_brokers(recorder: Recorder) -> None:
    """What a web server says to a CONNECT ends in one line as well."""

    async def web(
        _peer: object, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        await reader.read(10)
        writer.write(b"HTTP/1.1 400 Bad Request\r\nContent-Length: 0\r\n\r\n")

    async with speaking(web) as (url, peer), running(at(port_of(url)), recorder):
        await recorder.until(lambda: peer.connections >= 6)
    (note,) = recorder.noted("broker not reached")
    assert "check that the port is the broker's" in str(note.fields["remedy"])


# Two processes with one client id.


@pytest.mark.parametrize("protocol", ["auto", "3.1.1"])
async def test_two_processes_with_one_client_id(
    mosquitto: Mosquitto, recorder: Recorder, protocol: Protocol
) -> None:
    """They push each other out; each says so in one line and tells what to do."""
    broker = replace(at(mosquitto.port), protocol=protocol)
    other = Recorder()
    async with running(broker, recorder):
        await until_up(recorder)
        async with running(broker, other):
            await recorder.until(lambda: len(recorder.of(SourceUp)) >= 8)
    lines = recorder.noted("client id in use") + other.noted("client id in use")
    assert 1 <= len(lines) <= 2
    assert len(recorder.noted("client id in use")) == 1
    assert "connected as 'lampwright'" in str(lines[0].fields["why"])
    assert "client id of its own" in str(lines[0].fields["remedy"])
    assert [note.event for note in recorder.notes] == [
        "broker subscribed",
        "broker lost",
        "client id in use",
    ]


async def test_a_broker_that_says_we_were_pushed_out(recorder: Recorder) -> None:
    """MQTT 5 has a reason for it (142): then one loss is enough to know, and it is said once."""
    fair = OddBroker(parting=b"\xe0\x01\x8e")
    async with speaking(fair) as (url, _), running(at(port_of(url)), recorder):
        await until_up(recorder, 4)
    assert [note.event for note in recorder.notes] == ["broker subscribed", "client id in use"]
    assert str(recorder.notes[1].fields["why"]).startswith("another process has connected")


# TLS.


def guarded_by_tls(certificates: Certificates, *more: str) -> tuple[str, ...]:
    """A broker's lines for TLS with the certificate that the authority issued."""
    files = (f"certfile {certificates.server}", f"keyfile {certificates.server_key}")
    return ("allow_anonymous true", *files, *more)


async def test_tls_with_an_authority(
    start_mosquitto: StartMosquitto, certificates: Certificates, recorder: Recorder
) -> None:
    """A broker whose issuer is named in the settings is trusted; many messages come through."""
    broker = start_mosquitto(*guarded_by_tls(certificates))
    settings = replace(at(broker.port), tls=True, ca_file=str(certificates.authority))
    async with running(settings, recorder) as source:
        await until_up(recorder)
        for number in range(300):
            source.publish("bench/1/done", b"%d" % number * 100)
        await recorder.until(lambda: len(recorder.of(Heard)) == 300)


async def test_tls_with_a_pinned_certificate(
    start_mosquitto: StartMosquitto, certificates: Certificates, recorder: Recorder
) -> None:
    """A self-signed certificate is trusted by its fingerprint alone."""
    files = (f"certfile {certificates.lone}", f"keyfile {certificates.lone_key}")
    broker = start_mosquitto("allow_anonymous true", *files)
    settings = replace(at(broker.port), tls=True, pinned=certificates.lone_pin)
    async with running(settings, recorder):
        await until_up(recorder)


async def test_tls_with_a_client_certificate(
    start_mosquitto: StartMosquitto, certificates: Certificates, recorder: Recorder
) -> None:
    """A broker that wants to know who we are is shown our certificate."""
    wanted = ("require_certificate true", f"cafile {certificates.authority}")
    broker = start_mosquitto(*guarded_by_tls(certificates, *wanted))
    settings = replace(
        at(broker.port),
        tls=True,
        ca_file=str(certificates.authority),
        client_certificate=str(certificates.client),
    )
    async with running(settings, recorder):
        await until_up(recorder)


@pytest.mark.parametrize(
    ("change", "why", "remedy"),
    [
        ({}, "its certificate is not trusted", "ca_file"),
        ({"pinned": "00" * 32}, "its certificate is not the pinned one", "None"),
        ({"pinned": "a1:b2"}, "expected 64 hexadecimal digits", "None"),
        ({"ca_file": "/nowhere.pem"}, "ca_file /nowhere.pem cannot be read", "None"),
    ],
)
async def test_tls_that_is_not_trusted(
    start_mosquitto: StartMosquitto,
    certificates: Certificates,
    recorder: Recorder,
    change: dict[str, str],
    why: str,
    remedy: str,
) -> None:
    """No word of ours goes to a peer that is not the one meant; one line says why."""
    broker = start_mosquitto(*guarded_by_tls(certificates), "log_type all")
    settings = replace(at(broker.port), tls=True, **change)  # type: ignore[arg-type]
    async with running(settings, recorder):
        await recorder.until(lambda: recorder.notes)
        await asyncio.sleep(0.1)
    (note,) = [note for note in recorder.notes if note.level == "error"]
    assert why in str(note.fields["why"])
    assert remedy in str(note.fields.get("remedy"))
    assert "as lampwright" not in broker.log


async def test_a_name_that_the_certificate_does_not_have(
    start_mosquitto: StartMosquitto, certificates: Certificates, recorder: Recorder
) -> None:
    """A trusted issuer is not enough: the name counts."""
    broker = start_mosquitto(*guarded_by_tls(certificates))
    settings = replace(at(broker.port), tls=True, ca_file=str(certificates.authority))
    async with running(replace(settings, host="127.0.0.2"), recorder):
        await recorder.until(lambda: recorder.notes)
    assert "connection refused" in str(recorder.notes[0].fields["why"])


async def test_a_client_certificate_that_is_wanted_and_missing(
    start_mosquitto: StartMosquitto, certificates: Certificates, recorder: Recorder
) -> None:
    """The broker's alert may be lost behind its reset (TLS 1.3); either line says what to do."""
    wanted = ("require_certificate true", f"cafile {certificates.authority}")
    broker = start_mosquitto(*guarded_by_tls(certificates, *wanted))
    settings = replace(at(broker.port), tls=True, ca_file=str(certificates.authority))
    async with running(settings, recorder):
        await recorder.until(lambda: recorder.notes)
        await asyncio.sleep(0.1)
    (note, *_) = [note for note in recorder.notes if note.level == "error"]
    assert "certificate" in str(note.fields["remedy"])


async def test_tls_to_a_port_without(mosquitto: Mosquitto, recorder: Recorder) -> None:
    """The commonest mistake with ports."""
    async with running(replace(at(mosquitto.port), tls=True), recorder):
        await recorder.until(lambda: recorder.notes)
    assert recorder.notes[0].level == "error"


async def test_no_tls_to_a_port_with(
    start_mosquitto: StartMosquitto, certificates: Certificates, recorder: Recorder
) -> None:
    """And the other way round: the line says to look at TLS."""
    broker = start_mosquitto(*guarded_by_tls(certificates))
    async with running(at(broker.port), recorder):
        await recorder.until(lambda: recorder.noted("broker not reached"))
    assert "TLS" in str(recorder.noted("broker not reached")[0].fields["remedy"])
