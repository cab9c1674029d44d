/* The crew's sheets: each on a page of its own in print, what must be heeded above the casks, big
 * ids, and boxes that are borders, so that they print without script or a special font. */
#include "plots/report_parts.h"

#include "plots/html.h"
#include "plots/quote.h"

#include <string.h>

#define BIG_ID_BYTES 10 /* a longer id is parted anywhere, so that the other columns keep room */

static void add_cell(struct stv_text *page, const char *open, const char *text, const char *close)
{
    stv_text_add(page, open);
    stv_quote_html(page, text, STV_QUOTE_MAX_CHARS);
    stv_text_add(page, close);
}

static void add_row(const struct stv_crew_row *row, struct stv_text *page)
{
    stv_text_add(page, row->has_box ? "<tr><td><span class=\"box\" role=\"img\" "
                                      "aria-label=\"box to tick\"></span></td>"
                                    : "<tr><td>no</td>");
    add_cell(page,
             strlen(row->cask_id) > BIG_ID_BYTES ? "<th scope=\"row\" class=\"long\">"
                                                 : "<th scope=\"row\">",
             row->cask_id, "</th>");
    add_cell(page, "<td>", row->place, "</td>");
    add_cell(page, "<td>", row->what, "</td><td class=\"seen\"></td></tr>\n");
}

static void add_sheet(const struct stv_report_input *input, const struct stv_crew_sheet *sheet,
                      struct stv_text *page)
{
    struct stv_text caption = {0};
    stv_text_format(page, "<div class=\"sheet\" id=\"sheet-%s\">\n", sheet->name);
    stv_html_heading(page, sheet->heading);
    stv_html_lines(page, sheet->cautions, sheet->n_cautions);
    stv_text_format(&caption, "%s, from ", input->house_name);
    stv_text_add_day(&caption, input->as_of_day_d);
    stv_text_format(&caption, ": %zu %s, in this order", sheet->n_rows,
                    sheet->n_rows == 1 ? "cask" : "casks");
    stv_text_add(page, "<div class=\"wide\"><table class=\"ticks\">\n");
    add_cell(page, "<caption>", stv_text_string(&caption), "</caption>\n");
    stv_text_add(page, "<thead><tr><th scope=\"col\">done</th><th scope=\"col\">cask</th>"
                       "<th scope=\"col\">place</th><th scope=\"col\">what</th>"
                       "<th scope=\"col\">seen, by whom</th></tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < sheet->n_rows; i++)
        add_row(&sheet->rows[i], page);
    stv_text_add(page, "</tbody>\n</table></div>\n");
    stv_html_paragraph(page, "caution",
                       "Planning figures. A gauge decides. Not a duty account. "
                       "Nothing here clears anyone to enter.");
    stv_text_add(page, "</div>\n");
    stv_text_free(&caption);
}

void stv__report_crew_sheets(const struct stv_report_input *input, struct stv_text *page)
{
    if (input->n_sheets == 0)
        stv_html_paragraph(page, NULL,
                           "No sheet: nothing is to be walked, opened, moved, watered or bottled "
                           "by what is known.");
    for (size_t i = 0; i < input->n_sheets; i++)
        add_sheet(input, &input->sheets[i], page);
}
