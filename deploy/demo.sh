#!/bin/sh
# sh deploy/demo.sh [OPTION...]
#
# An evening at the club in about a minute, with nothing but Python 3.11 (with venv) and the
# package index. What it installs stays in .venv-demo of this checkout; delete that to undo it.
# Options go to `lampwright demo`; --help lists them.
set -eu

root=$(cd "$(dirname "$0")/.." && pwd)
venv=$root/.venv-demo
sh "$root/deploy/venv.sh" "$venv" "$root/deploy/requirements-demo.lock"
exec "$venv/bin/lampwright" demo "$@"
