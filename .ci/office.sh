#!/usr/bin/env bash
# A LibreOffice that fills in a day sheet for the tests: one that is there, or the system's package.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

found() {
  for name in ${CREDITS_OFFICE:-} soffice libreoffice; do
    if command -v "$name" >/dev/null && "$name" --version >/dev/null 2>&1; then
      return 0
    fi
  done
  return 1
}

found || { apt_install libreoffice-calc-nogui && found; } || {
  cat >&2 <<'MEND'
No LibreOffice was found, and none could be installed. The tests of the day sheets need one.
Install it (Debian: libreoffice-calc-nogui), or name one that is elsewhere: CREDITS_OFFICE=/path/to/soffice.
CREDITS_WITHOUT_OFFICE=1 make test leaves those tests out.
MEND
  exit 1
}
