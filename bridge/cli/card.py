"""``lampwright card``: what the lights mean, on a page for the wall."""

from __future__ import annotations

import argparse
from pathlib import Path

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.one_line import one_line

_ENDINGS = (".html", ".svg")
_PAPERS = ("a4", "letter")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "card",
        help=COMMANDS["card"],
        description="Prints a page for the wall: every scene that the site can show, the gravest "
        "first, what it looks like, what it means and what to do. It can be read in grey, too.",
        epilog="example: lampwright card config --to card.html",
    )
    add_site(parser)
    parser.add_argument(
        "--to",
        metavar="FILE",
        type=Path,
        help="write it to a file that ends in .html or .svg (default: HTML to standard output)",
    )
    parser.add_argument(
        "--paper", choices=_PAPERS, default="a4", help="what it is printed on (default a4)"
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print it, or write it."""
    from bridge.check.meanings import meanings_of
    from bridge.cli.card_page import card_page
    from bridge.cli.card_picture import card_picture
    from bridge.cli.to_file import ending_of, write
    from bridge.scenes.picture import svg
    from bridge.settings.load import load_site

    ending = ".html" if arguments.to is None else ending_of(arguments.to, _ENDINGS)
    meanings = meanings_of(load_site(site_directory(arguments.site)))
    if ending == ".html":
        card = card_page(meanings, arguments.paper)
    else:
        card = svg(card_picture(meanings, arguments.paper))
    if arguments.to is None:
        print(card, end="")
    else:
        write(arguments.to, card.encode())
        print(one_line(str(arguments.to)))
    return 0
