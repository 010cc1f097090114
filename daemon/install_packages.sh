#!/usr/bin/env bash
# install_packages.sh [package|tests]: installs what daemon/packages.txt lists for building, for making the
# Debian package too, or for that and the tests, and is not there yet. Says nothing if nothing is missing.
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
# What an installed package provides in the place of another counts too: some packages of Node.js
# bring npm with them, and do not get on with Debian's.
present=$(dpkg-query -W -f='${db:Status-Status} ${Package}, ${Provides}\n' |
  sed -n 's/^installed //p' | sed 's/([^)]*)//g' | tr -s ', ' '\n')
missing=()
while read -r package purpose; do
  case "$purpose/${1:-}" in
    /* | package/package | package/tests | tests/tests) ;;
    *) continue ;;
  esac
  grep -qxF "$package" <<<"$present" || missing+=("$package")
done < <(grep -v '^#' "$here/packages.txt")
[ ${#missing[@]} -eq 0 ] && exit 0

as_root=()
if [ "$(id -u)" -ne 0 ]; then
  command -v sudo >/dev/null || { echo "These packages are missing, and there is no sudo to install them: ${missing[*]}" >&2; exit 1; }
  as_root=(sudo)
fi
log=$(mktemp)
trap 'rm -f "$log"' EXIT
echo "Installing ${#missing[@]} packages: ${missing[*]}" >&2
if ! { "${as_root[@]}" apt-get update &&
       "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
         apt-get install --yes --no-install-recommends "${missing[@]}"; } >"$log" 2>&1; then
  cat "$log" >&2
  exit 1
fi
