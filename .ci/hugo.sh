#!/usr/bin/env bash
# A Hugo that the benchmark compares with: one that is there, or the system's package.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

found() {
  command -v hugo >/dev/null && hugo version >/dev/null 2>&1
}

found || { apt_install hugo && found; } || {
  echo "No Hugo was found, and none could be installed: the benchmark leaves it out." >&2
}
