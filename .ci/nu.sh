#!/usr/bin/env bash
# The Nu HTML checker (a Java program that comes as an npm package) in .tools/nu.
set -euo pipefail
source "$(dirname "$0")/packages.sh"

version=26.9.27
folder=.tools/nu
jar=$folder/node_modules/vnu-jar/build/dist/vnu.jar

give_up() {
  cat >&2 <<MEND
$1 The check of the pages' markup needs it.
Install it (Debian: default-jre-headless, npm), or name the checker: CREDITS_NU=/path/to/vnu.jar.
CREDITS_WITHOUT_NU=1 make test leaves that check out.
MEND
  exit 1
}

java -version >/dev/null 2>&1 || apt_install default-jre-headless ||
  give_up "No Java was found, and none could be installed."
[ -n "${CREDITS_NU:-}" ] && [ -f "$CREDITS_NU" ] && exit 0
[ -f "$jar" ] && [ -f "$folder/.version-$version" ] && exit 0
command -v npm >/dev/null || apt_install npm ||
  give_up "No npm was found, and none could be installed."
rm -rf "$folder"
mkdir -p "$folder"
npm install --prefix "$folder" --silent --no-save --no-audit --no-fund --ignore-scripts \
  "vnu-jar@$version" && [ -f "$jar" ] ||
  give_up "The Nu HTML checker could not be fetched."
touch "$folder/.version-$version"
