"""Only imports what the bridge imports, and stays: the floor for starting and for memory."""

from __future__ import annotations

import asyncio
import sys

import aiohttp
import jsonpath_rfc9535
import paho.mqtt.client
import pydantic
import structlog
from ruamel.yaml import YAML

LIBRARIES = (aiohttp, jsonpath_rfc9535, paho.mqtt.client, pydantic, structlog, YAML)


async def main() -> None:
    """Say that everything is there, and wait."""
    print("ready", flush=True)
    await asyncio.Event().wait()


if __name__ == "__main__":
    sys.exit(asyncio.run(main()))
