"""Visiting the controllers of a site that no daemon runs, within their limits."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from pathlib import Path

import aiohttp
from yarl import URL

from bridge.access.attempt import Attempt
from bridge.access.credentials import Credentials
from bridge.access.failure import AccessError
from bridge.access.http import Session, failure_of_client
from bridge.check.visit import Question, Reply, Visit, Visiting
from bridge.controllers.http import MOST_REPLY_BYTES
from bridge.engine.site import Site
from bridge.errors import LampwrightError
from bridge.service.lock import site_lock


class DaemonRunsError(LampwrightError):
    """All requests of a running site are its daemon's."""

    def __init__(self, directory: Path, instead: str) -> None:
        super().__init__(
            f"{directory}: a daemon runs this site, and all requests to its controllers are the "
            f"daemon's; {instead}"
        )


def take_site(directory: Path, instead: str) -> None:
    """Refuse while a daemon runs the site; raises ``DaemonRunsError``."""
    if site_lock(directory).held_elsewhere():
        raise DaemonRunsError(directory, instead)


async def visit_all(site: Site, environment: Mapping[str, str]) -> list[Visit]:
    """Every controller, all at once, and nothing changed."""
    visiting = [Visiting(site, each) for each in site.controllers.values()]
    return list(await asyncio.gather(*(_visit(each, environment) for each in visiting)))


async def _visit(visiting: Visiting, environment: Mapping[str, str]) -> Visit:
    return visiting.judged(await ask(visiting, visiting.questions(), environment))


async def ask(
    visiting: Visiting, questions: Sequence[Question], environment: Mapping[str, str]
) -> list[tuple[Question, Reply]]:
    """One request after the other, as slowly as the controller bears; it ends at a silence."""
    controller, limits = visiting.controller, visiting.dialect.limits
    # What was sent in the last moments is not known: the first waits a whole window too.
    pause_s = limits.window_ms / 1000 / limits.requests if limits.requests else 0.0
    await asyncio.sleep(limits.window_ms / 1000 if limits.requests else 0.0)
    replies: list[tuple[Question, Reply]] = []
    try:
        session = Session(
            controller.access,
            Credentials(environment),
            tls=controller.url.startswith("https:"),
        )
    except AccessError as error:
        return [(question, Reply(failure=str(error))) for question in questions[:1]]
    try:
        for question in questions:
            reply = await _exchange(session, controller.url, question, limits.timeout_ms)
            replies.append((question, reply))
            if reply.failure:
                break
            await asyncio.sleep(pause_s)
    finally:
        await session.close()
    return replies


async def _exchange(session: Session, url: str, question: Question, timeout_ms: int) -> Reply:
    prepared, loop = question.prepared, asyncio.get_running_loop()
    began = loop.time()
    try:
        reply = await session.exchange(
            prepared.method,
            URL(url + prepared.path, encoded=True),
            body=prepared.body,
            headers=prepared.headers,
            timeout_ms=timeout_ms,
            attempt=Attempt(),
            most_bytes=MOST_REPLY_BYTES,
        )
    except AccessError as error:
        return Reply(failure=str(error))
    except aiohttp.ClientError as error:
        return Reply(failure=failure_of_client(error).why)
    except TimeoutError:
        return Reply(failure=f"no answer within {timeout_ms} ms")
    if reply.body is None:
        return Reply(failure=f"answered with more than {MOST_REPLY_BYTES} bytes")
    return Reply(reply.status, reply.body, round((loop.time() - began) * 1000))
