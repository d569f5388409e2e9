#!/usr/bin/env bash
# Installs the Debian packages that are missing.
#
#   scripts/install.sh build    to build and run: a C compiler for the embedded database
#   scripts/install.sh test     for the browser tests as well: a browser and its faces
#   scripts/install.sh bench    for the peers in the benches: Python with numpy and scipy
#
# Works as root, and as a user who may use sudo. On another system it says what is wanted.
set -eu

case "${1:-}" in
build) packages=(build-essential) ;;
test) packages=(build-essential chromium fonts-dejavu-core fonts-sil-charis fonts-liberation) ;;
bench) packages=(build-essential python3 python3-venv) ;;
*)
	echo "usage: scripts/install.sh build|test|bench" >&2
	exit 2
	;;
esac

if ! command -v cargo >/dev/null 2>&1; then
	echo "Rust is missing: install rustc and cargo 1.95 or later, then run this again." >&2
	exit 1
fi

missing=()
if command -v dpkg-query >/dev/null 2>&1; then
	for package in "${packages[@]}"; do
		state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
		[ "$state" = installed ] || missing+=("$package")
	done
	[ "${#missing[@]}" -eq 0 ] && exit 0
else
	# Not Debian: look for what the packages would bring.
	command -v cc >/dev/null 2>&1 || missing+=("a C compiler (cc)")
	if [ "$1" = test ]; then
		command -v chromium >/dev/null 2>&1 || missing+=("chromium on the path")
	fi
	[ "${#missing[@]}" -eq 0 ] && exit 0
	echo "This is not a Debian system. Please install: ${missing[*]}" >&2
	exit 1
fi

as_root=()
if [ "$(id -u)" -ne 0 ]; then
	if command -v sudo >/dev/null 2>&1; then
		as_root=(sudo)
	else
		echo "Missing: ${missing[*]}. Ask someone with root to run: apt-get install ${missing[*]}" >&2
		exit 1
	fi
fi
echo "Installing: ${missing[*]}"
export DEBIAN_FRONTEND=noninteractive
"${as_root[@]}" apt-get update -qq
"${as_root[@]}" apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
