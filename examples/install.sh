#!/bin/sh
# Installs the Debian packages that stavecast is built from, and only those that are missing.
#
#     sh examples/install.sh [--tests]      (--tests: what the tests need as well)
#
# Nothing missing: says nothing, asks nobody, leaves the network alone.  Without the rights to
# install: prints the command for whoever has them, and ends with 6.
set -eu

packages="build-essential cmake pkg-config libgsl-dev libglpk-dev libcurl4-openssl-dev libyaml-dev
    libjansson-dev nettle-dev zlib1g-dev libcmocka-dev gnuplot-nox"
case "${1:-}" in
"") ;;
--tests) packages="$packages chromium universal-ctags libmicrohttpd-dev libgnutls28-dev" ;;
*)
    echo "install.sh: unknown argument $1 (only --tests is known)" >&2
    exit 2
    ;;
esac

command -v dpkg-query >/dev/null 2>&1 || {
    echo "install.sh: this is not a Debian system. Install what these packages hold, then build" \
        "as README.md says:" $packages >&2
    exit 6
}

missing=""
for package in $packages; do
    # A package of two architectures has two lines; one that was removed is not-installed.
    dpkg-query -W -f='${db:Status-Status}\n' "$package" 2>/dev/null | grep -qx installed ||
        missing="$missing $package"
done
[ -n "$missing" ] || exit 0

if [ "$(id -u)" -eq 0 ]; then
    as_root=""
elif command -v sudo >/dev/null 2>&1 && { sudo -n true 2>/dev/null || [ -t 0 ]; }; then
    as_root="sudo"
else
    echo "Some packages are missing. As root, run:" >&2
    echo "    apt-get update && apt-get install -y --no-install-recommends$missing" >&2
    exit 6
fi

echo "Installing$missing" >&2
log=$(mktemp)
trap 'rm -f "$log"' EXIT
apt() {
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get -qq "$@" >>"$log" 2>&1
}
if ! apt update || ! apt install -y --no-install-recommends $missing; then
    cat "$log" >&2
    echo "install.sh: apt-get failed. As root, run:" >&2
    echo "    apt-get update && apt-get install -y --no-install-recommends$missing" >&2
    exit 6
fi
