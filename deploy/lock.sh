#!/bin/sh
# sh deploy/lock.sh
#
# Writes the four locks anew from pyproject.toml, each with the hashes of every file of each package,
# so that one lock serves x86-64, aarch64 and 32-bit ARM:
#   requirements.lock        what the bridge needs on the board, and nothing else
#   requirements-demo.lock   that and the embedded broker
#   requirements-test.lock   that and what the tests need
#   requirements-build.lock  what turns this checkout into an installed package
# Newest releases by default; `sh deploy/lock.sh --keep` changes only what pyproject.toml demands.
set -eu

cd "$(dirname "$0")/.."
tool=$(mktemp -d)
trap 'rm -rf "$tool"' EXIT INT TERM
python3 -m venv "$tool/venv"
"$tool/venv/bin/python" -m pip --quiet --disable-pip-version-check install 'uv==0.13.9'

case "${1:-}" in
    --keep) upgrade= ;;
    '') upgrade=--upgrade ;;
    *) printf 'lampwright: unknown option %s, expected --keep or nothing\n' "$1" >&2; exit 2 ;;
esac

compile() {
    lock=$1
    shift
    UV_CUSTOM_COMPILE_COMMAND='sh deploy/lock.sh' "$tool/venv/bin/uv" pip compile --quiet $upgrade \
        --universal --generate-hashes --python-version 3.11 --no-emit-index-url \
        --no-emit-find-links "$@" --output-file "deploy/$lock"
}

# Each wider lock is held to the narrower one: the demo and the tests run what the board runs.
compile requirements.lock pyproject.toml
compile requirements-demo.lock pyproject.toml --extra demo --constraint deploy/requirements.lock
compile requirements-test.lock pyproject.toml --extra demo --extra test \
    --constraint deploy/requirements-demo.lock
compile requirements-build.lock --group build --constraint deploy/requirements-test.lock
