#!/usr/bin/env bash
# A Chromium for the tests of the pages: one that is there, or the system's package. The one without
# windows does the same work in a third of the time, so it is the first choice.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

# One that starts: a package may be there that only tells people to get it elsewhere.
starts() {
  command -v "$1" >/dev/null && "$1" --version >/dev/null 2>&1
}

found() {
  for name in ${CREDITS_CHROMIUM:-} chromium-headless-shell chromium chromium-browser google-chrome google-chrome-stable; do
    if starts "$name"; then
      return 0
    fi
  done
  return 1
}

[ -n "${CREDITS_CHROMIUM:-}" ] || starts chromium-headless-shell || apt_install chromium-headless-shell || true
found || { apt_install chromium && found; } || {
  cat >&2 <<'MEND'
No Chromium was found, and none could be installed. The tests of the pages need one.
Install it (Debian: chromium-headless-shell), or name one that is elsewhere: CREDITS_CHROMIUM=/path/to/chromium.
CREDITS_WITHOUT_BROWSER=1 make test leaves those tests out.
MEND
  exit 1
}
