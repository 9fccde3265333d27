#!/usr/bin/env bash
# A PostgreSQL server for the tests, which start one of their own: its programs alone are wanted.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

there() {
  command -v postgres >/dev/null || compgen -G "/usr/lib/postgresql/*/bin/postgres" >/dev/null
}

there && exit 0
# The package would start a server of the system's own, which nobody asked for.
if [ ! -e /etc/postgresql-common/createcluster.conf ] && as_root true 2>/dev/null; then
  as_root mkdir -p /etc/postgresql-common
  echo "create_main_cluster = false" | as_root tee /etc/postgresql-common/createcluster.conf >/dev/null
fi
apt_install postgresql && there || {
  echo "No PostgreSQL was found, and none could be installed (Debian: postgresql)." >&2
  echo "Without one: CREDITS_WITHOUT_POSTGRES=1 make test" >&2
  exit 1
}
