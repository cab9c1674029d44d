/* An empty book: every file with a word on each key and column, and one example row that holds
 * together, so that it can be checked at once and changed line by line.  Everything is written
 * into a folder of its own beside the target first and moved into place in the end; a failure
 * takes back what was moved. */
#include "ingest/book.h"
#include "ingest/book_parts.h"
#include "ingest/table.h"
#include "ingest/write_file.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

extern const char stv__new_book_text[]; /* new_book.yaml */

static const char casks_csv[] =
    "# The wood, one row per cask.\n"
    "# cask    its number or name, as painted on the head\n"
    "# size    capacity with its unit: 200 L, 53 US gal\n"
    "# held    what was in it before it came: new, bourbon, sherry, port, wine, whisky, rum ...\n"
    "# uses    times it was filled with spirit to mature since then; 0 for the first fill here\n"
    "# wood, toast, note   your own words;  stave  thickness, like 27 mm, when measured\n"
    "# kind    what you call such a cask; made from size, held and uses when left empty\n"
    "# A fill may stand in the same row, in columns filled, litres, strength, warehouse, tier, "
    "bay,\n"
    "# depth and soaked; then it needs no row in history.csv.  A column stencil holds what is "
    "painted\n"
    "# on the head, typed whole: it stands in for cells left empty, and check tells how it was "
    "read.\n"
    "cask,size,held,uses,wood,toast,stave,kind,note\n"
    "1,200 L,new,0,American oak,medium,,," STV_EXAMPLE_NOTE "\n";

static const char history_csv[] =
    "# The spirit, one row per thing done.  Dates like 2024-03-14, or as vague as they are: "
    "2019-10,\n"
    "# October 2019, about 2019-10-14; check tells which day was taken.\n"
    "# what        fill, move, transfer, marry, add water, top up, sample, leak stopped,\n"
    "#             rejuvenate, empty;  rows in any order\n"
    "# to          transfer, marry: the cask it goes into, empty for a whole transfer, holding "
    "spirit\n"
    "#             for marry;  litres empty: all of it\n"
    "# litres      fill, transfer, marry, top up, sample;   strength  fill, top up (60 %vol, 120 "
    "US "
    "proof)\n"
    "# water       add water: how much, like 11.7 kg\n"
    "# warehouse, tier, bay, depth   fill, move, transfer: where it lies then; tier 1 is the "
    "floor\n"
    "# soaked      fill: yes when the wood is wet already and drinks nothing in\n"
    "# filled      a column to add for top up: when that spirit first met wood; else it is new\n"
    "date,what,cask,to,litres,strength,water,warehouse,tier,bay,depth,soaked,note\n"
    "2024-03-14,fill,1,,195 L,60 %vol,,First Shed,3,4,1,no," STV_EXAMPLE_NOTE "\n";

static const char gauges_csv[] =
    "# What was measured or nosed, one row each; leave out what was not.  A measure may end with "
    "its\n"
    "# error: 57.2 %vol +- 0.1.\n"
    "# litres     at 20 C, or at temp;   strength  true;   reading  what the instrument showed, "
    "with "
    "temp\n"
    "# gross      cask and spirit, of two scales 96.4 kg + 120.2 kg;   net  spirit alone\n"
    "# tare       empty cask;   tare was  dry or wet: dry wood drinks 3 to 6 L after it was "
    "weighed\n"
    "# dip        depth of the spirit at the bung;   dry dip  from the bung down to it (cm, 3 "
    "fingers)\n"
    "# colour     7 of 12, by your own card\n"
    "# nose       not yet, nearly, ready, over, or 0 to 10;   blind  yes or no;   by  initials\n"
    "# seeps      yes when it weeps somewhere\n"
    "date,cask,litres,strength,reading,temp,gross,tare,tare was,net,dip,dry "
    "dip,colour,nose,blind,by,"
    "seeps,note\n"
    "2024-09-24,1,191 L,60.1 %vol,,,,,,,,,3 of 12,not yet,no,AB,no," STV_EXAMPLE_NOTE "\n";

static const char loggers_csv[] =
    "# Which file of loggers/ hung where.  Take the # of the example away once the file is there.\n"
    "# warehouse         its name, or \"outdoors\" for a logger in the yard (then no tier)\n"
    "# clock             what its stamps mean: UTC, UTC-06:00; the site's clock when left empty\n"
    "#                   or local time with its rule, \"CST6CDT,M3.2.0,M11.1.0\"\n"
    "# dates             day first, month first or year first, where a file leaves it open\n"
    "# sensor            which one, where a file holds several\n"
    "# from, to          first and last day to be used\n"
    "# temp_correction   added to what it read, like -0.3 K;   rh_correction  like 2 %\n"
    "file,warehouse,tier,bay,depth,clock,dates,sensor,from,to,temp_correction,rh_correction\n"
    "# shed-tier-3.csv,First Shed,3,4,1,UTC-06:00,,,2024-03-15,,,\n";

