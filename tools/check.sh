#!/usr/bin/env bash
# Sets up everything that the tests need, in a virtual environment of its own, and runs them.
# Usage: bash tools/check.sh   (Debian or Ubuntu; elsewhere install the packages below first)
set -euo pipefail
cd "$(dirname "$0")/.."

sudo=""
[ "$(id -u)" = 0 ] || sudo=sudo

install() { # packages of the system; without fresh lists nobody knows what there is
  $sudo apt-get update -qq
  $sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@"
}

has() { dpkg -s "$1" >/dev/null 2>&1; }

get_tools() { # what only the browser tests need: nothing else waits for it
  local missing=()
  if command -v apt-get >/dev/null; then
    command -v npm >/dev/null || missing+=(npm)
    # Chromium without its windows: the browser tests take half the time with it.
    has chromium-headless-shell || missing+=(chromium-headless-shell)
    ((${#missing[@]} == 0)) || install "${missing[@]}" || install "${missing[@]/%-headless-shell/}"
  fi
  # The accessibility rules that the browser tests apply; nothing of it is shipped.
  npm install --silent --no-save --no-package-lock --no-audit --no-fund axe-core@4
}

if ! python3 -c 'import ensurepip' 2>/dev/null && command -v apt-get >/dev/null; then
  install python3-venv
fi
get_tools &
tools=$!

venv=${DRILLGEN_VENV:-.venv}
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
pip=("$venv/bin/python" -m pip --disable-pip-version-check install -qq --no-compile)
# The pip that comes with Python takes twice as long to find out which versions fit.
"${pip[@]}" --upgrade pip
# Of these packages a tenth is imported: compiling all of them takes as long as unpacking them.
"${pip[@]}" -e '.[dev]'

"$venv/bin/ruff" check .
"$venv/bin/ruff" format --check .
# Types and corpora are checked in what the tests leave of the cores.
(nice "$venv/bin/mypy" && nice "$venv/bin/python" tools/check_corpora.py >/dev/null) &
checks=$!
# Two workers on two cores: libraries that start threads of their own only get in their way.
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1
# What is compiled is kept: each worker reads all tests, and many tests start processes.
unset PYTHONDONTWRITEBYTECODE
"$venv/bin/python" -m pytest -n 2 --dist worksteal -m 'not browser'
wait "$tools"
# A browser test waits a good part of its time.
"$venv/bin/python" -m pytest -n 3 --dist worksteal -m browser tests/page tests/web
wait "$checks"
