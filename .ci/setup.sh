#!/bin/sh
# Installs what building and testing pleach needs and is not there yet. Where
# nothing is missing it does nothing and asks no server.
set -eu

build="gcc libc6-dev pkg-config libgdal-dev libgl-dev libx11-dev libxcursor-dev libxrandr-dev libxinerama-dev libxi-dev libxxf86vm-dev"
checks="xvfb xauth xdotool libgl1-mesa-dri poppler-utils gdal-bin librsvg2-bin"

say() { echo "setup: $*" >&2; }

if ! command -v go >/dev/null 2>&1; then
	say "there is no go command: install Go 1.26 or later from go.dev/dl and put its bin folder on the PATH"
	exit 1
fi

if ! command -v dpkg-query >/dev/null 2>&1 || ! command -v apt-get >/dev/null 2>&1; then
	if pkg-config --exists gdal 2>/dev/null && command -v cc >/dev/null 2>&1; then
		exit 0
	fi
	say "this is no Debian or Ubuntu, so nothing is installed by itself. By Debian's names pleach needs:"
	say "  to build: $build"
	say "  for its tests: $checks"
	exit 1
fi

missing=""
for p in $build $checks; do
	case "$(dpkg-query -W -f '${Status}' "$p" 2>/dev/null || true)" in
	"install ok installed" | "hold ok installed") ;;
	*) missing="$missing $p" ;;
	esac
done
[ -n "$missing" ] || exit 0

as=""
if [ "$(id -u)" != 0 ]; then
	if ! command -v sudo >/dev/null 2>&1; then
		say "missing:$missing"
		say "there is no sudo: run as root: apt-get install --no-install-recommends$missing"
		exit 1
	fi
	as="sudo"
fi
say "installing$missing"
# shellcheck disable=SC2086
{
	$as apt-get update
	$as env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $missing
} >&2
