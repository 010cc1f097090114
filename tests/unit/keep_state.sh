#!/usr/bin/env bash
# keep_state.sh FOLDER: keeps the state folder of the demo's bench rack, as the programs in build/release leave
# it when they are killed in the middle of a switch: settings that are wanted, alarms, a tick, an end of the
# journal that is still in its log. To be run once before file_format is raised, for tests/unit/kept_states:
# what is kept there is never made anew.
set -euo pipefail
cd "$(dirname "$(readlink -f "$0")")/../.."
folder=$(mktemp -d)
daemon=
trap '[ -z "$daemon" ] || kill -KILL "$daemon" 2>/dev/null || true; rm -rf "$folder"' EXIT
ask() { build/release/daemon/cli/catwalk --server "unix:$folder/socket" "$@"; }
# The whole bench, on lines that are never disturbed, so that every kept state goes as far.
sed -E 's/"(loss|corrupt|duplicate)": [0-9.]+/"\1": 0/' config/demo/bench.rack.json >config/demo/kept.rack.json
build/release/daemon/catwalkd --state-dir "$folder/state" --port 0 --socket "$folder/socket" \
  config/demo/kept.rack.json 2>"$folder/log" &
daemon=$!
for _ in $(seq 100); do ask nodes >/dev/null 2>&1 && break; sleep 0.1; done
rm config/demo/kept.rack.json
{
  ask go arrival --why "first set-up"
  ask go speeches
  ask set truss-left gain=8 --why "less cable on the new mast"
  ask tick lantern-parade launch-1.off --from speeches
  # Most of it into the file: a log has a page for each time that it was written.
  /usr/bin/python3 -c 'import sqlite3, sys
print(sqlite3.connect(sys.argv[1]).execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall())' \
    "$folder/state/journal.sqlite"
  ask go lantern-parade --no-wait
} >"$folder/answers"
kill -KILL "$daemon"
wait "$daemon" 2>/dev/null || true
daemon=
mkdir -p "$1"
cp "$folder"/state/journal.sqlite "$folder"/state/journal.sqlite-wal "$1"
