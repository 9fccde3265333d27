#!/usr/bin/env bash
# A Chromium for the tests of the pages: one that is there, or the system's package.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

# One that starts: a package may be there that only tells people to get it elsewhere.
found() {
  for name in ${CREDITS_CHROMIUM:-} chromium chromium-browser google-chrome google-chrome-stable; do
    if command -v "$name" >/dev/null && "$name" --version >/dev/null 2>&1; then
      return 0
    fi
  done
  return 1
}

found || { apt_install chromium && found; } || {
  cat >&2 <<'MEND'
No Chromium was found, and none could be installed. The tests of the pages need one.
Install it (Debian: chromium), or name one that is elsewhere: CREDITS_CHROMIUM=/path/to/chromium.
CREDITS_WITHOUT_BROWSER=1 make test leaves those tests out.
MEND
  exit 1
}

# The program that drives it is a binary of its own, and wants a library that a bare system lacks.
drives() {
  for driver in .venv/lib/python3*/site-packages/playwright/driver/node; do
    [ ! -e "$driver" ] || "$driver" --version >/dev/null 2>&1 || return 1
  done
}

drives || { apt_install libatomic1 && drives; } || {
  echo "The browser's driver does not start. Install its library (Debian: libatomic1)." >&2
  exit 1
}
