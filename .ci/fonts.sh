#!/usr/bin/env bash
# Fonts for the scripts that names are written in. Pictures of pages want them; tests do not.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

fonts=$(fc-list 2>/dev/null || true)
case $fonts in
  *NotoSansCJK*NotoSansThai* | *NotoSansThai*NotoSansCJK*) exit 0 ;;
esac
apt_install fontconfig fonts-noto-core fonts-noto-cjk ||
  echo "Without the Noto fonts some names show as boxes (Debian: fonts-noto-core, fonts-noto-cjk)." >&2
