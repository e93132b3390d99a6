#!/bin/sh
# Double-click: opens steerworthy in the browser. The first time, its parts are put in place (internet needed once).
# The first time macOS asks: press control, click on the file, choose Open.
cd "$(dirname "$0")/../.." || exit 1
exec ./src/start/linux.sh "$@"
