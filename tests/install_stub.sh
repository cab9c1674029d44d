#!/bin/sh
# examples/install.sh against stand-ins for dpkg-query, apt-get, sudo and id: no network, no rights.
#
#     sh tests/install_stub.sh SOURCE
set -eu
source=${1:?usage: install_stub.sh SOURCE}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/bin"
failed=0
for tool in sh grep mktemp rm cat env; do
    ln -s "$(command -v "$tool")" "$work/bin/$tool"
done

stand_in() {
    printf '#!/bin/sh\n%s\n' "$2" >"$work/bin/$1"
    chmod +x "$work/bin/$1"
}
# install WANTED_CODE ARGUMENTS: runs it with nothing but the stand-ins on the path.
install() {
    wanted=$1
    shift
    : >"$work/calls"
    code=0
    CALLS="$work/calls" PATH="$work/bin" sh "$source/examples/install.sh" "$@" \
        >"$work/said" 2>&1 </dev/null || code=$?
    [ "$code" -eq "$wanted" ] || fail "ended with $code, not $wanted"
}
fail() {
    echo "$step: $1"
    sed 's/^/    /' "$work/said" "$work/calls"
    failed=1
}

all_there='echo installed; echo installed'
two_missing='case "$4$3" in *gnuplot*|*chromium*) echo not-installed ;; *) echo installed ;; esac'
apt_works='echo "apt-get $*" >>"$CALLS"'

step="nothing missing"
stand_in dpkg-query "$all_there"
stand_in apt-get "$apt_works"
stand_in id 'echo 1000'
install 0
[ ! -s "$work/calls" ] || fail "apt-get was called"
[ ! -s "$work/said" ] || fail "it spoke"

step="missing, no rights"
stand_in dpkg-query "$two_missing"
install 6
[ ! -s "$work/calls" ] || fail "apt-get was called"
grep -q 'apt-get install -y --no-install-recommends gnuplot-nox$' "$work/said" ||
    fail "the exact command is not said"
install 6 --tests
grep -q 'recommends gnuplot-nox chromium$' "$work/said" || fail "--tests does not ask for chromium"

step="a library missing, no rights"
stand_in dpkg-query 'case "$4$3" in *libglpk-dev*) echo not-installed ;; *) echo installed ;; esac'
install 6
grep -q 'apt-get install -y --no-install-recommends libglpk-dev$' "$work/said" ||
    fail "the solver of places is not asked for"
stand_in dpkg-query "$two_missing"

step="missing, root"
stand_in id 'echo 0'
install 0
[ "$(sed -n 1p "$work/calls")" = "apt-get -qq update" ] || fail "no update came first"
[ "$(sed -n 2p "$work/calls")" = \
    "apt-get -qq install -y --no-install-recommends gnuplot-nox" ] || fail "another install"

step="missing, sudo without a password"
stand_in id 'echo 1000'
stand_in sudo 'echo "sudo $*" >>"$CALLS"; [ "$1" = -n ] || exec "$@"'
install 0
grep -q '^apt-get -qq install' "$work/calls" || fail "sudo did not lead to apt-get"

step="apt-get fails"
stand_in apt-get 'echo "no route to anywhere"; exit 100'
install 6
grep -q 'no route to anywhere' "$work/said" || fail "the reason is not shown"

step="unknown argument"
install 2 --everything

step="not Debian"
rm "$work/bin/dpkg-query"
install 6
grep -q 'not a Debian system' "$work/said" || fail "it does not say so"

[ "$failed" -ne 0 ] || echo "install: nine cases as wanted"
exit "$failed"
