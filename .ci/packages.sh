# Sourced by the others: bring system packages where that is possible and permitted.
cd "$(dirname "${BASH_SOURCE[0]}")/.."
mkdir -p .tools

as_root() {
  if [ "$(id -u)" = 0 ]; then
    "$@"
  else
    sudo -n "$@"
  fi
}

# apt_install PACKAGE...: false where there is no apt, no permission or no such package.
apt_install() {
  command -v apt-get >/dev/null || return 1
  as_root true 2>/dev/null || return 1
  echo "installing $* ..." >&2
  local log=.tools/apt.log
  if [ ! -e .tools/apt-updated ]; then
    as_root apt-get -q update >"$log" 2>&1 || true
    touch .tools/apt-updated
  fi
  as_root env DEBIAN_FRONTEND=noninteractive \
    apt-get -q -y -o DPkg::Lock::Timeout=300 --no-install-recommends install "$@" >>"$log" 2>&1 && return 0
  tail -n 5 "$log" >&2
  rm -f .tools/apt-updated
  return 1
}
