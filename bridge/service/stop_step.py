"""The unit's stop step: leaves the lights off watch after a daemon that could not do it itself.

``python -m bridge.service.stop_step SITE``, for ``ExecStopPost=``. It uses the standard library
only, so that it starts at once, decides nothing, and ends within ten seconds whatever happens.
"""

from __future__ import annotations

import json
import mmap
import os
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final, TextIO

from bridge.errors import LampwrightError
from bridge.service.lock import AlreadyRunningError, CannotLockError, site_lock
from bridge.service.socket_path import (
    NotPrivateError,
    check_private,
    private_folder,
    socket_places,
)
from bridge.service.stop_controller import Memory, leave

#: After that it ends, whatever was not sent.
MOST_S: Final = 10.0


class UnusableError(LampwrightError):
    """What is ready cannot be read."""


def main(arguments: list[str], environment: Mapping[str, str]) -> int:
    """Send what is ready; 0 where all of it was taken, 1 where something was not, 2 for misuse."""
    if len(arguments) != 1:
        _say(sys.stderr, "usage: python -m bridge.service.stop_step SITE")
        return 2
    directory = Path(arguments[0])
    try:
        with _alone(directory):
            return _step(directory, environment)
    except AlreadyRunningError:
        _say(sys.stdout, f"{directory}: its daemon runs, nothing to do")
        return 0
    except (UnusableError, CannotLockError, NotPrivateError) as error:
        _say(sys.stderr, str(error))
        return 2 if isinstance(error, CannotLockError) else 1


@contextmanager
def _alone(directory: Path) -> Iterator[None]:
    """No daemon and no other stop step meanwhile: each would know nothing of what the other sends.

    A site that is gone cannot be run, and its lights are still there.
    """
    if not directory.is_dir():
        yield
        return
    lock = site_lock(directory)
    lock.take()
    try:
        yield
    finally:
        lock.release()


def _step(directory: Path, environment: Mapping[str, str]) -> int:
    until_s = time.monotonic() + MOST_S
    ready = _found(directory, environment)
    if ready is None:
        why = "nothing is ready, no daemon has run it or the last one left its lights off watch"
        _say(sys.stdout, f"{directory}: {why}")
        return 0
    path, controllers = ready
    failures = _leave_all(controllers, _memory(path.with_suffix(".sent")), environment, until_s)
    for name, why in failures.items():
        _say(sys.stderr, f"controller {name} is not off watch: {why}")
    if not failures:
        path.unlink(missing_ok=True)
    return 1 if failures else 0


def _leave_all(
    controllers: list[dict[str, Any]],
    memory: Memory,
    environment: Mapping[str, str],
    until_s: float,
) -> dict[str, str]:
    """All at once; returns by name which are not off watch and why."""
    results: dict[str, str] = {}

    def one(controller: dict[str, Any]) -> None:
        results[controller["name"]] = leave(controller, memory, environment, until_s)

    # Daemons, so that one that hangs in the look-up of a name does not keep the process.
    threads = [threading.Thread(target=one, args=(each,), daemon=True) for each in controllers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(max(0.0, until_s - time.monotonic()))
    late = f"was not done within {MOST_S:g} s"
    found = {each["name"]: results.get(each["name"], late) for each in controllers}
    return {name: why for name, why in found.items() if why}


def _say(stream: TextIO, line: str) -> None:
    stream.write(f"{line}\n")


def _found(
    directory: Path, environment: Mapping[str, str]
) -> tuple[Path, list[dict[str, Any]]] | None:
    for socket in socket_places(directory, environment):
        path = socket.with_suffix(".ready")
        try:
            text = path.read_text("utf-8")
        except FileNotFoundError:
            continue
        except (OSError, UnicodeDecodeError) as error:
            raise UnusableError(f"{path}: cannot be read: {error}") from None
        if path.parent == private_folder():
            # What somebody else put there could send our credentials anywhere.
            check_private(path.parent)
        try:
            controllers = json.loads(text)["controllers"]
            if all(isinstance(each["name"], str) for each in controllers):
                return path, controllers
        except (ValueError, LookupError, TypeError):
            pass
        raise UnusableError(f"{path}: is damaged: expected what a daemon writes at its start")
    return None


def _memory(path: Path) -> Memory:
    """When each slot was last used, to be read and written."""
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_CLOEXEC | os.O_NOFOLLOW)
    except OSError:
        return None
    try:
        return mmap.mmap(descriptor, 0)
    except (OSError, ValueError):  # an empty file cannot be mapped
        return None
    finally:
        os.close(descriptor)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:], os.environ))
