"""The commands and what each is for, in one line; its module is imported when it is needed."""

from __future__ import annotations

from typing import Final

#: By name; the module of that name in this package adds the command's own words.
COMMANDS: Final = {
    "run": "run a site, or with --dry-run only draw what it would show",
    "check": "find what is wrong with a site",
    "provision": "put right what controllers store: segments, their own look at power-up",
    "preview": "draw scenes, in the terminal or in a picture file",
    "card": "print what the lights mean, on a page for the wall",
    "explain": "say what messages mean and what shows because of them",
    "words": "list the words that no reader maps",
    "teach": "put such a word into its reader",
    "history": "say what happened, when and why, and what it adds up to",
    "alarms": "list the alarms that stand, who is wanted, and what is held",
    "acknowledge": "say that an alarm was seen",
    "collected": "say that what a printer waits for was done",
    "reset": "end an alarm that is over and was seen",
    "shelve": "put an alarm aside for some time",
    "unshelve": "take it back before its time",
    "out-of-service": "take an alarm out of service",
    "return-to-service": "put it back in service",
    "hold": "let segments show a scene for some time, whatever the rules say",
    "release": "let the rules decide again",
    "replay": "put a recording through the same engine, with its own rules or with others",
    "demo": "an evening at a club in a minute, with everything but the hardware",
    "simulate": "printers or controllers to try a site on",
    "schema": "write JSON Schema files for editors",
    "completion": "print a shell's completion script",
}


def module_of(command: str) -> str:
    """The name of its module in this package."""
    return command.replace("-", "_")
