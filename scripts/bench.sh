#!/usr/bin/env bash
# Runs every bench, each beside its peer. The peers are Python's numpy and scipy, kept in a folder
# of their own beside the build so that nothing of the system is touched.
set -eu
cd "$(dirname "$0")/.."
mkdir -p "${CARGO_TARGET_DIR:-target}"
# The benches run from their own folder, so the path must be whole.
peers="$(cd "${CARGO_TARGET_DIR:-target}" && pwd)/peers"
if [ ! -x "$peers/bin/python" ]; then
	python3 -m venv "$peers"
	"$peers/bin/pip" install --quiet --disable-pip-version-check numpy==2.4.6 scipy==1.17.1
fi
# One thread for the peers too: the ratios are of one core against one core.
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1
export SHIEL_PEER_PYTHON="$peers/bin/python"
[ "${1:-}" = long ] && export SHIEL_BENCH_LONG=1
exec cargo bench --locked -p bench
