#!/bin/sh
# sh tests/run.sh
#
# Installs what is missing, then lint, contracts, types, a short campaign and the tests: the quick
# looks first, and the first that fails ends the run. Needs Python 3.11 (with venv) and the package
# index; fetches mosquitto and an IPP printer through apt-get where there is none.
set -eu

root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"

as_root() {
    if [ "$(id -u)" = 0 ]; then
        "$@"
    elif command -v sudo >/dev/null 2>&1; then
        sudo "$@"
    else
        printf 'lampwright: not root and no sudo; as root, run: %s\n' "$*" >&2
        exit 2
    fi
}

step() {
    printf '\n== %s\n' "$1"
    shift
    "$@" || {
        printf '\n%s failed\n0 passed, 1 failed\n' "$*"
        exit 1
    }
}

# Debian keeps it outside the path of an ordinary user.
PATH=$PATH:/usr/sbin:/usr/local/sbin
if ! command -v mosquitto >/dev/null 2>&1; then
    command -v apt-get >/dev/null 2>&1 || {
        printf 'lampwright: the tests need the broker mosquitto; install it by hand\n' >&2
        exit 2
    }
    as_root apt-get update -qq
    as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq mosquitto mosquitto-clients
fi

# A real IPP printer, and the bus that it insists on; without them its two tests are skipped.
if ! command -v ippeveprinter >/dev/null 2>&1 || ! command -v dbus-daemon >/dev/null 2>&1; then
    if command -v apt-get >/dev/null 2>&1 &&
        { [ "$(id -u)" = 0 ] || command -v sudo >/dev/null 2>&1; }; then
        as_root apt-get update -qq || true
        as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq \
            --no-install-recommends cups-ipp-utils dbus || true
    fi
fi

sh deploy/venv.sh "$root/.venv" deploy/requirements-test.lock
PATH=$root/.venv/bin:$PATH
export PATH

step 'lint' ruff check .
step 'format' ruff format --check .
step 'contracts' lint-imports --no-cache
step 'types' mypy
# It takes about 20 s; a campaign that never ends is a failure too.
step 'campaign' timeout 180 python -m tests.campaign --smoke
printf '\n== tests\n'
# Two at a time, a file's tests one after the other; closes with its own line.
exec python -m pytest -n 2 --dist loadfile --cov --cov-report=term
