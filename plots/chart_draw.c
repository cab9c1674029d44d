/* Draws charts: scripts and data into a private folder, one gnuplot for all, pictures back.  An
 * error in one script stops gnuplot, so the charts after it get another run; a missing program
 * ends the attempt at once. */
#include "plots/chart.h"

#include "plots/gnuplot.h"

#include <stdio.h>
#include <string.h>

#define FILE_ENDING_MAX 8 /* ".done" and the closing zero */

static enum stv_status put_charts(const struct stv_gnuplot *gnuplot, const struct stv_chart *charts,
                                  size_t from, size_t n)
{
    struct stv_text script = {0};
    enum stv_status status = STV_OK;
    for (size_t i = from; i < n && status == STV_OK; i++) {
        char name[STV_CHART_NAME_MAX + FILE_ENDING_MAX];
        snprintf(name, sizeof name, "%s.dat", charts[i].name);
        status = stv_chart_status(&charts[i]);
        if (status == STV_OK)
            status = stv_gnuplot_put(gnuplot, name, &charts[i].data);
        stv_text_add(&script, stv_text_string(&charts[i].script));
    }
    if (status == STV_OK)
        status = stv_gnuplot_put(gnuplot, "report.gp", &script);
    stv_text_free(&script);
    return status;
}

static enum stv_status get_file(const struct stv_gnuplot *gnuplot, const struct stv_chart *chart,
                                const char *ending, struct stv_text *out)
{
    char name[STV_CHART_NAME_MAX + FILE_ENDING_MAX];
    snprintf(name, sizeof name, "%s.%s", chart->name, ending);
    return stv_gnuplot_get(gnuplot, name, out);
}

/* Takes a picture that is whole.  gnuplot closes the SVG even when it stops at an error, so the
 * sign is the note that the chart's script writes at its end. */
static bool take_picture(const struct stv_gnuplot *gnuplot, struct stv_chart *chart)
{
    struct stv_text note = {0};
    bool is_whole = get_file(gnuplot, chart, "done", &note) == STV_OK &&
                    get_file(gnuplot, chart, "svg", &chart->svg) == STV_OK && chart->svg.n > 0;
    stv_text_free(&note);
    if (!is_whole)
        stv_text_free(&chart->svg);
    return is_whole;
}

/* Takes the pictures in order; returns the index of the first that is missing, or n. */
static size_t take_pictures(const struct stv_gnuplot *gnuplot, struct stv_chart *charts,
                            size_t from, size_t n)
{
    for (size_t i = from; i < n; i++)
        if (!take_picture(gnuplot, &charts[i]))
            return i;
    return n;
}

static enum stv_status draw_in_folder(const struct stv_gnuplot *gnuplot, struct stv_chart *charts,
                                      size_t n, char *why, size_t size)
{
    enum stv_status worst = STV_OK;
    for (size_t from = 0; from < n;) {
        char said[256] = "";
        enum stv_status status = put_charts(gnuplot, charts, from, n);
        if (status != STV_OK)
            return status;
        status = stv_gnuplot_run(gnuplot, "report.gp", STV_GNUPLOT_LIMIT_S, said, sizeof said);
        size_t missing = take_pictures(gnuplot, charts, from, n);
        if (why[0] == '\0')
            snprintf(why, size, "%s", said);
        if (status != STV_OK || missing < n)
            worst = status != STV_OK ? status : STV_E_PROGRAM;
        if (missing == from && strstr(said, STV_GNUPLOT_INSTALL) != NULL)
            return worst;
        from = missing + 1;
    }
    return worst;
}

enum stv_status stv_charts_draw(struct stv_chart *charts, size_t n, char *why, size_t size)
{
    struct stv_gnuplot *gnuplot = NULL;
    why[0] = '\0';
    enum stv_status status = stv_gnuplot_new(&gnuplot);
    if (status != STV_OK) {
        snprintf(why, size, "no temporary folder could be made");
        return status;
    }
    status = draw_in_folder(gnuplot, charts, n, why, size);
    stv_gnuplot_free(gnuplot);
    return status;
}