struct part {
    const char *name, *text; /* text NULL: a folder */
};
static const struct part parts[] = {
    {"book.yaml", stv__new_book_text},
    {"casks.csv", casks_csv},
    {"history.csv", history_csv},
    {"gauges.csv", gauges_csv},
    {"loggers.csv", loggers_csv},
    {"loggers", NULL},
    {"weather", NULL},
};
#define N_PARTS (sizeof parts / sizeof parts[0])

__attribute__((format(printf, 3, 4))) static void say(char *why, size_t size, const char *format,
                                                      ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(why, size, format, arguments);
    va_end(arguments);
}

static enum stv_status write_part(const char *folder, const struct part *part, char *why,
                                  size_t size)
{
    char path[STV__PATH_MAX];
    if (!stv__join_path(folder, part->name, path)) {
        say(why, size, "the path is too long");
        return STV_E_IO;
    }
    if (part->text)
        return stv_write_file(path, part->text, strlen(part->text), why, size);
    if (mkdir(path, 0777) != 0) {
        say(why, size, "cannot make %s: %s", path, strerror(errno));
        return STV_E_IO;
    }
    return STV_OK;
}

static void remove_part(const char *folder, const struct part *part)
{
    char path[STV__PATH_MAX];
    if (stv__join_path(folder, part->name, path))
        remove(path);
}

/* Moves the parts into a folder that is there already; takes all back when one cannot be moved. */
static enum stv_status move_parts(const char *from, const char *folder, char *why, size_t size)
{
    for (size_t i = 0; i < N_PARTS; i++) {
        char source[STV__PATH_MAX], target[STV__PATH_MAX];
        bool fits = stv__join_path(from, parts[i].name, source) &&
                    stv__join_path(folder, parts[i].name, target);
        if (fits && rename(source, target) == 0)
            continue;
        say(why, size, "cannot write %s: %s", target, fits ? strerror(errno) : "path too long");
        while (i-- > 0)
            remove_part(folder, &parts[i]);
        return STV_E_IO;
    }
    return STV_OK;
}

/* A new book never touches what is there. */
static enum stv_status check_target(const char *folder, bool *out_exists, char *why, size_t size)
{
    struct stat about;
    *out_exists = stat(folder, &about) == 0;
    if (*out_exists && !S_ISDIR(about.st_mode)) {
        say(why, size, "%s is a file: name a folder", folder);
        return STV_E_USAGE;
    }
    for (size_t i = 0; *out_exists && i < N_PARTS; i++) {
        char path[STV__PATH_MAX];
        if (stv__join_path(folder, parts[i].name, path) && stv__exists(path)) {
            say(why, size, "%s is there already: name another folder", path);
            return STV_E_USAGE;
        }
    }
    return STV_OK;
}

/* A private folder beside the target, or inside it when it exists, on the same disk either way. */
static enum stv_status make_work_folder(const char *folder, bool exists, char out[STV__PATH_MAX],
                                        char *why, size_t size)
{
    int n = snprintf(out, STV__PATH_MAX, exists ? "%s/.new-XXXXXX" : "%s.new-XXXXXX", folder);
    if (n < 0 || n >= STV__PATH_MAX) {
        say(why, size, "the path is too long");
        return STV_E_IO;
    }
    if (!mkdtemp(out)) {
        say(why, size, "cannot make a folder at %s: %s", folder, strerror(errno));
        return STV_E_IO;
    }
    /* mkdtemp makes it private; the book is an ordinary folder. */
    mode_t mask = umask(0);
    umask(mask);
    if (chmod(out, 0777 & ~mask) != 0) {
        say(why, size, "cannot open up %s: %s", out, strerror(errno));
        rmdir(out);
        return STV_E_IO;
    }
    return STV_OK;
}

enum stv_status stv_book_new(const char *folder, char *why, size_t size)
{
    char target[STV__PATH_MAX], work[STV__PATH_MAX];
    bool exists = false;
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/')
        length--;
    if (length == 0 || length >= sizeof target) {
        say(why, size, "is not a folder's path");
        return STV_E_USAGE;
    }
    memcpy(target, folder, length);
    target[length] = '\0';
    enum stv_status status = check_target(target, &exists, why, size);
    if (status == STV_OK)
        status = make_work_folder(target, exists, work, why, size);
    if (status != STV_OK)
        return status;
    for (size_t i = 0; i < N_PARTS && status == STV_OK; i++)
        status = write_part(work, &parts[i], why, size);
    if (status == STV_OK && exists)
        status = move_parts(work, target, why, size);
    else if (status == STV_OK && rename(work, target) != 0) {
        say(why, size, "cannot make %s: %s", target, strerror(errno));
        status = STV_E_IO;
    }
    for (size_t i = 0; i < N_PARTS && (status != STV_OK || exists); i++)
        remove_part(work, &parts[i]);
    if (status != STV_OK || exists)
        rmdir(work);
    return status;
}
