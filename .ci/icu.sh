#!/usr/bin/env bash
# ICU for the order of names of a language: Debian's build of its library where the Python fits it,
# else the library built here, which takes a minute or two.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

python="$1"
place=.tools/icu

there() { "$python" -c "import icu; icu.AlphabeticIndex" 2>/dev/null; }

# Only its own files are looked at: what else Debian has for its Python is not for this one.
of_debian() {
  apt_install python3-icu || return 1
  rm -rf "$place" && mkdir -p "$place"
  dpkg -L python3-icu | sed -n 's|^/usr/lib/python3/dist-packages/||p' |
    tar -C /usr/lib/python3/dist-packages --no-recursion -T - -cf - | tar -C "$place" -xf -
  PYTHONPATH="$PWD/$place" there || return 1
  echo "$PWD/$place" >"$("$python" -c "import sysconfig; print(sysconfig.get_path('purelib'))")/icu.pth"
}

built_here() {
  apt_install libicu-dev pkg-config g++ &&
    "$python" -m pip --quiet --disable-pip-version-check install --constraint constraints.txt pyicu
}

# Another implementation of the same orders, which the tests compare with, comes with Perl.
perl -MUnicode::Collate::Locale -e 1 2>/dev/null || apt_install perl || true

there && exit 0
of_debian 2>/dev/null || built_here || true
there || {
  echo "ICU's library for Python (PyICU) was not found, and could not be installed." >&2
  echo "Without it: CREDITS_WITHOUT_ICU=1 make test" >&2
  exit 1
}
