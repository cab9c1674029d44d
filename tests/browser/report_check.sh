#!/bin/sh
# Opens a report in headless Chromium and looks at what a reader would meet.
#
#     sh tests/browser/report_check.sh INDEX_HTML            check one report
#     sh tests/browser/report_check.sh --prove INDEX_HTML    also check that broken copies fail
#
# At 360, 768 and 1440 px (probe.js has the checks): no script error, no breach of the page's
# policy, no request; every chart that lies in charts/ beside the page is there, drawn, with words;
# headings in order, table heads with scope, controls with labels; sorting by click and by key,
# filtering, choosing a cask; nothing overlaps or is wider than the window; on A4 nothing is cut;
# text at least 4.5 to 1 against what is behind it, in the light, in the dark, in print and inside
# the pictures, whose texts stand apart and inside the frame.
# Needs Chromium; never skips.
set -eu
export LC_ALL=C

is_proof=no
if [ "${1:-}" = --prove ]; then
    is_proof=yes
    shift
fi
index=${1:?usage: report_check.sh [--prove] INDEX_HTML}
here=$(cd "$(dirname "$0")" && pwd)
limit_s=120
case $index in
*/*) charts=${index%/*}/charts ;;
*) charts=charts ;;
esac
browser=$(command -v chromium || command -v chromium-browser || command -v google-chrome || true)
[ -n "$browser" ] || {
    echo "report_check: Chromium is missing; install it with: apt-get install chromium" >&2
    exit 1
}
[ -f "$index" ] || {
    echo "report_check: there is no page $index" >&2
    exit 1
}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# A report of nothing has no charts.
expected=$(find "$charts" -name '*.svg' 2>/dev/null | sed 's|.*/||; s|\.svg$||' | sort |
    sed 's/.*/"&"/' | paste -sd, -)

# Checks a page at a window width; says what is wrong and returns 1.  The page stands in a frame,
# because a headless window is never narrower than 500 px.
check_at() {
    page=$1
    width=$2
    rm -rf "$work/run"
    mkdir "$work/run" "$work/run/profile"
    {
        printf '<script>var expected = [%s];\n' "$expected"
        cat "$here/probe.js"
        printf '</script>\n'
    } >"$work/run/probe.html"
    sed "/<head>/r $work/run/probe.html" "$page" >"$work/run/page.html"
    cat >"$work/run/frame.html" <<FRAME
<!DOCTYPE html><html><head><meta charset="utf-8"></head><body style="margin:0">
<script>
window.addEventListener('message', function (event) {
  document.documentElement.setAttribute('data-faults', event.data);
});
</script>
<iframe src="page.html" style="border:0;width:${width}px;height:1200px"></iframe></body></html>
FRAME
    # The profile is new each time, and no name leads anywhere, so nothing leaves this machine.
    timeout "$limit_s" "$browser" --headless --no-sandbox --disable-gpu --disable-quic --no-first-run \
        --disable-background-networking --disable-component-update --disable-sync --hide-scrollbars \
        --host-resolver-rules="MAP * ~NOTFOUND" --user-data-dir="$work/run/profile" \
        --window-size=1500,1200 --virtual-time-budget=10000 \
        --enable-logging=stderr --v=0 --log-net-log="$work/run/net.json" \
        --dump-dom "file://$work/run/frame.html" >"$work/run/dom.html" 2>"$work/run/said" || {
        echo "$page: Chromium failed:"
        tail -n 5 "$work/run/said"
        return 1
    }
    faults=$(sed -n 's/.*<html[^>]* data-faults="\([^"]*\)".*/\1/p' "$work/run/dom.html" | head -n 1)
    failed=0
    if [ -z "$faults" ]; then
        echo "$page at $width px: the page never finished loading"
        failed=1
    elif [ "$faults" != none ]; then
        echo "$page at $width px: $faults"
        failed=1
    fi
    if grep -q ':CONSOLE' "$work/run/said"; then
        echo "$page at $width px: the console says: $(grep ':CONSOLE' "$work/run/said" | head -n 3)"
        failed=1
    fi
    [ -s "$work/run/net.json" ] || {
        echo "$page at $width px: no record of the network was kept"
        failed=1
    }
    # Each event of the record is one line.  The browser's own questions (time, updates), which
    # no switch stops, have no origin; whatever a page asks for has one.
    grep '"initiator":"' "$work/run/net.json" | grep -v '"initiator":"not an origin"' |
        grep -Eo '"url":"(https?|wss?|ftp)://[^"]*"' | sort -u >"$work/run/requests" || true
    if [ -s "$work/run/requests" ]; then
        echo "$page at $width px: request: $(head -n 3 "$work/run/requests" | paste -sd' ' -)"
        failed=1
    fi
    return "$failed"
}

