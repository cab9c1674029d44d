/* A page that needs nothing but itself: style and script are inside, charts are pictures in data
 * addresses, so that the ids of two charts cannot clash and they stay sharp at any size.  The
 * policy in the head forbids every request, and every script but the one below.  Without script
 * the whole page is there; the script only sorts tables, and hides rows and casks that
 * were not asked for; print has them all. */
#include "plots/html.h"

#include "plots/quote.h"

#include <string.h>

static const char script[] =
    "(function () {\n"
    "  'use strict';\n"
    "  function compare(a, b) {\n"
    "    var x = /^-?[0-9.]+( |$)/.test(a) ? parseFloat(a) : NaN;\n"
    "    var y = /^-?[0-9.]+( |$)/.test(b) ? parseFloat(b) : NaN;\n"
    "    return isNaN(x) || isNaN(y) ? a.localeCompare(b, 'en', {numeric: true}) : x - y;\n"
    "  }\n"
    "  function sort(table, head, column) {\n"
    "    var up = head.getAttribute('aria-sort') !== 'ascending';\n"
    "    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (cell) {\n"
    "      cell.removeAttribute('aria-sort');\n"
    "    });\n"
    "    head.setAttribute('aria-sort', up ? 'ascending' : 'descending');\n"
    "    var body = table.tBodies[0];\n"
    "    Array.prototype.slice.call(body.rows).sort(function (a, b) {\n"
    "      var order = compare(a.cells[column].textContent, b.cells[column].textContent);\n"
    "      return up ? order : -order;\n"
    "    }).forEach(function (row) { body.appendChild(row); });\n"
    "  }\n"
    "  document.querySelectorAll('table').forEach(function (table) {\n"
    "    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head, column) {\n"
    "      head.tabIndex = 0;\n"
    "      head.addEventListener('click', function () { sort(table, head, column); });\n"
    "      head.addEventListener('keydown', function (event) {\n"
    "        if (['Enter', ' '].indexOf(event.key) === -1) { return; }\n"
    "        event.preventDefault();\n"
    "        sort(table, head, column);\n"
    "      });\n"
    "    });\n"
    "  });\n"
    "  function filter(table) {\n"
    "    var line = document.createElement('p'), label = document.createElement('label');\n"
    "    var input = document.createElement('input');\n"
    "    line.className = 'choice';\n"
    "    label.textContent = 'Only rows with ';\n"
    "    input.type = 'search';\n"
    "    label.appendChild(input);\n"
    "    line.appendChild(label);\n"
    "    table.parentNode.parentNode.insertBefore(line, table.parentNode);\n"
    "    input.addEventListener('input', function () {\n"
    "      var want = input.value.toLowerCase();\n"
    "      Array.prototype.forEach.call(table.tBodies[0].rows, function (row) {\n"
    "        row.hidden = row.textContent.toLowerCase().indexOf(want) === -1;\n"
    "      });\n"
    "    });\n"
    "  }\n"
    "  document.querySelectorAll('table').forEach(function (table) {\n"
    "    if (table.tBodies[0].rows.length > 12) {\n"
    "      if (!table.closest('.cask')) { filter(table); }\n"
    "    }\n"
    "  });\n"
    "  var choice = document.getElementById('cask-choice');\n"
    "  if (choice) {\n"
    "    choice.parentNode.hidden = false;\n"
    "    choice.addEventListener('change', function () {\n"
    "      document.querySelectorAll('.cask').forEach(function (part) {\n"
    "        part.hidden = !(choice.value === '' || choice.value === part.id);\n"
    "      });\n"
    "    });\n"
    "  }\n"
    "}());\n";

/* The script has no < and no & so that the page also is well-formed XML, which tests rely on.
 * tests/test_report.c computes the sum anew and prints it when the script was changed. */
static const char script_hash[] = "l4ReRaie+1WTMFUiRKABnzHgXTvoAXc/9SOPO7JJALc=";

