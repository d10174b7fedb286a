#!/bin/sh
# Set up what the tests need and run them, with everything that CI runs: lint, types, the import
# contracts, the tests. Arguments go to pytest instead: sh tests/run.sh tests/engine -k spell
set -eu
cd "$(dirname "$0")/.."
. demo/setup.sh

system_libraries
test_libraries
environment "[test]"
if [ $# -gt 0 ]; then
    exec .venv/bin/python -m pytest "$@"
fi
.venv/bin/ruff check .
.venv/bin/ruff format --check --quiet .
.venv/bin/mypy
.venv/bin/lint-imports
# one worker more than there are cores: tests of screens and of sound spend a third of their time
# waiting
workers=$(.venv/bin/python -c 'import os; print((os.cpu_count() or 1) + 1)')
exec .venv/bin/python -m pytest -n "$workers" --dist loadfile --no-loadscope-reorder
