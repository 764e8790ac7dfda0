"""The commands and what each is for, in one line; its module is imported when it is needed."""

from __future__ import annotations

from typing import Final

#: By name; the module of that name in this package adds the command's own words.
COMMANDS: Final = {
    "run": "run a site, or with --dry-run only draw what it would show",
    "check": "find what is wrong with a site",
    "preview": "draw scenes in the terminal",
    "explain": "say what messages mean and what shows because of them",
    "history": "say what happened, when and why, and what it adds up to",
    "demo": "an evening at a club in a minute, with everything but the hardware",
    "simulate": "printers or controllers to try a site on",
    "schema": "write JSON Schema files for editors",
    "completion": "print a shell's completion script",
}
