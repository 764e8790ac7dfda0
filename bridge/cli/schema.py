"""``lampwright schema``: JSON Schema files that let an editor know every key."""

from __future__ import annotations

import argparse
from pathlib import Path

from bridge.cli.commands import COMMANDS
from bridge.cli.to_file import CannotWriteError


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "schema",
        help=COMMANDS["schema"],
        description="Writes site.schema.json, rules.schema.json, legend.schema.json, "
        "reader.schema.json and dialect.schema.json. A first line like "
        "'# yaml-language-server: $schema=schema/site.schema.json' makes an editor use one.",
        epilog="example: lampwright schema config/schema",
    )
    parser.add_argument(
        "directory",
        metavar="DIR",
        nargs="?",
        type=Path,
        default=Path(),
        help="where to write them (default: here); made where it is missing",
    )
    parser.add_argument(
        "--reference",
        action="store_true",
        help="write no files: print every key of every file as Markdown, as in config/README.md",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Write the files and name them."""
    import json

    from bridge.settings.reference import reference
    from bridge.settings.schema import schemas

    if arguments.reference:
        print(reference(), end="")
        return 0
    directory: Path = arguments.directory
    try:
        directory.mkdir(parents=True, exist_ok=True)
        for name, schema in schemas().items():
            path = directory / f"{name}.schema.json"
            path.write_text(json.dumps(schema, indent=2, ensure_ascii=False) + "\n", "utf-8")
            print(path)
    except OSError as error:
        raise CannotWriteError(directory, error) from error
    return 0
