#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# life_test.sh FOLDER STATE WORK: the Debian package in FOLDER installed, started on a state folder of an older
# version, upgraded while a show is on, removed and purged, in a Debian that is made for it in WORK and thrown
# away.
#
# It is made in memory and among mounts and processes of its own: whatever ends this test, at any moment, nothing
# of it is left. Where no such Debian can be made it says why in a line, and ends with status 77.
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
mkdir -p "$3"
own=(unshare --mount --propagation private --pid --fork --kill-child=SIGKILL --mount-proc)
skip() {
  echo "skipped: package.life: $*"
  exit 77
}
[ "$(id -u)" -eq 0 ] || skip "only root can make a Debian of its own"
command -v mmdebstrap >/dev/null || skip "there is no mmdebstrap"
said=$("${own[@]}" mount -t tmpfs catwalk-life "$3" 2>&1) || skip "no mounts of its own here: ${said##*$'\n'}"
exec "${own[@]}" "$here/life_apart.sh" "$@"