static const char style[] =
    ":root{color-scheme:light dark;--ink:#1c1c1c;--page:#fbfaf7;--faint:#5a5a5a;--line:#c9c5bb;"
    "--mark:#7a4a00;--head:#efece4}\n"
    "@media (prefers-color-scheme:dark){:root{--ink:#ececec;--page:#181a1b;--faint:#b0b0b0;"
    "--line:#4a4d50;--mark:#f0b95e;--head:#26292b}}\n"
    "body{margin:0 auto;padding:1rem;max-width:60rem;background:var(--page);color:var(--ink);"
    "font:1rem/1.5 system-ui,sans-serif}\n"
    "h1{font-size:1.8rem;margin:0}h2{font-size:1.4rem;margin:2.2rem 0 .6rem;padding-top:.6rem;"
    "border-top:1px solid var(--line)}h3{font-size:1.1rem;margin:1.4rem 0 .4rem}\n"
    "p,ul{margin:.4rem 0;max-width:44rem}a{color:inherit}"
    "h1,h2,h3,p,ul,figcaption,caption{overflow-wrap:anywhere}select,input{max-width:100%}\n"
    ".under{margin-left:1.2rem}nav "
    "ul{padding:0;list-style:none;display:flex;flex-wrap:wrap;gap:.2rem 1.2rem}\n"
    ".mark{color:var(--mark);border:1px solid;padding:0 .5rem;font-size:.9rem;white-space:nowrap}\n"
    ".faint,figcaption{color:var(--faint);font-size:.9rem}.caution{font-weight:600}\n"
    "figure{margin:1rem 0;max-width:680px}figure img{display:block;width:100%;height:auto;"
    "background:#fff;border:1px solid var(--line)}\n"
    "pre{overflow-x:auto;font-size:.85rem}.wide{overflow-x:auto;margin:.8rem "
    "0}.far{content-visibility:auto}table{border-collapse:collapse;font-size:.85rem;"
    "font-variant-numeric:tabular-nums}\n"
    "caption{text-align:left;color:var(--faint);padding:.2rem 0}th,td{border:1px solid var(--line);"
    "padding:.15rem .4rem;text-align:left;vertical-align:top}th{font-weight:600}"
    "thead th{background:var(--head)}tbody th,.word{white-space:nowrap}"
    "tbody .long{white-space:normal;overflow-wrap:anywhere;min-width:4em}"
    "tbody th.long{min-width:9em}\n"
    "[aria-sort=ascending]::after{content:\" \\2191\"}[aria-sort=descending]::after{content:\" "
    "\\2193\"}\n"
    ".ticks{font-size:1rem;width:100%}.ticks tbody th{font-size:1.5rem}"
    ".ticks tbody th.long{font-size:1rem;min-width:7em}.ticks td:nth-child(4){min-width:12em}"
    ".ticks "
    "td{padding:.4rem}.seen{min-width:"
    "8rem}.box{display:inline-block;width:1.2rem;height:1.2rem;border:2px solid}\n"
    "@media screen and (max-width:600px){.wide,figure{overflow-x:auto;background:linear-gradient("
    "90deg,var(--page) 1rem,transparent 2rem) local,linear-gradient(270deg,var(--page) 1rem,"
    "transparent 2rem) right local,linear-gradient(90deg,var(--faint),transparent 1rem),"
    "linear-gradient(270deg,var(--faint),transparent 1rem) right;background-repeat:no-repeat}"
    "caption,figcaption{max-width:calc(100vw - 2.5rem);position:sticky;left:0}"
    "figure img{min-width:34rem}.wide td{min-width:6em}.ticks td,.ticks td.seen{min-width:2em;"
    "padding:.2rem}.ticks td:nth-child(4){min-width:8em}.ticks tbody th{font-size:1.1rem}}\n"
    "@page{margin:15mm}\n"
    "@media print{:root{--ink:#000;--page:#fff;--faint:#333;--line:#999;--mark:#000;--head:#eee}"
    "body{max-width:none;padding:0;font-size:10pt}figure,tr,h2,h3{break-inside:avoid}"
    "h2,h3,p:has(+figure){break-after:avoid}.wide{overflow:visible}.far{content-visibility:visible}"
    "table{font-size:7.5pt;line-height:1.25}th,td{padding:.1rem "
    ".25rem}figure{max-width:140mm}.choice{display:none}"
    "tbody "
    "th:not(.word){white-space:normal}.cask[hidden]{display:block}.cask{break-inside:avoid}"
    ".cask:has(figure){display:grid;grid-template-columns:88mm 1fr;grid-template-rows:auto auto "
    "auto 1fr;column-gap:5mm;align-items:start}.cask:has(figure)>*,.cask "
    "figcaption{grid-column:2}.cask:has(figure) .wide{grid-column:1/-1;margin:.2rem 0}"
    ".cask th,.cask td{padding:0 .25rem}.cask figure{display:contents}.cask figure "
    "img{grid-column:1;grid-row:1/5;margin-top:3mm}"
    "#crew{break-before:page}.sheet{break-before:page;break-after:page}h2+.sheet{break-before:"
    "avoid}.ticks{font-size:10pt}.ticks tbody "
    "th{font-size:16pt}tr[hidden]{display:table-row}pre{"
    "font-size:7.5pt;white-space:pre-wrap;overflow-wrap:anywhere}}\n";

