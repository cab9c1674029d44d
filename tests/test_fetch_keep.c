/* What a fetch writes into a book: the bytes, what is said of them, and nothing over what a person
 * put there. */
#include "tests/check.h"
#include "tests/scratch.h"

#include "ingest/fetch_keep.h"
#include "ingest/hash.h"
#include "ingest/weather_meta.h"
#include "ingest/whole_file.h"

#include <string.h>
#include <sys/stat.h>

#define NAME "isd-lite-723630-23047-2020.gz"
#define DESCRIPTION "isd-lite-723630-23047-2020.meta.yaml"
#define MOST ((size_t)1 << 20)

struct opened {
    struct stv_scratch scratch;
    char folder[200];
    struct stv_fetched fetched;
    struct stv_fetch_origin origin;
    struct stv_site_position site;
    struct stv_kept kept;
    char why[600];
};

static const char address[] = "https://host/2020.gz?a=\"b\"\\c";

/* The cache's copy becomes these bytes. */
static void serve(struct opened *one, const char *bytes, const char *when)
{
    char name[24];
    snprintf(name, sizeof name, "copy-%zu", one->scratch.n);
    const char *path = stv_scratch_text(&one->scratch, name, bytes);
    snprintf(one->fetched.path, sizeof one->fetched.path, "%s", path);
    stv_bytes_sha256(bytes, strlen(bytes), one->fetched.sha256);
    snprintf(one->fetched.fetched_at, sizeof one->fetched.fetched_at, "%s", when);
    one->fetched.n_bytes = strlen(bytes);
}

static void begin(struct opened *one)
{
    *one = (struct opened){.site = {35.23, -101.7, 1099.4}};
    stv_scratch_open(&one->scratch);
    snprintf(one->folder, sizeof one->folder, "%s/weather", one->scratch.folder);
    assert_int_equal(mkdir(one->folder, 0777), 0);
    one->origin = (struct stv_fetch_origin){.url = address,
                                            .source = "NOAA \"ISD-Lite\", station\n\\1",
                                            .licence = "public domain",
                                            .attribution = "NOAA",
                                            .site = &one->site};
    serve(one, "first bytes\n", "2026-11-25T15:46:08Z");
}

static enum stv_status keep(struct opened *one)
{
    one->why[0] = '\0';
    return stv_fetch_keep(&one->fetched, &one->origin, one->folder, NAME, &one->kept, one->why,
                          sizeof one->why);
}

static void assert_text(const struct opened *one, const char *name, const char *wanted)
{
    char path[400], why[200], *text;
    size_t n;
    snprintf(path, sizeof path, "%s/%s", one->folder, name);
    stv_assert_ok(stv__whole_file(path, MOST, &text, &n, why, sizeof why));
    assert_string_equal(text, wanted);
    free(text);
}

static void put(const struct opened *one, const char *name, const char *text)
{
    char path[400];
    snprintf(path, sizeof path, "%s/%s", one->folder, name);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, strlen(text), file), strlen(text));
    assert_int_equal(fclose(file), 0);
}

static void end(struct opened *one)
{
    static const char *const names[] = {NAME, DESCRIPTION};
    char path[400];
    for (size_t i = 0; i < 2; i++) {
        snprintf(path, sizeof path, "%s/%s", one->folder, names[i]);
        unlink(path);
    }
    assert_int_equal(rmdir(one->folder), 0); /* nothing else was left there */
    stv_scratch_close(&one->scratch);
}

