#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# life_apart.sh FOLDER STATE WORK: for life_test.sh, which says what it is. All that is mounted and started here
# ends with this process.
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
folder=$1
state=$2
work=$3
skip() {
  echo "skipped: package.life: $*"
  exit 77
}
# A Debian and the package, twice, all in memory.
[ "$(sed -n 's/^MemAvailable: *\([0-9]*\) kB$/\1/p' /proc/meminfo)" -gt 1500000 ] || skip "a Debian wants 1.5 GB of memory"
mount -t tmpfs catwalk-life "$work"
export TMPDIR=$work
package=$(echo "$folder"/catwalk_*.deb)

# The same as an earlier version: what it installs is what the upgrade takes over.
dpkg-deb --raw-extract "$package" "$work/tree"
sed -i 's/^Version: .*/Version: 0.0.1/' "$work/tree/DEBIAN/control"
dpkg-deb --root-owner-group -Znone --build "$work/tree" "$work/older.deb" >"$work/log"
rm -r "$work/tree"
cp "$package" "$work/newer.deb"
cp -r "$state" "$work/state"

# Debian as this machine has it, from where this machine has it, with all that the package depends on: of
# alternatives the last, which is not a whole service manager. From then on nothing is taken from elsewhere.
suite=$(. /etc/os-release && echo "$VERSION_CODENAME")
mirror=$(apt-get indextargets --format '$(REPO_URI)' 'Created-By: Packages' "Codename: $suite" 'Component: main' \
  'Origin: Debian' | grep -m 1 '^https*://' || true)
apt-config dump | grep -E '^Acquire::(https?::)?Proxy' >"$work/proxies" || true
depends=$(dpkg-deb --field "$package" Depends | sed -E 's/[^,|]*\|//g; s/\([^)]*\)//g' | tr -d ' ')
if ! timeout --kill-after=5 120 mmdebstrap --variant=apt --format=directory --aptopt="$work/proxies" \
  --aptopt='Acquire::http::Timeout "20"' --include="init-system-helpers,util-linux,$depends" \
  "$suite" "$work/root" ${mirror:+"$mirror"} >"$work/log" 2>&1; then
  # What the package wants and Debian does not have is a fault of the package.
  if grep -E 'Unable to locate package|no installation candidate|unmet dependencies' "$work/log"; then
    exit 1
  fi
  skip "no Debian can be made here: $(grep -m 1 '^E: ' "$work/log" || echo 'it took longer than two minutes')"
fi
for mounts in "-t proc proc $work/root/proc" "--rbind /dev $work/root/dev"; do
  # shellcheck disable=SC2086  # it is words
  mount $mounts || skip "a Debian of its own may not mount $mounts"
done
timeout --kill-after=5 300 "$here/life_in_chroot.sh" "$work/root" "$work"
