#!/usr/bin/env bash
# Says which sources clang-format would change.
set -euo pipefail
cd "$(dirname "$(readlink -f "$0")")/.."
git ls-files -z '*.cpp' '*.hpp' | xargs -0 clang-format --dry-run --Werror
