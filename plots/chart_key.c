/* The key of the viridis ramp beside maps. */
#include "plots/chart.h"

#define STEPS 32
#define LABEL_X 1.4 /* widths of the key from its left edge */

void stv_chart_ramp_key(struct stv_chart *chart, const struct stv_chart_key *key)
{
    stv_chart_panel(chart, key->left_px, key->right_px, key->top_px, key->bottom_px);
    stv_chart_axis(chart, 'x', 0.0, 1.0);
    stv_chart_axis(chart, 'y', 0.0, 1.0);
    stv_text_add(&chart->script, "set border 0\nunset tics\n");
    size_t block = stv_chart_block(chart);
    for (size_t i = 0; i < STEPS; i++) {
        double low = (double)i / STEPS, high = (double)(i + 1) / STEPS;
        double middle = 0.5 * (low + high);
        const double row[] = {0.5, middle, 0.0, 1.0, low, high, (double)stv_chart_ramp(middle)};
        stv_chart_row(chart, row, sizeof row / sizeof row[0]);
    }
    for (int i = 0; i <= 2; i++) {
        struct stv_text text = {0};
        double value = key->least + 0.5 * i * (key->most - key->least);
        if (key->n_decimals > 0)
            stv_text_add_number(&text, value, key->n_decimals);
        else
            stv_text_add_count(&text, value);
        stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&text), LABEL_X, 0.5 * i,
                                                         "first", "left", STV_COLOUR_INK, 0});
        stv_text_free(&text);
    }
    stv_chart_layer(chart, block,
                    "using 1:2:3:4:5:6:7 with boxxyerror fs solid noborder lc rgb variable");
    stv_chart_panel_end(chart);
}
