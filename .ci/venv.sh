#!/usr/bin/env bash
# venv.sh FOLDER: a virtual environment of a Python that is new enough.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

new_enough() {
  for name in ${PYTHON:-} python3 python3.14 python3.13 python3.12 python3.11; do
    if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      echo "$name"
      return 0
    fi
  done
  return 1
}

python=$(new_enough) || { apt_install python3 && python=$(new_enough); } || {
  echo "Python 3.11 or newer is needed. Install it, or name it: make PYTHON=/path/to/python3" >&2
  exit 1
}
"$python" -c 'import ensurepip, venv' 2>/dev/null || apt_install python3-venv || {
  echo "$python has no venv module. Install it (Debian: python3-venv)." >&2
  exit 1
}
"$python" -m venv --clear "$1"
