/* Draws charts: scripts and data into a private folder, one gnuplot for all, pictures back.  An
 * error in one script stops gnuplot, so the charts after it get another run; a missing program
 * ends the attempt at once. */
#include "plots/chart.h"

#include "plots/gnuplot.h"

#include <stdio.h>
#include <string.h>

#define FILE_ENDING_MAX 8 /* ".done" and the closing zero */
#define SVG_PX_PER_INCH 96.0
#define PNG_PX_PER_INCH 300.0
#define POINTS_PER_INCH 72.0

static const char *const endings[STV_PICTURE_N] = {"svg", "png", "pdf"};

const char *stv_picture_ending(enum stv_picture picture)
{
    return endings[picture];
}

bool stv_picture_of_path(const char *path, enum stv_picture *out)
{
    const char *dot = strrchr(path, '.');
    for (int i = 0; dot != NULL && i < STV_PICTURE_N; i++)
        if (strcmp(dot + 1, endings[i]) == 0) {
            *out = (enum stv_picture)i;
            return true;
        }
    return false;
}

/* Sizes of type and line widths stand in the scripts for SVG; the others scale them. */
static void add_terminal(const struct stv_chart *chart, enum stv_picture picture,
                         struct stv_text *script)
{
    const double finer = PNG_PX_PER_INCH / SVG_PX_PER_INCH;
    const double points = POINTS_PER_INCH / SVG_PX_PER_INCH; /* in which these count type */
    stv_text_add(script, "reset\nset encoding utf8\nset decimalsign '.'\nset term ");
    switch (picture) {
    case STV_PICTURE_PNG:
        stv_text_format(script, "pngcairo size %d,%d fontscale ", (int)(STV_CHART_WIDTH_PX * finer),
                        (int)(chart->height_px * finer));
        stv_text_add_number(script, finer * points, 4);
        stv_text_add(script, " linewidth ");
        stv_text_add_number(script, finer, 4);
        stv_text_add(script, " pointscale ");
        stv_text_add_number(script, finer, 4);
        break;
    case STV_PICTURE_PDF:
        stv_text_add(script, "pdfcairo size ");
        stv_text_add_number(script, STV_CHART_WIDTH_PX / SVG_PX_PER_INCH, 4);
        stv_text_add(script, ",");
        stv_text_add_number(script, chart->height_px / SVG_PX_PER_INCH, 4);
        stv_text_add(script, " fontscale "); /* counts type in points, then by 96 to 72 */
        stv_text_add_number(script, points * points, 4);
        stv_text_add(script, " linewidth 1.5"); /* its unit is half a point, SVG's a pixel */
        break;
    default:
        stv_text_format(script, "svg size %d,%d fixed", STV_CHART_WIDTH_PX, chart->height_px);
        break;
    }
    stv_text_format(script,
                    " noenhanced font 'sans-serif,%d' background rgb '#ffffff'\n"
                    "set output '%s.%s'\n",
                    STV_CHART_FONT_PX, chart->name, endings[picture]);
}

/* Charts on their way through gnuplot, all as pictures of one kind. */
struct drawing {
    struct stv_gnuplot *gnuplot;
    enum stv_picture picture;
    struct stv_chart *charts;
    size_t n;
};

static enum stv_status put_charts(const struct drawing *drawing, size_t from)
{
    const struct stv_chart *charts = drawing->charts;
    struct stv_text script = {0};
    enum stv_status status = STV_OK;
    for (size_t i = from; i < drawing->n && status == STV_OK; i++) {
        char name[STV_CHART_NAME_MAX + FILE_ENDING_MAX];
        snprintf(name, sizeof name, "%s.dat", charts[i].name);
        status = stv_chart_status(&charts[i]);
        if (status == STV_OK)
            status = stv_gnuplot_put(drawing->gnuplot, name, &charts[i].data);
        add_terminal(&charts[i], drawing->picture, &script);
        stv_text_add(&script, stv_text_string(&charts[i].script));
    }
    if (status == STV_OK)
        status = stv_gnuplot_put(drawing->gnuplot, "report.gp", &script);
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

/* A PDF tells when it was made, so that no two would be alike: its digits are overwritten. */
static void forget_time(struct stv_text *pdf)
{
    static const char key[] = "/CreationDate (D:";
    for (size_t i = 0; i + sizeof key < pdf->n; i++) {
        if (memcmp(pdf->bytes + i, key, sizeof key - 1) != 0)
            continue;
        for (char *at = pdf->bytes + i + sizeof key - 1; *at >= '0' && *at <= '9'; at++)
            *at = '0';
        return;
    }
}

/* Takes a picture that is whole.  gnuplot closes the SVG even when it stops at an error, so the
 * sign is the note that the chart's script writes at its end. */
static bool take_picture(const struct drawing *drawing, struct stv_chart *chart)
{
    struct stv_text note = {0};
    const char *ending = endings[drawing->picture];
    bool is_whole = get_file(drawing->gnuplot, chart, "done", &note) == STV_OK &&
                    get_file(drawing->gnuplot, chart, ending, &chart->picture) == STV_OK &&
                    chart->picture.n > 0;
    stv_text_free(&note);
    if (!is_whole)
        stv_text_free(&chart->picture);
    else if (drawing->picture == STV_PICTURE_PDF)
        forget_time(&chart->picture);
    return is_whole;
}

/* Takes the pictures in order; returns the index of the first that is missing, or n. */
static size_t take_pictures(const struct drawing *drawing, size_t from)
{
    for (size_t i = from; i < drawing->n; i++)
        if (!take_picture(drawing, &drawing->charts[i]))
            return i;
    return drawing->n;
}

static enum stv_status draw_in_folder(const struct drawing *drawing, char *why, size_t size)
{
    enum stv_status worst = STV_OK;
    for (size_t from = 0; from < drawing->n;) {
        char said[256] = "";
        enum stv_status status = put_charts(drawing, from);
        if (status != STV_OK)
            return status;
        status =
            stv_gnuplot_run(drawing->gnuplot, "report.gp", STV_GNUPLOT_LIMIT_S, said, sizeof said);
        size_t missing = take_pictures(drawing, from);
        if (why[0] == '\0')
            snprintf(why, size, "%s", said);
        if (status != STV_OK || missing < drawing->n)
            worst = status != STV_OK ? status : STV_E_PROGRAM;
        if (missing == from && strstr(said, STV_GNUPLOT_INSTALL) != NULL)
            return worst;
        from = missing + 1;
    }
    return worst;
}

enum stv_status stv_charts_draw(struct stv_chart *charts, size_t n, enum stv_picture picture,
                                char *why, size_t size)
{
    struct drawing drawing = {NULL, picture, charts, n};
    why[0] = '\0';
    enum stv_status status = stv_gnuplot_new(&drawing.gnuplot);
    if (status != STV_OK) {
        snprintf(why, size, "no temporary folder could be made");
        return status;
    }
    status = draw_in_folder(&drawing, why, size);
    stv_gnuplot_free(drawing.gnuplot);
    return status;
}
