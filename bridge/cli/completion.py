"""``lampwright completion``: what a shell needs to complete commands and options."""

from __future__ import annotations

import argparse
from typing import Final

from bridge.cli.commands import COMMANDS

_BASH: Final = """\
_lampwright() {{
  local word="${{COMP_WORDS[COMP_CWORD]}}" command="${{COMP_WORDS[1]}}" words found
  if [ "$COMP_CWORD" -eq 1 ]; then words="{commands}"; else
    case "$command" in
{cases}
      *) words="" ;;
    esac
  fi
  COMPREPLY=()
  while IFS= read -r found; do COMPREPLY+=("$found"); done < <(compgen -W "$words" -- "$word")
  if [ "$COMP_CWORD" -eq 1 ]; then return; fi
  case "$word" in
    -*) ;;
    *) while IFS= read -r found; do COMPREPLY+=("$found"); done < <(compgen -f -- "$word") ;;
  esac
}}
complete -o filenames -F _lampwright lampwright
"""
_ZSH: Final = """\
(( $+functions[compdef] )) || { autoload -U compinit && compinit; }
autoload -U +X bashcompinit && bashcompinit
"""
_FISH_COMMAND: Final = "complete -c lampwright -f -n __fish_use_subcommand -a {name} -d '{help}'"
_FISH_OPTION: Final = "complete -c lampwright -n '__fish_seen_subcommand_from {name}' -l {option}"


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "completion",
        help=COMMANDS["completion"],
        description="Prints a completion script made from the commands and options as they are.",
        epilog='example: eval "$(lampwright completion bash)"',
    )
    parser.add_argument("shell", choices=("bash", "zsh", "fish"))
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the script."""
    print(script(arguments.shell), end="")
    return 0


def script(shell: str) -> str:
    """The completion script for ``bash``, ``zsh`` or ``fish``."""
    options, helps = _options()
    if shell == "fish":
        lines = [_FISH_COMMAND.format(name=name, help=_quoted(helps[name])) for name in options]
        for name, words in options.items():
            longs = [word.removeprefix("--") for word in words if word.startswith("--")]
            lines += [_FISH_OPTION.format(name=name, option=word) for word in longs]
        return "\n".join(lines) + "\n"
    cases = "\n".join(f'      {name}) words="{" ".join(o)}" ;;' for name, o in options.items())
    bash = _BASH.format(commands=" ".join(options), cases=cases)
    return (_ZSH if shell == "zsh" else "") + bash


def _quoted(text: str) -> str:
    """Within fish's single quotes (fish language, "Quotes")."""
    return text.replace("\\", "\\\\").replace("'", "\\'")


def _options() -> tuple[dict[str, list[str]], dict[str, str]]:
    """Every command's options and its help, read from the parser itself."""
    from bridge.cli.main import parser

    # argparse has no public way to ask what it was told.
    actions = parser()._actions  # noqa: SLF001 - see above
    subparsers = argparse._SubParsersAction  # noqa: SLF001 - see above
    choices = next(action for action in actions if isinstance(action, subparsers))
    helps = {each.dest: str(each.help) for each in choices._choices_actions}  # noqa: SLF001 - see above
    options: dict[str, list[str]] = {}
    for name, command in choices.choices.items():
        known = command._actions  # noqa: SLF001 - see above
        options[name] = [word for action in known for word in action.option_strings]
    return options, helps