/* The description is one that the readers of weather take, with all that was said. */
static void a_new_file_is_described(void **state)
{
    struct opened one;
    struct stv_problems problems;
    struct stv_yaml_node *root = NULL;
    struct stv_weather_meta meta;
    (void)state;
    begin(&one);
    stv_assert_ok(keep(&one));
    assert_int_equal(one.kept.outcome, STV_KEPT_NEW);
    assert_int_equal(one.kept.description, STV_DESCRIBED_NEW);
    assert_text(&one, NAME, "first bytes\n");
    stv_problems_init(&problems);
    stv_assert_ok(stv_yaml_read(one.kept.description_path, "meta", &problems, &root));
    stv_weather_meta_from_yaml(root, "meta", &problems, &meta);
    assert_int_equal(problems.n_total, 0);
    assert_string_equal(meta.source, "NOAA \"ISD-Lite\", station\\1");
    assert_string_equal(meta.licence, "public domain");
    assert_true(meta.has_site);
    stv_assert_close(meta.site.latitude_deg, 35.23, 0, 1e-9);
    stv_assert_close(meta.site.longitude_deg, -101.7, 0, 1e-9);
    stv_assert_close(meta.site.elevation_m, 1099.0, 0, 1e-9);
    assert_string_equal(stv_yaml_find(root, "url")->text, address);
    assert_string_equal(stv_yaml_find(root, "sha256")->text, one.fetched.sha256);
    assert_string_equal(stv_yaml_find(root, "fetched")->text, "2026-11-25T15:46:08Z");
    assert_string_equal(stv_yaml_find(root, "attribution")->text, "NOAA");
    stv_yaml_free(root);
    stv_problems_free(&problems);
    end(&one);
}

static void the_same_bytes_change_nothing(void **state)
{
    struct opened one;
    struct stat before, after;
    (void)state;
    begin(&one);
    stv_assert_ok(keep(&one));
    assert_int_equal(stat(one.kept.path, &before), 0);
    serve(&one, "first bytes\n", "2026-12-01T00:00:00Z");
    stv_assert_ok(keep(&one));
    assert_int_equal(one.kept.outcome, STV_KEPT_SAME);
    assert_int_equal(one.kept.description, STV_DESCRIBED_ALREADY);
    assert_int_equal(stat(one.kept.path, &after), 0);
    assert_true(before.st_ino == after.st_ino);
    end(&one);
}

/* Newer bytes of the same address take the place of the earlier; a person's lines stay. */
static void an_update_keeps_what_a_person_added(void **state)
{
    struct opened one;
    char text[1200], *whole, why[200];
    size_t n;
    (void)state;
    begin(&one);
    stv_assert_ok(keep(&one));
    stv_assert_ok(stv__whole_file(one.kept.description_path, MOST, &whole, &n, why, sizeof why));
    snprintf(text, sizeof text, "# mine\nclock: UTC-06:00\n%s# end", whole);
    free(whole);
    put(&one, DESCRIPTION, text);
    serve(&one, "second bytes\n", "2026-12-01T00:00:00Z");
    stv_assert_ok(keep(&one));
    assert_int_equal(one.kept.outcome, STV_KEPT_UPDATED);
    assert_text(&one, NAME, "second bytes\n");
    stv_assert_ok(stv__whole_file(one.kept.description_path, MOST, &whole, &n, why, sizeof why));
    assert_memory_equal(whole, "# mine\nclock: UTC-06:00\nsource:", 30);
    assert_string_equal(whole + n - 5, "# end");
    assert_non_null(strstr(whole, one.fetched.sha256));
    assert_non_null(strstr(whole, "fetched: \"2026-12-01T00:00:00Z\"\n"));
    free(whole);
    serve(&one, "third bytes\n", "2026-12-02T00:00:00Z"); /* ... and again */
    stv_assert_ok(keep(&one));
    assert_int_equal(one.kept.outcome, STV_KEPT_UPDATED);
    end(&one);
}

