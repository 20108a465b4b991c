#!/usr/bin/env bash
# Every check of the repository in one command, on a machine with a Rust toolchain and a C compiler.
# Installs PostgreSQL and Python's venv where they are missing (which needs root), runs a private
# PostgreSQL on a free loopback port, and ends with the line "N passed, N failed".
set -euo pipefail
exec </dev/null
root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
cd "$root"
source tests/lib/steps.sh
source tests/lib/machine.sh
source tests/lib/postgres.sh

work=$(mktemp -d "${TMPDIR:-/tmp}/tenths-tests.XXXXXX")
cleanup() {
  stop_postgres
  rm -rf "$work"
}
trap cleanup EXIT
trap 'exit 130' INT
trap 'exit 143' TERM

descriptors_agree() {
  # Reflection serves what protox made; buf is the second opinion on what the files say.
  "$venv/bin/buf" build proto --as-file-descriptor-set --exclude-source-info -o "$work/buf.binpb"
  local built
  # The newest, where earlier builds left others.
  built=$(find "${CARGO_TARGET_DIR:-target}/debug/build" -path '*tenths-proto*' -name tenths_v1.bin -printf '%T@ %p\n' |
    sort -rn | head -n 1 | cut -d ' ' -f 2-)
  "$venv/bin/python" tests/lib/descriptors.py "$work/buf.binpb" "$built"
}

documentation() {
  RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps --locked
}

python_tests() {
  "$venv/bin/python" -m pytest -q --color=no -p no:cacheprovider tests/python
}

step "packages of this machine" prepare_machine
require "packages of this machine"
step "python environment" prepare_python
require "python environment"
step "private postgresql" start_postgres
require "private postgresql"
TENTHS_TEST_POSTGRES=$(<"$work/postgres.url")
export TENTHS_TEST_POSTGRES

step "formatting" cargo fmt --all --check
step "lints" cargo clippy --workspace --all-targets --locked -- -D warnings
step "contract lint" "$venv/bin/buf" lint proto
step "layers" "$venv/bin/python" tests/lib/layers.py
step "sizes" "$venv/bin/python" tests/lib/sizes.py server client-cli migrations proto tests
step "build" cargo build --workspace --locked
require "build"
step "descriptor sets" descriptors_agree
step "benchmark of finding, 1,000 rows" cargo test --workspace --locked --bench finding -- \
  --rows 1000 --questions 50 --seconds 1 --least-seconds 0 --in-flight 1,16 --verify
step "load of the queue, 200 operations" cargo test --workspace --locked --bench queue -- \
  --workers 8 --operations 200 --depths 100,1000
step "rust tests" cargo test --workspace --locked --no-fail-fast
step "python tests" python_tests
step "documentation" documentation
if [[ -e deploy/demo.sh ]]; then
  step "demo" bash deploy/demo.sh
fi
summary
