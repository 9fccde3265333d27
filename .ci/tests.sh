#!/usr/bin/env bash
# Run the tests: .ci/tests.sh PYTHON [arguments of pytest].
# They write thousands of small logs, each of them safely to the disk (fsync). Where memory can hold
# the files they are kept there, which halves the time; else they lie where files of this kind lie.
set -euo pipefail

in_memory=/dev/shm
least=$((4 * 1024 * 1024)) # kilobytes, of files and of memory
room=0
if [ -d "$in_memory" ] && [ -w "$in_memory" ]; then
  room=$(df --output=avail "$in_memory" | tail -1)
  free=$(awk '/^MemAvailable/ { print $2 }' /proc/meminfo)
  room=$((room < free - least ? room : free - least))
fi
if [ "$room" -ge "$least" ]; then
  folder=$(mktemp -d "$in_memory/credits-tests.XXXXXX")
else
  folder=$(mktemp -d)
fi
trap 'rm -rf "$folder"' EXIT
python=$1
shift
mkdir "$folder/tmp"
chmod 1777 "$folder" "$folder/tmp" # as other people's files are asked for, too
TMPDIR=$folder/tmp "$python" -m pytest --basetemp="$folder/pytest" "$@"