code=0
for width in 360 768 1440; do
    check_at "$index" "$width" || code=1
done
[ "$code" -eq 0 ] || exit 1
echo "report_check: $index: $(printf '%s' "$expected" | tr ',' '\n' | grep -c .) charts, no faults" ||
    true
[ "$is_proof" = yes ] || exit 0

# Broken copies: each must fail, and for each of its own reasons.
prove() {
    if said=$(check_at "$work/broken.html" 768); then
        echo "report_check: a page with $1 passed" >&2
        exit 1
    fi
    what=$1
    shift
    for reason in "$@"; do
        case $said in
        *"$reason"*) ;;
        *)
            echo "report_check: a page with $what failed for other reasons than $reason: $said" >&2
            exit 1
            ;;
        esac
    done
    echo "report_check: a page with $what fails as it should"
}
break_page() { sed "$1" "$index" >"$work/broken.html"; }
no_policy='s/<meta http-equiv="Content-Security-Policy"[^>]*>//'

break_page "$no_policy; s/'use strict';/nothing.here();/"
prove "a script error" "script or resource error"
break_page "s/'use strict';/'use strict'; nothing.here();/"
prove "a script that the policy does not know" "Content Security Policy"
break_page '0,/<figure data-chart/s//<figure data-other/; 0,/scope="col"/s///
    /data-chart="ridges-1"/{n;s/base64,PD94/base64,AAAA/;s/ alt="[^"]*"/ alt="x"/}
    0,/<h3>/s//<h4>/; 0,/<\/h3>/s//<\/h4>/'
prove "a missing chart, a broken picture, a heading and a head out of order" "chart missing" \
    "chart not drawn" "heading of level 4" "without scope" "without words"
break_page 's/figure img{/figure img{display:none!important;/; s/max-width:60rem/min-width:90rem/'
prove "charts without size and a width beyond the window" "chart without size" \
    "px wide in a window"
break_page 's|</body>|<img src="https://report-check.invalid/x.png" alt="x"/></body>|'
prove "a request that the policy stops" "Content Security Policy"
break_page "$no_policy"'; s|</body>|<img src="https://report-check.invalid/x.png" alt="x"/></body>|'
prove "a request" "request: "
break_page "$no_policy; s/return up ? order : -order/return 0/; s/part.hidden = /part.other = /
    s/row.hidden = /row.other = /; s/head.tabIndex = 0/head.tabIndex = -1/"
prove "sorting, choice and filter that do nothing, heads out of reach" "sorting does not sort" \
    "choosing a cask fails" "filtering fails" "out of reach of the keys"
break_page 's/--ink:#1c1c1c/--ink:#999999/; s/--faint:#b0b0b0/--faint:#606060/'
prove "pale text" "contrast in the light" "contrast in the dark"
break_page 's/figure{margin:1rem 0/figure{margin:-3rem 0 1rem/
    s/table{font-size:7.5pt;/table{font-size:14pt;/'
prove "charts over text and tables too wide for A4" "overlap" "cut in print"
break_page 's/\.cask{break-inside:avoid}//; s/template-columns:88mm 1fr/template-columns:140mm 1fr/'
prove "casks that are parted and too tall" "a cask is parted" "no two casks fit"
break_page '0,/<th scope="row"[^>]*>/s//&Sherry butt of the old bonded store number 47 spring filling of the year 2019 /
    s/tbody th,.word{white-space:nowrap}/tbody th{white-space:nowrap!important}/'
prove "a name that is not parted" "takes the room of the others"
pale=$(base64 -w 0 <<SVG
<svg xmlns="http://www.w3.org/2000/svg" width="680" height="90"><text x="9" y="20" fill="#ccc">pale
</text><text x="12" y="22">over it</text><text x="670" y="60">beyond the edge</text></svg>
SVG
)
break_page "/data-chart=\"ridges-1\"/{n;s|base64,[^\"]*|base64,$pale|}"
prove "a picture with pale texts on each other and beyond its edge" "contrast in ridges" \
    "texts on each other in ridges" "text out of ridges"
