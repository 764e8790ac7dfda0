"""Only imports what the bridge imports, makes six models, and stays: the floor of start and rss.

The models are there because pydantic imports most of itself when the first is made.
"""

from __future__ import annotations

import asyncio
import sys
from typing import Literal

import aiohttp
import jsonpath_rfc9535
import paho.mqtt.client
import structlog
from pydantic import BaseModel, ConfigDict, Field
from ruamel.yaml import YAML

LIBRARIES = (aiohttp, jsonpath_rfc9535, paho.mqtt.client, structlog, YAML)


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Line(_Strict):
    """Where one end of a line goes."""

    url: str = Field(min_length=1)
    port: int = Field(default=1, ge=1, le=65_535)


class Page(_Strict):
    """What is read on a line."""

    line: str
    places: dict[str, str] = {}
    every_s: float | None = Field(default=None, gt=0)


class Lamp(_Strict):
    """One light."""

    line: str
    mood: Literal["calm", "lively"] = "calm"


class Wall(_Strict):
    """Lights that hang together."""

    lamps: list[Lamp] = Field(min_length=1)
    pages: list[str] = []


class Room(_Strict):
    """All of it."""

    lines: dict[str, Line]
    pages: dict[str, Page] = {}
    walls: dict[str, Wall] = {}


async def main() -> None:
    """Say that everything is there, and wait."""
    print("ready", flush=True)
    await asyncio.Event().wait()


if __name__ == "__main__":
    sys.exit(asyncio.run(main()))
