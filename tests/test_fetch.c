/* Fetching that ends well: new, unchanged, changed, resumed, tried again, unpacked, offline. */
#include "tests/fetch_case.h"

#include <zlib.h>

#define OLD "date,tmax\n2023-08-05,23.85\n"
#define NEW "date,tmax\n2023-08-05,23.85\n2023-08-06,31.4\n"
#define ETAG "\"quill-2385\""
#define MODIFIED "Sat, 05 Aug 2023 12:00:00 GMT"
#define VERSIONED "ETag: " ETAG, "Last-Modified: " MODIFIED
#define LONG_BYTES 300000

static const struct stv_http_reply old_reply = {.status = 200, .body = OLD, .headers = {VERSIONED}};

/* A case that has fetched OLD. */
static void open_with_old(struct stv_fetch_case *test)
{
    stv_fetch_case_open(test, NULL);
    stv_script(test, &old_reply, 1);
    fetch_ok(test);
    assert_false(test->got.was_in_cache);
    stv_assert_got(test, OLD, strlen(OLD));
}

static void new_file(void **state)
{
    (void)state;
    struct stv_fetch_case test;
    open_with_old(&test);
    struct stv_http_request request = stv_http_seen(test.server, 0);
    assert_string_equal(request.path, "/basin.csv");
    assert_string_equal(request.range, "");
    assert_string_equal(request.if_none_match, "");
    assert_string_equal(request.accept_encoding, "gzip");
    assert_int_equal(strlen(test.got.fetched_at), strlen("2026-11-25T15:46:08Z"));
    assert_int_equal(test.got.fetched_at[19], 'Z');
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
}

static void unchanged(void **state)
{
    (void)state;
    static const struct stv_http_reply replies[] = {{.status = 304, .headers = {VERSIONED}}};
    struct stv_fetch_case test;
    open_with_old(&test);
    stv_script(&test, replies, 1);
    fetch_ok(&test);
    assert_true(test.got.was_in_cache);
    stv_assert_got(&test, OLD, strlen(OLD));
    struct stv_http_request request = stv_http_seen(test.server, 0);
    assert_string_equal(request.if_none_match, ETAG);
    assert_string_equal(request.if_modified_since, MODIFIED);
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
}

/* The time of the copy is that of its last confirmation. */
static void confirmed_later(void **state)
{
    (void)state;
    static const struct stv_http_reply replies[] = {
        {.status = 304, .headers = {"ETag: \"renamed-88\""}}};
    struct stv_fetch_case test;
    open_with_old(&test);
    char first[24];
    memcpy(first, test.got.fetched_at, sizeof first);
    nanosleep(&(struct timespec){.tv_sec = 1, .tv_nsec = 50000000}, NULL);
    stv_script(&test, replies, 1);
    fetch_ok(&test);
    assert_true(strcmp(test.got.fetched_at, first) > 0);
    char confirmed[24];
    memcpy(confirmed, test.got.fetched_at, sizeof confirmed);
    stv_assert_offline(&test, OLD, strlen(OLD));
    assert_string_equal(test.got.fetched_at, confirmed);
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 1).if_none_match, "\"renamed-88\"");
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
}

static void changed(void **state)
{
    (void)state;
    static const struct stv_http_reply replies[] = {
        {.status = 200, .body = NEW, .headers = {"ETag: \"later\""}}, {.status = 304}};
    struct stv_fetch_case test;
    open_with_old(&test);
    stv_script(&test, replies, 2);
    fetch_ok(&test);
    assert_false(test.got.was_in_cache);
    stv_assert_got(&test, NEW, strlen(NEW));
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 1).if_none_match, "\"later\"");
    assert_string_equal(stv_http_seen(test.server, 1).if_modified_since, "");
    stv_assert_cache(&test, 1, 0);
    stv_assert_offline(&test, NEW, strlen(NEW));
    stv_fetch_case_close(&test);
}

/* Two addresses are two copies, also with the same bytes. */
static void two_addresses(void **state)
{
    (void)state;
    struct stv_fetch_case test;
    open_with_old(&test);
    stv_http_url(test.server, "/basin.csv?year=2024", test.url);
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 1).if_none_match, "");
    stv_assert_cache(&test, 2, 0);
    stv_fetch_case_close(&test);
}

