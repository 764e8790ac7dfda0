#!/bin/sh
# sh deploy/venv.sh DIRECTORY LOCK...
#
# Makes a virtual environment at DIRECTORY that holds the locked packages and this checkout.
# Every download is held to the hashes of the locks. A second run changes nothing and takes no time;
# a changed lock, a changed version or a moved checkout brings the environment up to date.
# PYTHON names the interpreter to use, if the newest found by name is not the one wanted.
set -eu

root=$(cd "$(dirname "$0")/.." && pwd)
venv=$1
shift

fail() {
    printf 'lampwright: %s\n' "$*" >&2
    exit 2
}

new_enough() {
    "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null
}

find_python() {
    # 3.11 first: it is what the tests run on.
    for name in ${PYTHON:-python3.11 python3.12 python3.13 python3.14 python3}; do
        if command -v "$name" >/dev/null 2>&1 && new_enough "$name"; then
            printf '%s\n' "$name"
            return
        fi
    done
}

stamp_text() {
    printf '%s\n' "$root"
    cat "$@" "$root/pyproject.toml" "$root/bridge/__init__.py" | cksum
}

stamp=$venv/lampwright-stamp
wanted=$(stamp_text "$@")
if [ -x "$venv/bin/python" ] && [ "$(cat "$stamp" 2>/dev/null)" = "$wanted" ] \
    && new_enough "$venv/bin/python"; then
    exit 0
fi

if ! [ -x "$venv/bin/python" ] || ! new_enough "$venv/bin/python" \
    || ! "$venv/bin/python" -m pip --version >/dev/null 2>&1; then
    python=$(find_python)
    [ -n "$python" ] || fail "no Python 3.11 or newer under the name ${PYTHON:-python3};" \
        "install it (on Debian: apt-get install python3 python3-venv) or name it with PYTHON=..."
    "$python" -c 'import venv, ensurepip' 2>/dev/null \
        || fail "$python has no venv module; install it (on Debian: apt-get install python3-venv)"
    printf 'lampwright: making %s\n' "$venv" >&2
    "$python" -m venv --clear "$venv" || fail "$python could not make $venv"
fi

printf 'lampwright: installing the locked packages into %s\n' "$venv" >&2
rm -f "$stamp"
pip() {
    "$venv/bin/python" -m pip -qq --disable-pip-version-check install "$@"
}
# Each lock by itself, since pip takes one set of requirements at a time to be complete.
for lock in "$@" "$root/deploy/requirements-build.lock"; do
    pip --require-hashes --requirement "$lock" \
        || fail "could not install $lock; is the package index reachable?"
done
pip --no-deps --no-build-isolation --editable "$root" || fail "could not install $root"
printf '%s\n' "$wanted" >"$stamp"
