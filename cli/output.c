/* Results leave the program here.  A failed write, also the last flush of standard output, is an
 * error, so that a full disk cannot pass for an answer. */
#include "cli/output.h"

#include "cli/messages.h"
#include "cli/prose.h"
#include "ingest/write_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define WHY_MAX 512

static bool is_terminal(const char *path)
{
    const char *term = getenv("TERM");
    return strcmp(path, "-") == 0 && term && strcmp(term, "dumb") != 0 && isatty(STDOUT_FILENO);
}

static bool wants_bold(const struct stv_options *options, const char *path)
{
    const char *when = stv_options_text(options, STV_OPT_COLOR);
    if (strcmp(when, "auto") != 0)
        return strcmp(when, "always") == 0;
    const char *no_color = getenv("NO_COLOR");
    return !(no_color && *no_color) && is_terminal(path);
}

/* Copies text with its heading marks turned into bold, or dropped; without the lines that are
 * drawn where nobody looks. */
static void render(struct stv_text *out, const struct stv_text *text, bool is_bold, bool is_drawn)
{
    for (size_t i = 0; i < text->n;) {
        const char *line = text->bytes + i;
        const char *end = memchr(line, '\n', text->n - i);
        size_t length = end ? (size_t)(end - line) : text->n - i;
        bool is_heading = length > 0 && line[0] == STV_PROSE_HEADING_MARK;
        bool is_drawing = length > 0 && line[0] == STV_PROSE_DRAWING_MARK;
        i += length + (end != NULL);
        if (is_drawing && !is_drawn)
            continue;
        if (is_heading && is_bold)
            stv_text_add(out, "\033[1m");
        bool is_marked = is_heading || is_drawing;
        stv_prose_plain(out, line + is_marked, length - is_marked);
        if (is_heading && is_bold)
            stv_text_add(out, "\033[0m");
        if (end)
            stv_text_add(out, "\n");
    }
}

/* Standard output, a pipe or a device takes the bytes as they come. */
static enum stv_status write_stream(FILE *stream, const char *name, const struct stv_text *text)
{
    if (stream && text->n)
        fwrite(text->bytes, 1, text->n, stream);
    if (stream && fflush(stream) == 0 && !ferror(stream))
        return STV_OK;
    stv_messages_error("%s could not be written: %s.", name, strerror(errno));
    return STV_E_IO;
}

static enum stv_status write_special(const char *path, const struct stv_text *text)
{
    FILE *stream = fopen(path, "w");
    enum stv_status status = write_stream(stream, path, text);
    if (stream && fclose(stream) != 0 && status == STV_OK) {
        stv_messages_error("%s could not be written: %s.", path, strerror(errno));
        status = STV_E_IO;
    }
    return status;
}

enum stv_status stv_output_file(const char *path, const struct stv_text *text)
{
    if (text->has_failed) {
        stv_messages_error("Out of memory while making the answer; nothing was written.");
        return STV_E_MEMORY;
    }
    if (strcmp(path, "-") == 0)
        return write_stream(stdout, "The answer", text);
    struct stat found;
    bool exists = stat(path, &found) == 0;
    if (exists && !S_ISREG(found.st_mode) && !S_ISDIR(found.st_mode))
        return write_special(path, text);
    char why[WHY_MAX] = "";
    enum stv_status status = stv_write_file(path, stv_text_string(text), text->n, why, sizeof why);
    if (status != STV_OK)
        stv_messages_error("%s.", why[0] ? why : stv_status_text(status));
    return status;
}

/* A link to a file gives way to the answer: the file may be another book's. */
static bool is_link_to_file(const char *path)
{
    struct stat link, file;
    return lstat(path, &link) == 0 && S_ISLNK(link.st_mode) &&
           (stat(path, &file) != 0 || S_ISREG(file.st_mode));
}

enum stv_status stv_output_write(const struct stv_options *options, const struct stv_text *text)
{
    const char *path = stv_options_text(options, STV_OPT_OUTPUT);
    struct stv_text out = {.has_failed = text->has_failed};
    render(&out, text, wants_bold(options, path), is_terminal(path));
    bool was_link = is_link_to_file(path);
    enum stv_status status = stv_output_file(path, &out);
    if (status == STV_OK && strcmp(path, "-") != 0)
        stv_messages_note(options, "Written: %s%s", path,
                          was_link ? ", a file now: it was a link, and what it led to is as it was"
                                   : "");
    stv_text_free(&out);
    return status;
}
