#!/bin/sh
# Opens steerworthy in the browser. The first time, its parts are put in place (internet needed once).
cd "$(dirname "$0")/../.." || exit 1
# A window that was double-clicked open would close over the last words.
stay() {
	if [ -t 0 ]; then
		printf 'Press Return to close this window.'
		read -r _
	fi
	exit 1
}
if ! command -v node >/dev/null 2>&1; then
	echo "Node is not installed. Get version 20.19, 22 or 24 from its makers or your system, and start again."
	stay
fi
if [ ! -d node_modules ] && ! npm ci; then
	echo "The parts could not be put in place. Is the internet there? Read the lines above."
	stay
fi
npm start -- "$@" || stay
