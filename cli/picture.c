#include "cli/picture.h"

#include "cli/messages.h"
#include "cli/output.h"
#include "cli/targets.h"

#define PATH_BYTES 4096
#define WHY_MAX 512

static enum stv_status write_both(const struct stv_options *options, const char *path,
                                  const struct stv_chart *chart)
{
    struct stv_text table = {0};
    char beside[PATH_BYTES];
    stv_targets_beside(path, beside, sizeof beside);
    stv_sheet_csv(&chart->table, &table);
    enum stv_status status = stv_output_file(path, &chart->picture);
    if (status == STV_OK)
        status = stv_output_file(beside, &table);
    if (status == STV_OK)
        stv_messages_note(options, "Written: %s and %s", path, beside);
    stv_text_free(&table);
    return status;
}

enum stv_status stv_picture_write(const struct stv_options *options, const char *path,
                                  struct stv_chart *chart)
{
    enum stv_picture picture;
    char why[WHY_MAX] = "";
    if (!stv_picture_of_path(path, &picture))
        return STV_E_ARG;
    enum stv_status status = stv_charts_draw(chart, 1, picture, why, sizeof why);
    if (status != STV_OK) {
        stv_messages_error("The picture could not be drawn: %s", why);
        return status;
    }
    return write_both(options, path, chart);
}
