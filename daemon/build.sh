#!/usr/bin/env bash
# build.sh PRESET [TARGET …]: configures and builds; says nothing unless it fails.
set -euo pipefail
cd "$(dirname "$(readlink -f "$0")")/.."
preset=$1
shift
log=$(mktemp)
trap 'rm -f "$log"' EXIT
targets=()
[ $# -eq 0 ] || targets=(--target "$@")
[ -d "build/$preset" ] || echo "Building $preset for the first time; this takes some minutes." >&2
if ! { cmake --preset "$preset" && cmake --build --preset "$preset" "${targets[@]}"; } >"$log" 2>&1; then
  cat "$log" >&2
  exit 1
fi