static void offline(void **state)
{
    (void)state;
    struct stv_fetch_case test;
    open_with_old(&test);
    stv_assert_offline(&test, OLD, strlen(OLD));
    stv_http_url(test.server, "/other.csv", test.url);
    test.rules.is_offline = true;
    fetch_fails(&test, STV_E_NETWORK, "is not in the cache: fetch it once while online");
    assert_int_equal(stv_http_n_seen(test.server), 1);
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
}

/* A copy whose bytes have changed is no copy: offline it is refused, online fetched anew. */
static void damaged(void **state)
{
    (void)state;
    struct stv_fetch_case test;
    open_with_old(&test);
    FILE *file = fopen(test.got.path, "r+b");
    assert_non_null(file);
    assert_true(fputc('D', file) == 'D');
    assert_int_equal(fclose(file), 0);
    test.rules.is_offline = true;
    fetch_fails(&test, STV_E_NETWORK, "copy in the cache is damaged");
    test.rules.is_offline = false;
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 1).if_none_match, "");
    stv_assert_got(&test, OLD, strlen(OLD));
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
}

static void tried_again(void **state)
{
    (void)state;
    static const struct stv_http_reply replies[] = {
        {.status = 500, .body = "<html>out of order</html>"},
        {.status = 503},
        {.status = 200, .body = NEW}};
    struct stv_fetch_case test;
    open_with_old(&test);
    stv_script(&test, replies, 3);
    test.rules.first_wait_ms = 100;
    double start_s = stv_seconds();
    fetch_ok(&test);
    /* 100 ms, then twice as long. */
    assert_true(stv_seconds() - start_s >= 0.3);
    assert_int_equal(stv_http_n_seen(test.server), 3);
    stv_assert_got(&test, NEW, strlen(NEW));
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
}

/* Seconds, and a date by the server's own clock. */
static void waits_as_asked(void **state)
{
    (void)state;
    static const struct stv_http_reply seconds[] = {
        {.status = 429, .body = "<p>slow down", .headers = {"Retry-After: 1"}},
        {.status = 200, .body = NEW}};
    static const struct stv_http_reply date[] = {
        {.status = 503,
         .headers = {"Date: Sun, 06 Nov 1994 08:49:36 GMT",
                     "Retry-After: Sun, 06 Nov 1994 08:49:37 GMT"}},
        {.status = 200, .body = OLD}};
    struct stv_fetch_case test;
    open_with_old(&test);
    for (int k = 0; k < 2; k++) {
        stv_script(&test, k ? date : seconds, 2);
        double start_s = stv_seconds();
        fetch_ok(&test);
        double waited_s = stv_seconds() - start_s;
        assert_true(waited_s >= 1.0 && waited_s < 3.0);
        assert_int_equal(stv_http_n_seen(test.server), 2);
        stv_assert_cache(&test, 1, 0);
    }
    stv_assert_offline(&test, OLD, strlen(OLD));
    stv_fetch_case_close(&test);
}

static void resumed(void **state)
{
    (void)state;
    char *text = stv_long_text(LONG_BYTES);
    const struct stv_http_reply replies[] = {
        {.status = 200, .body = text, .headers = {VERSIONED}, .cut_after = 123456},
        {.status = 200, .body = text, .headers = {VERSIONED}, .has_ranges = true}};
    struct stv_fetch_case test;
    stv_fetch_case_open(&test, NULL);
    stv_script(&test, replies, 2);
    fetch_ok(&test);
    assert_int_equal(stv_http_n_seen(test.server), 2);
    struct stv_http_request request = stv_http_seen(test.server, 1);
    assert_string_equal(request.range, "bytes=123456-");
    assert_string_equal(request.if_range, ETAG);
    assert_string_equal(request.accept_encoding, "");
    stv_assert_got(&test, text, LONG_BYTES);
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
    free(text);
}

/* A date will do where there is no strong tag, and another call goes on where one was given up. */
static void resumed_by_date(void **state)
{
    (void)state;
    char *text = stv_long_text(LONG_BYTES);
    const struct stv_http_reply replies[] = {
        {.status = 200,
         .body = text,
         .headers = {"ETag: W/\"weak\"", "Last-Modified: " MODIFIED},
         .cut_after = 70001},
        {.status = 200,
         .body = text,
         .headers = {"ETag: W/\"weak\"", "Last-Modified: " MODIFIED},
         .has_ranges = true}};
    struct stv_fetch_case test;
    open_with_old(&test);
    stv_script(&test, replies, 2);
    test.rules.n_tries = 1;
    fetch_fails(&test, STV_E_NETWORK, "the body ended after 70001 of 300000 bytes");
    stv_assert_cache(&test, 1, 1);
    stv_assert_offline(&test, OLD, strlen(OLD));
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 1).range, "bytes=70001-");
    assert_string_equal(stv_http_seen(test.server, 1).if_range, MODIFIED);
    assert_string_equal(stv_http_seen(test.server, 1).if_none_match, ETAG);
    stv_assert_got(&test, text, LONG_BYTES);
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
    free(text);
}

