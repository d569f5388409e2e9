#!/usr/bin/env bash
# Waits for the page to answer, then opens it where a desktop is there to show it.
set -u
address="$1"
[ -n "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ] || exit 0
command -v xdg-open >/dev/null 2>&1 || exit 0
hostport=${address#http://}
hostport=${hostport%/}
for _ in $(seq 600); do
	if (exec 3<>"/dev/tcp/${hostport%:*}/${hostport#*:}") 2>/dev/null; then
		xdg-open "$address" >/dev/null 2>&1
		exit 0
	fi
	sleep 0.2
done
