#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# life_in_chroot.sh ROOT WORK: for life_test.sh, which says what it is.
set -euo pipefail
root=$1
work=$2
daemon=
finish() {
  [ -z "$daemon" ] || kill "$daemon" 2>/dev/null || true
}
trap finish EXIT
fail() {
  echo "life: $*" >&2
  [ ! -e "$work/daemon.log" ] || cat "$work/daemon.log" >&2
  exit 1
}
inside() { chroot "$root" env PATH=/usr/sbin:/usr/bin:/sbin:/bin LC_ALL=C.UTF-8 DEBIAN_FRONTEND=noninteractive "$@"; }
apt() { inside apt-get --quiet --yes --no-install-recommends "$@"; }
install_package() {
  cp "$work/$1.deb" "$root/var/cache/$1.deb"
  chmod 644 "$root/var/cache/$1.deb"
  apt install "/var/cache/$1.deb"
}
# What is asked for is there, or will be within ten seconds.
soon() {
  for _ in $(seq 100); do
    ! "$@" >/dev/null 2>&1 || return 0
    sleep 0.1
  done
  fail "never: $*"
}
start() {
  local line
  line=$(sed -n 's/^ExecStart=//p' "$root/usr/lib/systemd/system/catwalkd.service")
  line=${line//%S//var/lib}
  line=${line//%t//run}
  # As StateDirectory= and RuntimeDirectory= have it.
  inside install -d -o catwalk -g catwalk -m 0750 /var/lib/catwalk
  inside install -d -o catwalk -g catwalk -m 0755 /run/catwalk
  # shellcheck disable=SC2086  # it is words
  chroot "$root" setpriv --reuid=catwalk --regid=catwalk --clear-groups --no-new-privs $line --port 0 2>>"$work/daemon.log" &
  daemon=$!
  soon inside catwalk nodes
}
stop() {
  kill -TERM "$daemon"
  wait "$daemon" || fail "it did not end well"
  daemon=
}
wanted() { inside catwalk nodes --json | tr -d ' \n' | grep -o '"wanted":{[^}]*}' || fail "no settings that are wanted"; }

# Installed
install_package older
inside getent passwd catwalk >/dev/null || fail "there is no user catwalk"
for program in catwalk catwalkd catwalk-node; do inside "$program" --version; done
[ ! -e "$root/var/lib/catwalk" ] || fail "installing made a state folder"
mkdir -p "$root/etc/catwalk"
cp "$root/usr/share/doc/catwalk/examples/harbour.show.json" "$root/etc/catwalk/"
cp "$root/usr/share/doc/catwalk/examples/bench.rack.json" "$root/etc/catwalk/rack.json"
inside catwalkd --check /etc/catwalk/rack.json || fail "the example is wrong"
echo "life: installed"

# Started, on what an older version has left
inside install -d -o catwalk -g catwalk -m 0750 /var/lib/catwalk
cp "$work/state"/* "$root/var/lib/catwalk/"
inside chown -R catwalk:catwalk /var/lib/catwalk
start
ls "$root"/var/lib/catwalk/journal.sqlite.format-* >/dev/null || fail "no copy was kept"
inside catwalk journal --text "less cable on the new mast" | grep -q truss-left || fail "the journal forgot"
inside catwalk lock --why doors
before=$(wanted)
echo "life: started"

# Upgraded while the show is on: nothing of it stops
install_package newer
kill -0 "$daemon" || fail "the upgrade ended the daemon"
[ "$(wanted)" = "$before" ] || fail "the upgrade moved something"
stop
start
inside catwalk rack | grep -q doors || fail "the lock is gone"
[ "$(wanted)" = "$before" ] || fail "other settings are wanted after the upgrade"
inside catwalkd --verify-journal --state-dir /var/lib/catwalk /etc/catwalk/rack.json || fail "the chain is broken"
stop
echo "life: upgraded"

# Removed: the show and its record stay
apt remove catwalk
[ ! -e "$root/usr/bin/catwalkd" ] || fail "removed, and there"
[ -e "$root/var/lib/catwalk/journal.sqlite" ] || fail "removing took the journal"
echo "life: removed"

apt purge catwalk
[ ! -e "$root/var/lib/catwalk" ] || fail "purging left the journal"
[ -e "$root/etc/catwalk/rack.json" ] || fail "purging took what somebody wrote"
left=$(find "$root/etc" "$root/usr" "$root/var" \( -path "$root/etc/catwalk" -o -path "$root/var/lib/apt" \
  -o -path "$root/var/cache" -o -path "$root/var/log" \) -prune -o -name '*catwalk*' -print)
[ -z "$left" ] || fail "purging left $left"
echo "life: purged"