/* Where nothing tells one version from another, or ranges are not given, it begins again. */
static void begun_again(void **state)
{
    (void)state;
    static const char *const headers[][2] = {{"ETag: W/\"weak\"", NULL},
                                             {"ETag: " ETAG, "Accept-Ranges: none"},
                                             {NULL, NULL},
                                             {"Date: " MODIFIED, "Last-Modified: " MODIFIED}};
    char *text = stv_long_text(LONG_BYTES);
    struct stv_fetch_case test;
    open_with_old(&test);
    for (size_t k = 0; k < sizeof headers / sizeof headers[0]; k++) {
        struct stv_http_reply replies[] = {{.status = 200,
                                            .body = text,
                                            .headers = {headers[k][0], headers[k][1]},
                                            .cut_after = 50000},
                                           {.status = 200, .body = text}};
        stv_script(&test, replies, 2);
        fetch_ok(&test);
        assert_string_equal(stv_http_seen(test.server, 1).range, "");
        stv_assert_got(&test, text, LONG_BYTES);
        stv_assert_cache(&test, 1, 0);
    }
    stv_fetch_case_close(&test);
    free(text);
}

/* The server ignores the range, has another version by now, cannot give the range, gives another
 * one, or that of another whole: in every case the new whole comes, never a mixture. */
static void rest_that_does_not_fit(void **state)
{
    (void)state;
    char *text = stv_long_text(LONG_BYTES), *other = stv_long_text(LONG_BYTES);
    other[0] = other[99999] = '#';
    const struct stv_http_reply cut = {
        .status = 200, .body = text, .headers = {VERSIONED}, .cut_after = 60000};
    const struct stv_http_reply whole = {
        .status = 200, .body = other, .headers = {"ETag: \"other\""}, .has_ranges = true};
    const struct stv_http_reply misfits[] = {
        whole,
        {.status = 416},
        {.status = 206, .body = NEW},
        {.status = 206, .body = NEW, .headers = {"Content-Range: bytes 100-141/300000"}},
        {.status = 206, .body = NEW, .headers = {"Content-Range: bytes 60000-60041/60042"}},
        {.status = 206, .body = NEW, .headers = {"Content-Range: bytes 60000-60041/*"}},
        {.status = 206,
         .body = NEW,
         .headers = {"Content-Range: bytes 60000-60041/300000", "ETag: \"other\""}},
        {.status = 206,
         .body = NEW,
         .headers = {"Content-Range: bytes 60000-60041/300000", "Content-Encoding: gzip"}}};
    struct stv_fetch_case test;
    stv_fetch_case_open(&test, NULL);
    test.rules.n_tries = 2;
    for (size_t k = 0; k < sizeof misfits / sizeof misfits[0]; k++) {
        const struct stv_http_reply replies[] = {cut, misfits[k], whole};
        char path[40];
        snprintf(path, sizeof path, "/%zu.csv", k);
        stv_http_url(test.server, path, test.url);
        stv_script(&test, replies, 3);
        fetch_ok(&test);
        assert_int_equal(stv_http_n_seen(test.server), k == 0 ? 2 : 3);
        assert_string_equal(stv_http_seen(test.server, 1).range, "bytes=60000-");
        stv_assert_got(&test, other, LONG_BYTES);
        stv_assert_cache(&test, k + 1, 0);
    }
    stv_fetch_case_close(&test);
    free(text);
    free(other);
}

/* A rest given in two pieces is asked for twice. */
static void rest_in_pieces(void **state)
{
    (void)state;
    static const struct stv_http_reply replies[] = {
        {.status = 200, .body = "0123456789", .headers = {VERSIONED}, .cut_after = 4},
        {.status = 206, .body = "456", .headers = {"Content-Range: bytes 4-6/10"}},
        {.status = 200, .body = "0123456789", .headers = {VERSIONED}, .has_ranges = true}};
    struct stv_fetch_case test;
    stv_fetch_case_open(&test, NULL);
    stv_script(&test, replies, 3);
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 2).range, "bytes=7-");
    stv_assert_got(&test, "0123456789", 10);
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
}

