#!/usr/bin/env bash
# What draws a page of a PDF as a picture (pdftoppm): one that is there, or the system's package.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

command -v pdftoppm >/dev/null || { apt_install poppler-utils && command -v pdftoppm >/dev/null; } || {
  echo "No pdftoppm was found, and none could be installed (Debian: poppler-utils)." >&2
  exit 1
}