/* Bytes that somebody changed, of another address, or without a description are never replaced. */
static void other_content_is_left_alone(void **state)
{
    struct opened one;
    (void)state;
    begin(&one);
    stv_assert_ok(keep(&one));
    put(&one, NAME, "first bytes\nand one typed by hand\n");
    serve(&one, "second bytes\n", "2026-12-01T00:00:00Z");
    stv_assert_status(keep(&one), STV_E_CONSISTENCY);
    assert_non_null(strstr(one.why, NAME));
    assert_text(&one, NAME, "first bytes\nand one typed by hand\n");
    end(&one);

    begin(&one);
    stv_assert_ok(keep(&one));
    one.origin.url = "https://elsewhere/2020.gz";
    serve(&one, "second bytes\n", "2026-12-01T00:00:00Z");
    stv_assert_status(keep(&one), STV_E_CONSISTENCY);
    assert_text(&one, NAME, "first bytes\n");
    one.origin.is_named_after_it = true; /* the name says that it is the same thing */
    stv_assert_ok(keep(&one));
    assert_text(&one, NAME, "second bytes\n");
    end(&one);

    begin(&one); /* the description of a file that is gone, of another address */
    stv_assert_ok(keep(&one));
    assert_int_equal(remove(one.kept.path), 0);
    one.origin.url = "https://elsewhere/2020.csv";
    stv_assert_status(keep(&one), STV_E_CONSISTENCY);
    assert_non_null(strstr(one.why, "describes a file of another address"));
    one.origin.is_named_after_it = true;
    stv_assert_ok(keep(&one));
    end(&one);

    begin(&one);
    put(&one, NAME, "a person's file\n");
    stv_assert_status(keep(&one), STV_E_CONSISTENCY);
    assert_text(&one, NAME, "a person's file\n");
    assert_int_not_equal(access(one.kept.description_path, F_OK), 0);
    end(&one);
}

static void a_description_by_hand_is_left_alone(void **state)
{
    struct opened one;
    (void)state;
    begin(&one);
    put(&one, DESCRIPTION, "clock: UTC\n");
    stv_assert_ok(keep(&one));
    assert_int_equal(one.kept.description, STV_DESCRIBED_BY_OTHER);
    assert_text(&one, DESCRIPTION, "clock: UTC\n");
    assert_text(&one, NAME, "first bytes\n");
    end(&one);
}

/* The power failed between the bytes and their description: the next fetch mends it. */
static void a_description_left_behind_is_mended(void **state)
{
    struct opened one;
    (void)state;
    begin(&one);
    stv_assert_ok(keep(&one));
    put(&one, NAME, "second bytes\n");
    serve(&one, "second bytes\n", "2026-12-01T00:00:00Z");
    stv_assert_ok(keep(&one));
    assert_int_equal(one.kept.outcome, STV_KEPT_SAME);
    serve(&one, "third bytes\n", "2026-12-02T00:00:00Z");
    stv_assert_ok(keep(&one));
    assert_int_equal(one.kept.outcome, STV_KEPT_UPDATED);
    end(&one);
}

static void what_cannot_be_written_is_said(void **state)
{
    static const char *const names[] = {"../x.gz", "a/b", "", ".hidden", "x.meta.yaml"};
    struct opened one;
    struct stv_site_position unknown = {35.2, -101.7, (double)NAN};
    (void)state;
    begin(&one);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        stv_assert_status(stv_fetch_keep(&one.fetched, &one.origin, one.folder, names[i], &one.kept,
                                         one.why, sizeof one.why),
                          STV_E_ARG);
    stv_assert_status(stv_fetch_keep(&one.fetched, &one.origin, "/nowhere/at/all", NAME, &one.kept,
                                     one.why, sizeof one.why),
                      STV_E_IO);
    assert_true(one.why[0] != '\0');
    snprintf(one.fetched.path, sizeof one.fetched.path, "%s/gone", one.scratch.folder);
    stv_assert_status(keep(&one), STV_E_IO);
    serve(&one, "first bytes\n", "2026-11-25T15:46:08Z");
    one.origin.site = &unknown; /* a position needs its height */
    stv_assert_ok(keep(&one));
    char *text, why[200];
    size_t n;
    stv_assert_ok(stv__whole_file(one.kept.description_path, MOST, &text, &n, why, sizeof why));
    assert_null(strstr(text, "position"));
    free(text);
    end(&one);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_new_file_is_described),
        cmocka_unit_test(the_same_bytes_change_nothing),
        cmocka_unit_test(an_update_keeps_what_a_person_added),
        cmocka_unit_test(other_content_is_left_alone),
        cmocka_unit_test(a_description_by_hand_is_left_alone),
        cmocka_unit_test(a_description_left_behind_is_mended),
        cmocka_unit_test(what_cannot_be_written_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
