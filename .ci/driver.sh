#!/usr/bin/env bash
# What drives the browser starts: it comes with a library of the virtual environment.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

# It is a binary of its own, and wants a library that a bare system lacks.
drives() {
  for driver in .venv/lib/python3*/site-packages/playwright/driver/node; do
    [ ! -e "$driver" ] || "$driver" --version >/dev/null 2>&1 || return 1
  done
}

drives || { apt_install libatomic1 && drives; } || {
  echo "The browser's driver does not start. Install its library (Debian: libatomic1)." >&2
  exit 1
}
