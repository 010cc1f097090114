#!/usr/bin/env bash
# Installs, builds and runs every test, with AddressSanitizer and UndefinedBehaviorSanitizer; those with
# threads in them with ThreadSanitizer too; and as released those that nothing may slow down: simulated
# evenings and random racks by the thousand. Prints what failed, what could not be tried here and why, and one
# line at the end.
set -euo pipefail
cd "$(dirname "$(readlink -f "$0")")/.."
daemon/install_packages.sh tests
log=$(mktemp)
trap 'rm -f "$log"' EXIT

tests/format.sh
passed=0
# run PRESET TARGET [ctest options]: builds the target and runs the tests.
run() {
  local preset=$1 target=$2
  shift 2
  daemon/build.sh "$preset" "$target"
  if ! ctest --preset "$preset" --parallel 2 --no-tests=error "$@" >"$log" 2>&1; then
    cat "$log"
    exit 1
  fi
  passed=$((passed + $(sed -n 's/^100% tests passed, 0 tests failed out of \([0-9]*\)$/\1/p' "$log") -
    $(grep -c '(Skipped)$' "$log" || true)))
  grep -a '^skipped: ' "build/$preset/Testing/Temporary/LastTest.log" || true
}
run asan all
run tsan threaded_tests --label-regex '^threads$'
run release many_tests --label-regex '^many$'
echo "$passed passed, 0 failed"
