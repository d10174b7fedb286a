#!/bin/sh
# Set up lastbar and start it: the synthesizer and playback libraries from the system's package
# manager, a virtual environment beside this folder, and the package in it. Run again, it finds
# everything in place and just starts. Arguments go to the program: sh demo/start.sh check
set -eu
cd "$(dirname "$0")/.."
. demo/setup.sh

system_libraries
environment ""
exec .venv/bin/lastbar "$@"
