#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# life_in_chroot.sh ROOT WORK: for life_test.sh, which says what it is. There is no service manager in ROOT: the
# daemon is started by the line that the unit has for it, and what the package asks a service manager is kept.
set -euo pipefail
root=$1
work=$2
unit=$root/usr/lib/systemd/system/catwalkd.service
asked=$root/asked
daemon=
fail() {
  echo "life: $*" >&2
  tail -n 40 "$work/apt.log" "$work/daemon.log" >&2 || true
  exit 1
}
inside() { chroot "$root" env PATH=/usr/sbin:/usr/bin:/sbin:/bin LC_ALL=C.UTF-8 DEBIAN_FRONTEND=noninteractive "$@"; }
apt() {
  : >"$asked"
  inside apt-get --quiet --yes --no-install-recommends "$@" >"$work/apt.log" 2>&1 || fail "apt-get $* failed"
}
install_package() {
  cp "$work/$1.deb" "$root/var/cache/$1.deb"
  chmod 644 "$root/var/cache/$1.deb"
  apt install "/var/cache/$1.deb"
}
# asked_for WORD …: what a service manager was asked to do, in this order.
asked_for() {
  local told
  told=$(grep -ohE '(daemon-reload|start|stop|restart|reload|try-restart|kill|no-user)( |$)' "$asked" | tr -d ' ' | xargs) || true
  [ "$told" = "$*" ] || fail "a service manager was asked to \"$told\" instead of \"$*\""
}
unit_says() { sed -n "s/^$1=//p" "$unit"; }
# What is asked for is there, or will be within thirty seconds.
soon() {
  for _ in $(seq 300); do
    ! "$@" >/dev/null 2>&1 || return 0
    sleep 0.1
  done
  fail "never: $*"
}
# As User=, UMask=, StateDirectory= and RuntimeDirectory= have it.
start() {
  local line user
  line=$(unit_says ExecStart)
  line=${line//%S//var/lib}
  line=${line//%t//run}
  user=$(unit_says User)
  inside install -d -o "$user" -g "$user" -m "$(unit_says StateDirectoryMode)" /var/lib/catwalk
  inside install -d -o "$user" -g "$user" -m "$(unit_says RuntimeDirectoryMode)" /run/catwalk
  # shellcheck disable=SC2086  # it is words
  (umask "$(unit_says UMask)" && exec chroot "$root" setpriv --reuid="$user" --regid="$user" --clear-groups \
    --no-new-privs $line --port 0) 2>>"$work/daemon.log" &
  daemon=$!
  soon inside catwalk nodes
  touch "$root/running"
}
stop() {
  kill -TERM "$daemon"
  wait "$daemon" || fail "it did not end well"
  daemon=
  rm "$root/running"
}
wanted() { inside catwalk nodes --json | tr -d ' \n' | grep -o '"wanted":{[^}]*}' || fail "no settings that are wanted"; }
# Of the daemon alone; its group may read the journal, and nobody anything else.
modes_are_modest() {
  local open
  [ "$(inside stat -c '%U:%G %a' /var/lib/catwalk)" = "catwalk:catwalk 750" ] || fail "the state folder is open"
  open=$(inside find /var/lib/catwalk -mindepth 1 \( ! -user catwalk -o -perm /027 \) -printf '%p %u %m; ')
  [ -z "$open" ] || fail "too open: $open"
  open=$(inside find /var/lib/catwalk -name 'journal.sqlite*' ! -perm 0640 -printf '%p %m; ')
  [ -z "$open" ] || fail "not 0640: $open"
  [ "$(inside stat -c %a /var/lib/catwalk/login.key)" = 600 ] || fail "login.key is open"
}

# Nothing is downloaded: all that the package depends on is there.
rm -rf "$root"/etc/apt/sources.list*
mkdir -p "$root/run/systemd/system"
cat >"$root/usr/bin/systemctl" <<'EOF'
#!/bin/sh
echo "$*" >>/asked
case "$*" in
*" preset "*) mkdir -p /etc/systemd/system/multi-user.target.wants
  ln -sf /lib/systemd/system/catwalkd.service /etc/systemd/system/multi-user.target.wants/ ;;
*is-enabled*) [ -e /etc/systemd/system/multi-user.target.wants/catwalkd.service ] && echo enabled ;;
*is-active*) [ -e /running ] ;;
*start*) id catwalk >/dev/null 2>&1 || echo no-user >>/asked ;;
esac
EOF
chmod 755 "$root/usr/bin/systemctl"

# Installed: without a rack there is nothing to start, with one it starts
install_package older
asked_for daemon-reload
grep -q 'wants a rack' "$work/apt.log" || fail "nobody is told that there is no rack"
apt purge catwalk
mkdir -p "$root/etc/catwalk"
echo '{}' >"$root/etc/catwalk/rack.json"
install_package older
asked_for daemon-reload start
for program in catwalk catwalkd catwalk-node; do inside "$program" --version >>"$work/log"; done
[ ! -e "$root/var/lib/catwalk" ] || fail "installing made a state folder"
mkdir -p "$root/etc/catwalk"
cp "$root/usr/share/doc/catwalk/examples/harbour.show.json" "$root/etc/catwalk/"
cp "$root/usr/share/doc/catwalk/examples/bench.rack.json" "$root/etc/catwalk/rack.json"
inside catwalkd --check /etc/catwalk/rack.json >>"$work/log" || fail "the example is wrong"
echo "life: installed"

# Started, on what an older version has left
inside install -d -o catwalk -g catwalk -m 0750 /var/lib/catwalk
cp "$work/state"/* "$root/var/lib/catwalk/"
inside chown -R catwalk:catwalk /var/lib/catwalk
start
ls "$root"/var/lib/catwalk/journal.sqlite.format-* >/dev/null || fail "no copy was kept"
modes_are_modest
inside catwalk journal --text "less cable on the new mast" | grep -q truss-left || fail "the journal forgot"
inside catwalk lock --why doors >>"$work/log"
before=$(wanted)
echo "life: started"

# Upgraded while the show is on: nothing of it stops, and whoever did it is told what is left to do
install_package newer
asked_for daemon-reload
grep -q 'systemctl restart catwalkd' "$work/apt.log" || fail "nobody is told that the older version runs on"
kill -0 "$daemon" || fail "the upgrade ended the daemon"
[ "$(wanted)" = "$before" ] || fail "the upgrade moved something"
stop
start
inside catwalk rack | grep -q doors || fail "the lock is gone"
[ "$(wanted)" = "$before" ] || fail "other settings are wanted after the upgrade"
inside catwalkd --verify-journal --state-dir /var/lib/catwalk /etc/catwalk/rack.json >>"$work/log" || fail "the chain is broken"
modes_are_modest
stop
echo "life: upgraded"

# Put back while somebody has ended it: it stays ended
apt install --allow-downgrades /var/cache/older.deb
asked_for daemon-reload
! grep -q 'systemctl restart catwalkd' "$work/apt.log" || fail "a daemon that does not run is said to go on"
grep -q 'systemctl start catwalkd' "$work/apt.log" || fail "nobody is told that it is not started"

# Removed: the show and its record stay
apt remove catwalk
asked_for stop daemon-reload
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
