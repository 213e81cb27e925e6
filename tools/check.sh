#!/usr/bin/env bash
# Sets up everything that the tests need, in a virtual environment of its own, and runs them.
# Usage: bash tools/check.sh   (Debian or Ubuntu; elsewhere install the packages below first)
set -euo pipefail
cd "$(dirname "$0")/.."

packages=(python3-venv poppler-utils)
# Chromium without its windows: the browser tests take half the time with it.
if apt-cache show chromium-headless-shell >/dev/null 2>&1; then
  packages+=(chromium-headless-shell)
else
  packages+=(chromium)
fi
command -v npm >/dev/null || packages+=(npm)
if command -v apt-get >/dev/null; then
  missing=()
  for package in "${packages[@]}"; do
    dpkg -s "$package" >/dev/null 2>&1 || missing+=("$package")
  done
  if ((${#missing[@]})); then
    sudo=""
    [ "$(id -u)" = 0 ] || sudo=sudo
    $sudo apt-get update -qq
    $sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}"
  fi
fi

# The accessibility rules that the browser tests apply; nothing of it is shipped.
npm install --silent --no-save --no-package-lock --no-audit --no-fund axe-core@4 &
rules=$!
venv=${DRILLGEN_VENV:-.venv}
[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
# Of these packages a tenth is imported: compiling all of them takes as long as unpacking them.
"$venv/bin/python" -m pip install --quiet --disable-pip-version-check --no-compile -e '.[dev]'
wait "$rules"

"$venv/bin/ruff" check .
"$venv/bin/ruff" format --check .
# Two workers on two cores: libraries that start threads of their own only get in their way.
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1
# What is compiled is kept: each worker reads all tests, and many tests start processes.
unset PYTHONDONTWRITEBYTECODE
"$venv/bin/python" -m pytest -n 2 --dist worksteal -m 'not browser'
# A browser test waits a good part of its time: types and corpora are checked meanwhile.
("$venv/bin/mypy" && "$venv/bin/python" tools/check_corpora.py >/dev/null) &
checks=$!
"$venv/bin/python" -m pytest -n 3 --dist worksteal -m browser tests/page tests/web
wait "$checks"
