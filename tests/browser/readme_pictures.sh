#!/usr/bin/env bash
# Takes the README's pictures anew, from the release build.
set -euo pipefail
top=$(dirname "$(dirname "$(dirname "$(readlink -f "$0")")")")
"$top/daemon/build.sh" release catwalkd catwalk-node
ctest --test-dir "$top/build/release" --tests-regex '^browser.install$' >/dev/null
mkdir -p "$top/web/panel/pictures"
cd "$top/build/release/tests/browser/run"
CATWALKD=$top/build/release/daemon/catwalkd CATWALK_NODE=$top/build/release/drivers/catwalk-node \
  CATWALK_SOURCE=$top CATWALK_CHROMIUM=$(command -v chromium) \
  node readme_pictures.mjs "$top/web/panel/pictures"
