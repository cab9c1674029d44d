#!/bin/sh
# Opens a report in headless Chromium and looks at what a reader would meet.
#
#     sh tests/browser/report_check.sh INDEX_HTML            check one report
#     sh tests/browser/report_check.sh --prove INDEX_HTML    also check that broken copies fail
#
# Fails when: a script error or a breach of the page's policy happens; a chart that lies in charts/
# beside the page is missing in it or has no size; sorting or choosing a cask does not work; the
# page is wider than the window; any request leaves the page.  Needs Chromium; never skips.
set -eu
export LC_ALL=C

is_proof=no
if [ "${1:-}" = --prove ]; then
    is_proof=yes
    shift
fi
index=${1:?usage: report_check.sh [--prove] INDEX_HTML}
limit_s=60
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

# The probe stands before the page's policy, so the policy itself stays in force.
cat >"$work/probe.js" <<'PROBE'
(function () {
  var faults = [];
  function fault(text) { faults.push(String(text)); }
  window.addEventListener('error', function (event) {
    fault('script or resource error: ' + (event.message || (event.target && event.target.tagName)));
  }, true);
  window.addEventListener('unhandledrejection', function (event) {
    fault('unhandled rejection: ' + event.reason);
  });
  document.addEventListener('securitypolicyviolation', function (event) {
    fault('against the policy: ' + event.violatedDirective + ' ' + event.blockedURI);
  });
  function checkCharts() {
    var figures = document.querySelectorAll('figure[data-chart]');
    expected.forEach(function (name) {
      var image = document.querySelector('figure[data-chart="' + name + '"] img');
      if (!image) { fault('chart missing: ' + name); return; }
      var box = image.getBoundingClientRect();
      if (!image.complete || !(image.naturalWidth > 0)) { fault('chart not drawn: ' + name); }
      if (!(box.width > 0 && box.height > 0)) { fault('chart without size: ' + name); }
      if (!image.alt) { fault('chart without words: ' + name); }
    });
    if (figures.length !== expected.length) {
      fault(figures.length + ' charts in the page, ' + expected.length + ' beside it');
    }
  }
  function checkSorting() {
    var sortable = Array.prototype.filter.call(document.querySelectorAll('table'), function (table) {
      return table.tBodies[0].rows.length > 1;
    })[0];
    if (!sortable) { fault('no table to sort'); return; }
    var head = sortable.tHead.rows[0].cells[0];
    function column() {
      return Array.prototype.map.call(sortable.tBodies[0].rows, function (row) {
        return row.cells[0].textContent;
      });
    }
    head.click();
    var up = column();
    head.click();
    var down = column();
    if (head.getAttribute('aria-sort') !== 'descending') { fault('a table head does not sort'); }
    if (up[0] === down[0]) { fault('sorting changed nothing'); }
    if (up.slice().sort().join() !== down.slice().sort().join()) { fault('sorting lost rows'); }
  }
  function checkChoice() {
    var choice = document.getElementById('cask-choice');
    var casks = document.querySelectorAll('.cask');
    if (!choice) { if (casks.length > 0) { fault('no choice of casks'); } return; }
    function shown() {
      return Array.prototype.filter.call(casks, function (cask) { return cask.offsetHeight > 0; });
    }
    function choose(value) {
      choice.value = value;
      choice.dispatchEvent(new Event('change'));
    }
    if (shown().length !== casks.length) { fault('casks are hidden before one is chosen'); }
    choose(choice.options[choice.options.length - 1].value);
    if (shown().length !== 1 || shown()[0].id !== choice.value) { fault('choosing a cask fails'); }
    choose('');
    if (shown().length !== casks.length) { fault('casks stay hidden'); }
  }
  function checkRequests() {
    performance.getEntriesByType('resource').forEach(function (entry) {
      if (entry.name.indexOf('data:') !== 0) { fault('request: ' + entry.name); }
    });
  }
  window.addEventListener('load', function () {
    setTimeout(function () {
      checkCharts();
      checkSorting();
      checkChoice();
      checkRequests();
      if (document.documentElement.scrollWidth > window.innerWidth) {
        fault('the page is ' + document.documentElement.scrollWidth + ' px wide in a window of ' +
              window.innerWidth);
      }
      document.documentElement.setAttribute('data-faults', faults.length === 0 ? 'none' :
        faults.join('; ').replace(/["<>&\n]/g, ' '));
    }, 100);
  });
}());
PROBE

expected=$(find "$charts" -name '*.svg' 2>/dev/null | sed 's|.*/||; s|\.svg$||' | sort |
    sed 's/.*/"&"/' | paste -sd, -)
[ -n "$expected" ] || {
    echo "report_check: there are no charts in $charts" >&2
    exit 1
}

# Checks a page at a window width; says what is wrong and returns 1.
check_at() {
    page=$1
    width=$2
    rm -rf "$work/run"
    mkdir "$work/run" "$work/run/profile"
    {
        printf '<script>var expected = [%s];\n' "$expected"
        cat "$work/probe.js"
        printf '</script>\n'
    } >"$work/run/probe.html"
    sed "/<head>/r $work/run/probe.html" "$page" >"$work/run/page.html"
    # The profile is new each time, and no name leads anywhere, so nothing leaves this machine.
    timeout "$limit_s" "$browser" --headless --no-sandbox --disable-gpu --disable-quic --no-first-run \
        --disable-background-networking --disable-component-update --disable-sync \
        --host-resolver-rules="MAP * ~NOTFOUND" --user-data-dir="$work/run/profile" \
        --window-size="$width,1200" --virtual-time-budget=10000 \
        --enable-logging=stderr --v=0 --log-net-log="$work/run/net.json" \
        --dump-dom "file://$work/run/page.html" >"$work/run/dom.html" 2>"$work/run/said" || {
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

check() {
    check_at "$1" 1000 && check_at "$1" 500
}

check "$index" || exit 1
echo "report_check: $index: $(printf '%s\n' "$expected" | tr ',' '\n' | wc -l) charts, no faults"
[ "$is_proof" = yes ] || exit 0

# Broken copies: each must fail, and for its own reason.
prove() {
    if said=$(check_at "$work/broken.html" 1000); then
        echo "report_check: a page with $1 passed" >&2
        exit 1
    fi
    case $said in
    *"$2"*) echo "report_check: a page with $1 fails as it should" ;;
    *)
        echo "report_check: a page with $1 failed for another reason: $said" >&2
        exit 1
        ;;
    esac
}
break_page() { sed "$1" "$index" >"$work/broken.html"; }
no_policy='s/<meta http-equiv="Content-Security-Policy"[^>]*>//'

break_page "$no_policy; s/'use strict';/nothing.here();/"
prove "a script error" "script or resource error"
break_page "s/'use strict';/'use strict'; nothing.here();/"
prove "a script that the policy does not know" "Content Security Policy"
break_page '0,/<figure data-chart/s//<figure data-other/'
prove "a missing chart" "chart missing"
break_page 's/figure img{/figure img{display:none!important;/'
prove "charts without size" "chart without size"
break_page '0,/base64,PD94/s//base64,AAAA/'
prove "a broken picture" "chart not drawn"
break_page 's|</body>|<img src="https://report-check.invalid/x.png" alt="x"/></body>|'
prove "a request that the policy stops" "Content Security Policy"
break_page "$no_policy"'; s|</body>|<img src="https://report-check.invalid/x.png" alt="x"/></body>|'
prove "a request" "request: "
break_page 's/max-width:60rem/min-width:90rem/'
prove "a width beyond the window" "px wide in a window"
break_page "$no_policy; s/return up ? order : -order/return 0/"
prove "sorting that does nothing" "sorting changed nothing"
break_page "$no_policy; s/part.hidden = /part.other = /"
prove "a choice that does nothing" "choosing a cask fails"
