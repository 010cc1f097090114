#!/usr/bin/env bash
# The demo rack of the harbour festival on this machine's loopback: eight antennas and a matrix on three
# lines, one of them simulated, one serial through a pseudo-terminal, one UDP.
#
#   demo.sh          installs, builds, starts, and prints the page's address; does nothing if it runs
#   demo.sh stop     stops what it started, and forgets it
#   demo.sh knob TRUSS-OR-QUAY-UID …   turns a knob at a node: "demo.sh knob 7a10-00000201 gain 12"
#   demo.sh power UID off|on           cuts a node's supply, or gives it back
#   demo.sh freeze truss|quay          all nodes there stop answering; thaw ends it
set -euo pipefail
top=$(dirname "$(dirname "$(readlink -f "$0")")")
bin=$top/build/release
state=$top/build/demo
run=$state/run
port=${CATWALK_DEMO_PORT:-8470}

alive() { [ -f "$run/$1.pid" ] && kill -0 "$(cat "$run/$1.pid")" 2>/dev/null; }

stop() {
  for name in catwalkd truss quay; do
    if alive "$name"; then
      pid=$(cat "$run/$name.pid")
      kill "$pid"
      kill -CONT "$pid"  # one that is frozen would not hear it
      while kill -0 "$pid" 2>/dev/null; do sleep 0.05; done
    fi
    rm -f "$run/$name.pid"
  done
}

# start NAME PROGRAM …: in the background, its standard input a pipe that demo.sh can write to. Nothing
# else that the caller has open is passed on: a lock of the caller would be held as long as the demo runs.
start() {
  local name=$1
  shift
  rm -f "$run/$name.in"
  mkfifo "$run/$name.in"
  # Opened for reading and writing, so that it neither blocks nor ends.
  (
    for descriptor in /proc/self/fd/*; do
      descriptor=${descriptor##*/}
      if [ "$descriptor" -gt 2 ]; then exec {descriptor}>&-; fi
    done
    exec "$@"
  ) <>"$run/$name.in" >"$run/$name.log" 2>&1 &
  echo $! >"$run/$name.pid"
}

# await SECONDS COMMAND …: until it succeeds.
await() {
  local deadline=$((SECONDS + $1))
  shift
  until "$@" >/dev/null 2>&1; do
    if [ "$SECONDS" -ge "$deadline" ]; then
      echo "The demo did not start; its logs are in $run" >&2
      tail -n 5 "$run"/*.log >&2
      stop
      exit 1
    fi
    sleep 0.1
  done
}

# All nodes of a process get the command; the one that is meant obeys, the others do not know the UID.
at_node() {
  case $2 in
    7a10-000002*) echo "$*" >"$run/truss.in" ;;
    7a10-000003*) echo "$*" >"$run/quay.in" ;;
    *) echo "demo.sh: \"$2\" is not on the truss (7a10-000002…) or the quay (7a10-000003…)" >&2; exit 2 ;;
  esac
}

case ${1:-start} in
  start) ;;
  stop) stop; rm -rf "$state"; exit 0 ;;
  knob | power)
    [ $# -ge 3 ] || { echo "demo.sh: $1 needs a UID and a value" >&2; exit 2; }
    alive catwalkd || { echo "demo.sh: the demo does not run" >&2; exit 1; }
    at_node "$@"
    exit 0 ;;
  freeze | thaw)
    case ${2:-} in truss | quay) ;; *) echo "demo.sh: $1 needs truss or quay" >&2; exit 2 ;; esac
    alive "$2" || { echo "demo.sh: the demo does not run" >&2; exit 1; }
    if [ "$1" = freeze ]; then kill -STOP "$(cat "$run/$2.pid")"; else kill -CONT "$(cat "$run/$2.pid")"; fi
    exit 0 ;;
  *) echo "demo.sh: \"$1\" is not known; allowed is start, stop, knob, power, freeze, thaw" >&2; exit 2 ;;
esac

"$top/daemon/install_packages.sh"
"$top/daemon/build.sh" release catwalkd catwalk catwalk-node
mkdir -p "$run"

if ! alive catwalkd; then
  stop
  if [ ! -f "$state/quay-net.key" ]; then
    (umask 077 && openssl rand -hex 32 >"$state/quay-net.key")
  fi
  start truss "$bin/drivers/catwalk-node" --pty --link "$run/truss-bus" --state "$state/truss.nodes" \
    --node 7a10-00000201@1,type=tern-inline --node 7a10-00000202@2,type=gull-integral \
    --node 7a10-00000203@3,type=plover-fixed
  start quay "$bin/drivers/catwalk-node" --udp 127.0.0.1:47311 --key-file "$state/quay-net.key" \
    --state "$state/quay.nodes" --node 7a10-00000301,type=gull-integral \
    --node 7a10-00000302,type=gull-integral --node 7a10-00000303,type=tern-inline
  await 10 grep -q ready "$run/truss.log"
  await 10 grep -q ready "$run/quay.log"
  start catwalkd "$bin/daemon/catwalkd" --state-dir "$state" --port "$port" \
    "$top/config/demo/harbour.rack.json"
  await 10 "$bin/daemon/cli/catwalk" --server "http://127.0.0.1:$port" rack
fi
echo "http://127.0.0.1:$port/"
