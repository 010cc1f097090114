#!/usr/bin/env bash
# clang-tidy over every source of ours, by the compile commands of the debug build.
set -euo pipefail
cd "$(dirname "$(readlink -f "$0")")/.."
daemon/install_packages.sh tests
cmake --preset debug >/dev/null
git ls-files -z '*.cpp' | grep -zv libfuzzer |
  xargs -0 -n 1 -P "$(nproc)" clang-tidy --quiet -p build/debug 2>/dev/null
