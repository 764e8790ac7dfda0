"""A broker that does not take the user: said once, what to do, and mended without a restart."""

from __future__ import annotations

import signal
import subprocess
from pathlib import Path

import pytest

from tests.conftest import StartMosquitto
from tests.end_to_end.workroom import running, until, workroom

SECRET = "gunwale-and-thwart"


def _let_in(passwords: Path, password: str) -> None:
    """Write the one user that the broker knows, with mosquitto's own command."""
    words = ["mosquitto_passwd", "-b", "-c", str(passwords), "keel", password]
    subprocess.run(words, check=True)


@pytest.mark.asyncio
async def test_a_broker_that_refuses_the_user_is_one_line_and_the_rest_works(
    tmp_path: Path, start_mosquitto: StartMosquitto, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Broker and credential by name, never the secret; tried again, ever more seldom."""
    passwords = tmp_path / "passwords"
    _let_in(passwords, "another")
    broker = start_mosquitto("allow_anonymous true", f"password_file {passwords}", "log_type all")
    monkeypatch.setenv("LAMPWRIGHT_CREDENTIAL_BOATHOUSE", f"keel:{SECRET}")
    folder = tmp_path / "room"
    folder.mkdir()
    async with workroom(folder, broker) as room:
        site = room.site / "site.yaml"
        text = site.read_text("utf-8")
        assert text.count("keep_alive:") == 1
        site.write_text(text.replace("keep_alive:", "credential: boathouse, keep_alive:"), "utf-8")
        with running(room) as bridge:
            await bridge.says("broker not reached", "not authorized")
            # A printer that is polled, and every controller, know nothing of it.
            await bridge.says("segment=shelf", "rule=idle")
            await until(lambda: all(each.shows() for each in room.places.values()), "told", bridge)
            await until(lambda: broker.log.count("not authori") >= 3, "tried again", bridge)
            (line,) = bridge.lines("broker not reached")
            for words in ("broker=shed", f"127.0.0.1:{broker.port}", "credential 'boathouse'"):
                assert words in line
            assert SECRET not in bridge.log
            _let_in(passwords, SECRET)
            broker.signal(signal.SIGHUP)
            await bridge.says("source is up", seconds=35)
            await room.kestrel("laying", laid="5 of 10 courses")
            await until(lambda: room.filled == 60, "half filled", bridge)
            assert await bridge.end() == 0