const char *stv_html_script(void)
{
    return script;
}

const char *stv_html_script_hash(void)
{
    return script_hash;
}

void stv_html_begin(struct stv_text *page, const char *title)
{
    stv_text_add(
        page,
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n" STV_HTML_MARK
        "\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n");
    stv_text_format(page,
                    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                    "img-src data:; style-src 'unsafe-inline'; script-src 'sha256-%s'; "
                    "base-uri 'none'; form-action 'none'\"/>\n<title>",
                    script_hash);
    stv_quote_html(page, title, STV_QUOTE_MAX_CHARS);
    stv_text_add(page, "</title>\n<style>\n");
    stv_text_add(page, style);
    stv_text_add(page, "</style>\n</head>\n<body>\n");
}

void stv_html_end(struct stv_text *page)
{
    stv_text_add(page, "<script>");
    stv_text_add(page, script);
    stv_text_add(page, "</script>\n</body>\n</html>\n");
}

void stv_html_section(struct stv_text *page, const char *id, const char *heading)
{
    stv_text_format(page, "<section id=\"%s\">\n<h2>", id);
    stv_quote_html(page, heading, STV_QUOTE_MAX_CHARS);
    stv_text_add(page, "</h2>\n");
}

void stv_html_section_end(struct stv_text *page)
{
    stv_text_add(page, "</section>\n");
}

static void add_element(struct stv_text *page, const char *tag, const char *text)
{
    stv_text_format(page, "<%s>", tag);
    stv_quote_html(page, text, STV_HTML_TEXT_CHARS);
    stv_text_format(page, "</%s>\n", tag);
}

void stv_html_heading(struct stv_text *page, const char *text)
{
    add_element(page, "h3", text);
}

void stv_html_paragraph(struct stv_text *page, const char *css_class, const char *text)
{
    if (css_class == NULL) {
        add_element(page, "p", text);
        return;
    }
    stv_text_format(page, "<p class=\"%s\">", css_class);
    stv_quote_html(page, text, STV_HTML_TEXT_CHARS);
    stv_text_add(page, "</p>\n");
}

void stv_html_base64(struct stv_text *out, const char *bytes, size_t n)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    for (size_t i = 0; i < n; i += 3) {
        size_t n_here = n - i < 3 ? n - i : 3;
        unsigned group = 0;
        for (size_t k = 0; k < 3; k++)
            group = (group << 8) | (k < n_here ? (unsigned char)bytes[i + k] : 0U);
        char four[4];
        for (size_t k = 0; k < 4; k++)
            four[k] = k <= n_here ? digits[(group >> (18 - 6 * k)) & 63U] : '=';
        stv_text_add_bytes(out, four, sizeof four);
    }
}

static void add_picture(struct stv_text *page, const struct stv_chart *chart)
{
    stv_text_format(page, "<img width=\"%d\" height=\"%d\" alt=\"", STV_CHART_WIDTH_PX,
                    chart->height_px);
    stv_quote_html(page, stv_text_string(&chart->words), STV_HTML_TEXT_CHARS);
    stv_text_add(page, "\" src=\"data:image/svg+xml;base64,");
    stv_html_base64(page, chart->picture.bytes, chart->picture.n);
    stv_text_add(page, "\"/>\n");
}

void stv_html_figure(struct stv_text *page, const struct stv_chart *chart)
{
    if (chart->picture.n == 0) {
        stv_html_paragraph(page, NULL, stv_text_string(&chart->words));
        stv_sheet_html(&chart->table, stv_text_string(&chart->title), page);
        return;
    }
    stv_text_format(page, "<figure data-chart=\"%s\">\n", chart->name);
    add_picture(page, chart);
    stv_text_add(page, "<figcaption>");
    stv_quote_html(page, stv_text_string(&chart->note), STV_HTML_TEXT_CHARS);
    stv_text_format(page, " Numbers: <a href=\"charts/%s.csv\">charts/%s.csv</a>.", chart->name,
                    chart->name);
    stv_text_add(page, "</figcaption>\n</figure>\n");
}
