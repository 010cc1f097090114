#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# life_test.sh FOLDER STATE: the Debian package installed, started on the state folder of an older version,
# upgraded while a show is on, removed and purged, in a Debian that is made for it and thrown away. There is no
# service manager in it: the daemon is started by the line that the unit has for it.
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
folder=$1
state=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
package=$(echo "$folder"/catwalk_*.deb)

# The same as an earlier version: what it installs is what the upgrade takes over.
dpkg-deb --raw-extract "$package" "$work/tree"
sed -i 's/^Version: .*/Version: 0.0.1/' "$work/tree/DEBIAN/control"
dpkg-deb --root-owner-group --build "$work/tree" "$work/older.deb" >"$work/log"
cp "$package" "$work/newer.deb"
cp -r "$state" "$work/state"

if ! mmdebstrap --variant=apt --format=null --include=init-system-helpers,util-linux,systemd-standalone-sysusers \
  --customize-hook="'$here/life_in_chroot.sh' \"\$1\" '$work'" bookworm >"$work/log" 2>&1; then
  cat "$work/log"
  exit 1
fi
grep '^life: ' "$work/log"
grep -q '^life: purged' "$work/log"