static size_t pack(const char *text, char *out, size_t room)
{
    z_stream stream = {.zalloc = Z_NULL};
    char copy[200];
    snprintf(copy, sizeof copy, "%s", text);
    assert_int_equal(deflateInit2(&stream, 6, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
    stream.next_in = (Bytef *)copy;
    stream.avail_in = (uInt)strlen(text);
    stream.next_out = (Bytef *)out;
    stream.avail_out = (uInt)room;
    assert_int_equal(deflate(&stream, Z_FINISH), Z_STREAM_END);
    deflateEnd(&stream);
    return room - stream.avail_out;
}

/* Packed for the way it is unpacked; a file that is packed itself stays so, whatever is said. */
static void packed(void **state)
{
    (void)state;
    char bytes[300];
    size_t n = pack(NEW, bytes, sizeof bytes);
    const struct stv_http_reply reply = {
        .status = 200, .body = bytes, .n = n, .headers = {"Content-Encoding: gzip"}};
    struct stv_fetch_case test;
    open_with_old(&test);
    stv_script(&test, &reply, 1);
    fetch_ok(&test);
    stv_assert_got(&test, NEW, strlen(NEW));
    stv_http_url(test.server, "/basin.csv.gz?part=1", test.url);
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 1).accept_encoding, "");
    stv_assert_got(&test, bytes, n);
    stv_assert_cache(&test, 2, 0);
    stv_fetch_case_close(&test);
}

static void sent_on(void **state)
{
    (void)state;
    static const struct stv_http_reply replies[] = {
        {.status = 301,
         .body = "<html>moved",
         .headers = {"Location: /here.csv", "ETag: \"page\""}},
        {.status = 307, .headers = {"Location: /there.csv"}},
        {.status = 200, .body = NEW}};
    struct stv_fetch_case test;
    open_with_old(&test);
    stv_script(&test, replies, 3);
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 2).path, "/there.csv");
    stv_assert_got(&test, NEW, strlen(NEW));
    /* The tag of the first page is not that of the file. */
    stv_script(&test, replies + 2, 1);
    fetch_ok(&test);
    assert_string_equal(stv_http_seen(test.server, 0).if_none_match, "");
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
}

struct told {
    size_t n;
    uint64_t got, total;
    bool has_fallen;
};

static void count(void *context, const char *url, uint64_t got, uint64_t total)
{
    struct told *told = context;
    told->n += strstr(url, "/basin.csv") != NULL;
    told->has_fallen = told->has_fallen || got < told->got;
    told->got = got;
    told->total = total;
}

static void progress(void **state)
{
    (void)state;
    char *text = stv_long_text(LONG_BYTES);
    const struct stv_http_reply replies[] = {
        {.status = 500, .body = "<html>not data"},
        {.status = 200, .body = text, .headers = {VERSIONED}, .cut_after = 123456},
        {.status = 200, .body = text, .headers = {VERSIONED}, .has_ranges = true}};
    struct told told = {.n = 0};
    struct stv_fetch_case test;
    stv_fetch_case_open(&test, NULL);
    stv_script(&test, replies, 3);
    test.rules.progress = count;
    test.rules.progress_context = &told;
    fetch_ok(&test);
    assert_true(told.n >= 1 && told.n < 20);
    assert_int_equal(told.got, LONG_BYTES);
    assert_int_equal(told.total, LONG_BYTES);
    assert_false(told.has_fallen);
    stv_assert_cache(&test, 1, 0);
    stv_fetch_case_close(&test);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(new_file),
        cmocka_unit_test(unchanged),
        cmocka_unit_test(confirmed_later),
        cmocka_unit_test(changed),
        cmocka_unit_test(two_addresses),
        cmocka_unit_test(offline),
        cmocka_unit_test(damaged),
        cmocka_unit_test(tried_again),
        cmocka_unit_test(waits_as_asked),
        cmocka_unit_test(resumed),
        cmocka_unit_test(resumed_by_date),
        cmocka_unit_test(begun_again),
        cmocka_unit_test(rest_that_does_not_fit),
        cmocka_unit_test(rest_in_pieces),
        cmocka_unit_test(packed),
        cmocka_unit_test(sent_on),
        cmocka_unit_test(progress),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
