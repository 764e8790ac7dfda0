"""The table of commands is true."""

from __future__ import annotations

import argparse
from importlib import import_module

import pytest

from bridge.cli.commands import COMMANDS, module_of


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_has_a_module_that_adds_it(name: str) -> None:
    """Under its own name, with the help of the table."""
    commands = argparse.ArgumentParser().add_subparsers()
    import_module(f"bridge.cli.{module_of(name)}").add(commands)
    assert list(commands.choices) == [name]
    assert [each.help for each in commands._choices_actions] == [COMMANDS[name]]  # noqa: SLF001 - argparse tells it nowhere else
