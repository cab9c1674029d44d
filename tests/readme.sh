#!/bin/sh
# Runs every command of README.md's `sh` blocks, in order, from a copy of what they read.
#
#     readme.sh SOURCE_DIR STAVECAST
#
# A command passes when it ends with 0, or with 1 (done, and something wants a look).  The two
# set-up scripts are not run again here: they are what runs this test, and the demo.
set -eu
source_dir=$1
program=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export XDG_CACHE_HOME="$work/cache"
mkdir "$work/build"
ln -s "$program" "$work/build/stavecast"
cp -R "$source_dir/examples" "$source_dir/weather-samples" "$work/"
cd "$work"

commands=$work/commands
awk '/^```sh$/ { on = 1; next } /^```$/ { on = 0 } on' "$source_dir/README.md" >"$commands"
[ "$(wc -l <"$commands")" -ge 12 ] || { echo "readme.sh: too few commands found"; exit 1; }

failed=0
while IFS= read -r line; do
    case $line in
    "sh examples/run"* | "sh tests/run"*)
        script=${line%% #*}
        script=${script#sh }
        script=$(echo "$script" | tr -d ' ')
        [ -f "$source_dir/$script" ] || { echo "missing: $script"; failed=1; }
        continue
        ;;
    esac
    code=0
    sh -c "$line" >"$work/out" 2>"$work/err" </dev/null || code=$?
    if [ "$code" -gt 1 ] || { [ ! -s "$work/out" ] && ! echo "$line" | grep -q -e "--output" -e " new "; }; then
        echo "exit $code: $line"
        cat "$work/err"
        failed=1
    fi
done <"$commands"
exit $failed
