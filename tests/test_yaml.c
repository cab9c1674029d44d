/* YAML as a tree with places, and the typed getters: each mistake that a person can make is said
 * with line, column and advice. */
#include "tests/check.h"
#include "tests/scratch.h"

#include "ingest/yaml.h"
#include "model/calendar.h"

#include <string.h>

static struct stv_problems problems;
static struct stv_yaml_node *root;
static struct stv_yaml_context context;

static int start(void **state)
{
    (void)state;
    stv_problems_init(&problems);
    root = NULL;
    context = (struct stv_yaml_context){.file = "book.yaml", .problems = &problems};
    return 0;
}

static int finish(void **state)
{
    (void)state;
    stv_yaml_free(root);
    stv_problems_free(&problems);
    return 0;
}

static enum stv_status parse(const char *text)
{
    return stv_yaml_parse(text, strlen(text), "book.yaml", &problems, &root);
}

static void assert_problem(size_t index, size_t row, size_t column, const char *phrase)
{
    assert_true(index < problems.n);
    const struct stv_problem *problem = &problems.items[index];
    if (problem->row != row || problem->column != column || !strstr(problem->message, phrase)) {
        char text[600];
        stv_problem_text(problem, text, sizeof text);
        print_error("said: %s\n", text);
    }
    assert_int_equal(problem->severity, STV_REFUSED);
    assert_int_equal(problem->row, row);
    assert_int_equal(problem->column, column);
    assert_non_null(strstr(problem->message, phrase));
}

static void tree_with_places(void **state)
{
    (void)state;
    stv_assert_ok(parse("# a remark\n"
                        "name: Quill Basin\n"
                        "site: {latitude: 35.2, clock: \"UTC-06:00\"}\n"
                        "list:\n"
                        "  - one\n"
                        "  - key: 'two # words'\n"));
    assert_int_equal(problems.n_total, 0);
    assert_int_equal(root->n_items, 3);
    const struct stv_yaml_node *site = stv_yaml_find(root, "site");
    const struct stv_yaml_node *clock = stv_yaml_find(site, "clock");
    assert_string_equal(clock->text, "UTC-06:00");
    assert_int_equal(clock->line, 3);
    assert_int_equal(clock->column, 31);
    assert_int_equal(clock->key_column, 24);
    const struct stv_yaml_node *list = stv_yaml_list(&context, root, "list");
    assert_int_equal(list->n_items, 2);
    assert_string_equal(list->items[0].text, "one");
    assert_string_equal(stv_yaml_find(&list->items[1], "key")->text, "two # words");
    assert_null(stv_yaml_find(root, "absent"));
    assert_null(stv_yaml_find(list, "name"));
    assert_null(stv_yaml_find(NULL, "name"));
}

static void getters_read(void **state)
{
    (void)state;
    stv_assert_ok(parse("text: two words\nsize: 53 US gal\nbare: 12\ncount: 6\nflag: Yes\n"
                        "word: Earth\nday: 2024-02-29\nmap: {a: 1}\n"));
    char text[32];
    double value = 0.0;
    size_t count = 0, word = 9;
    bool flag = false;
    int64_t day_d = 0;
    struct stv_yaml_want volume = {STV_DIM_VOLUME, NULL, 0.0, 1000.0};
    static const size_t range[2] = {1, 32};
    static const char *const words[] = {"slab", "earth"};
    assert_true(stv_yaml_text(&context, root, "text", text, sizeof text));
    assert_string_equal(text, "two words");
    assert_true(stv_yaml_quantity(&context, root, "size", volume, &value));
    stv_assert_close(value, 53 * 3.785411784, 1e-12, 0.0);
    context.units[STV_DIM_VOLUME] = "ml";
    assert_true(stv_yaml_quantity(&context, root, "bare", volume, &value));
    stv_assert_close(value, 0.012, 1e-12, 0.0);
    volume.default_unit = "cl";
    assert_true(stv_yaml_quantity(&context, root, "bare", volume, &value));
    stv_assert_close(value, 0.12, 1e-12, 0.0);
    assert_true(stv_yaml_count(&context, root, "count", range, &count));
    assert_int_equal(count, 6);
    assert_true(stv_yaml_flag(&context, root, "flag", &flag));
    assert_true(flag);
    assert_true(stv_yaml_word(&context, root, "word", (struct stv_yaml_words){words, 2}, &word));
    assert_int_equal(word, 1);
    assert_true(stv_yaml_date(&context, root, "day", &day_d));
    assert_int_equal(day_d, stv_day_from_date((struct stv_date){2024, 2, 29}));
    assert_non_null(stv_yaml_map(&context, root, "map"));
    assert_null(stv_yaml_map(&context, root, "absent"));
    assert_int_equal(problems.n_total, 0);
}

static void getters_refuse(void **state)
{
    (void)state;
    stv_assert_ok(parse("size: 60 kg\nbare: 12\nfar: 2000 L\ncount: 2.5\nflag: maybe\n"
                        "word: erth\nday: 2024-02-30\nmap: 5\nlist: {a: 1}\nempty:\n"
                        "text: [1]\nlong: abcdefghijklmnop\n"));
    char text[8] = "before";
    double value = 7.0;
    size_t count = 7;
    bool flag = true;
    int64_t day_d = 7;
    struct stv_yaml_want volume = {STV_DIM_VOLUME, NULL, 0.0, 1000.0};
    static const size_t range[2] = {1, 32};
    static const char *const words[] = {"slab", "earth"};
    assert_false(stv_yaml_quantity(&context, root, "size", volume, &value));
    assert_problem(0, 1, 7, "unit of mass");
    assert_string_equal(problems.items[0].found, "60 kg");
    assert_false(stv_yaml_quantity(&context, root, "bare", volume, &value));
    assert_problem(1, 2, 7, "no unit of volume");
    assert_false(stv_yaml_quantity(&context, root, "far", volume, &value));
    assert_problem(2, 3, 6, "outside 0 to 1000 L");
    assert_false(stv_yaml_count(&context, root, "count", range, &count));
    assert_problem(3, 4, 8, "whole number");
    assert_false(stv_yaml_flag(&context, root, "flag", &flag));
    assert_problem(4, 5, 7, "yes");
    assert_false(stv_yaml_word(&context, root, "word", (struct stv_yaml_words){words, 2}, &count));
    assert_problem(5, 6, 7, "did you mean \"earth\"");
    assert_false(stv_yaml_date(&context, root, "day", &day_d));
    assert_problem(6, 7, 6, "does not exist");
    assert_null(stv_yaml_map(&context, root, "map"));
    assert_problem(7, 8, 6, "pairs are wanted");
    assert_null(stv_yaml_list(&context, root, "list"));
    assert_problem(8, 9, 7, "a list is wanted");
    assert_false(stv_yaml_text(&context, root, "empty", text, sizeof text));
    assert_problem(9, 10, 7, "has no value");
    assert_false(stv_yaml_text(&context, root, "text", text, sizeof text));
    assert_problem(10, 11, 7, "single value");
    assert_false(stv_yaml_text(&context, root, "long", text, sizeof text));
    assert_problem(11, 12, 7, "too long");
    assert_string_equal(text, "before");
    stv_assert_close(value, 7.0, 0.0, 0.0);
    assert_int_equal(count, 7);
    assert_true(flag);
    assert_int_equal(day_d, 7);
}

static void unknown_keys(void **state)
{
    (void)state;
    static const char *const known[] = {"tiers", "bays", "depth"};
    stv_assert_ok(parse("tiers: 6\n  \nbayes: 12\ncolour: red\n"));
    stv_yaml_known_keys(&context, root, known, 3);
    assert_int_equal(problems.n_total, 2);
    assert_problem(0, 3, 1, "did you mean \"bays\"");
    assert_string_equal(problems.items[0].found, "bayes");
    assert_problem(1, 4, 1, "known: tiers, bays, depth");
}

static void structure_is_strict_but_reading_goes_on(void **state)
{
    (void)state;
    stv_assert_status(parse("a: &x 1\n"
                            "b: *x\n"
                            "c: !!int 3\n"
                            "a: 2\n"
                            "d: 4\n"),
                      STV_E_PARSE);
    assert_int_equal(problems.n_total, 4);
    assert_problem(0, 1, 4, "anchor");
    assert_problem(1, 2, 4, "alias");
    assert_problem(2, 3, 4, "tag");
    assert_problem(3, 4, 1, "said twice");
    assert_non_null(root);
    assert_string_equal(stv_yaml_find(root, "a")->text, "1");
    assert_string_equal(stv_yaml_find(root, "d")->text, "4");
    /* An alias was said already: no getter says it again. */
    char text[8];
    assert_false(stv_yaml_text(&context, root, "b", text, sizeof text));
    assert_null(stv_yaml_map(&context, root, "b"));
    assert_int_equal(problems.n_total, 4);
}

static void depth(void **state)
{
    (void)state;
    stv_assert_ok(parse("a: {b: {c: {d: {e: {f: {g: 1}}}}}}\nz: [[[[[[[1]]]]]]]\n"));
    stv_yaml_free(root);
    stv_assert_status(parse("a: {b: {c: {d: {e: {f: {g: {h: {i: 1}}}}}}}}\n"), STV_E_PARSE);
    assert_problem(0, 1, 32, "deeper than 8");
    assert_null(root);
    char many[20002];
    memset(many, '[', sizeof many - 1);
    many[0] = 'a';
    many[1] = ':';
    many[2] = ' ';
    many[sizeof many - 1] = '\0';
    stv_assert_status(parse(many), STV_E_PARSE);
}

struct bad_text {
    const char *text;
    size_t row, column;
    const char *phrase;
};

static void texts_that_cannot_be_read(void **state)
{
    (void)state;
    static const struct bad_text bad[] = {
        {"", 1, 1, "empty"},
        {"# only a remark\n", 1, 1, "empty"},
        {"a: 1\n\tb: 2\n", 2, 1, "tab"},
        {"a:\n  \tb: 2\n", 2, 3, "tab"},
        {"a: 1\nb: caf\xE9\n", 2, 7, "UTF-8"},
        {"a: 1\n  b: 2\n", 2, 4, "indentation"},
        {"a: {b: 1\nc: 2\n", 2, 2, "brackets"},
        {"a: \"open\n", 2, 1, "quotes"},
        {"- a\n- b\n", 1, 1, "key: value"},
        {"just text\n", 1, 1, "key: value"},
        {"a: 1\n---\nb: 2\n", 2, 1, "second document"},
        {"? [a]\n: 1\n", 1, 3, "plain word"},
        {"\xFF\xFE"
         "a",
         0, 0, "plain text"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        stv_assert_status(parse(bad[i].text), STV_E_PARSE);
        assert_problem(problems.n - 1, bad[i].row, bad[i].column, bad[i].phrase);
        stv_yaml_free(root);
        root = NULL;
    }
    stv_assert_status(stv_yaml_parse("a: 1\0b", 6, "book.yaml", &problems, &root), STV_E_PARSE);
    assert_problem(problems.n - 1, 0, 0, "plain text");
}

static void many_keys(void **state)
{
    (void)state;
    size_t size = 20000, used = 0;
    char *text = malloc(size);
    assert_non_null(text);
    for (int i = 0; i < 1001; i++)
        used += (size_t)snprintf(text + used, size - used, "k%d: 1\n", i);
    stv_assert_status(parse(text), STV_E_PARSE);
    assert_problem(0, 1001, 1, "at most 1000");
    free(text);
}

static void files(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    stv_scratch_open(&scratch);
    const char *path = stv_scratch_text(&scratch, "book.yaml", "name: Quill Basin\n");
    stv_assert_ok(stv_yaml_read(path, "book.yaml", &problems, &root));
    assert_string_equal(stv_yaml_find(root, "name")->text, "Quill Basin");
    stv_yaml_free(root);
    stv_assert_status(stv_yaml_read("/absent/book.yaml", "book.yaml", &problems, &root), STV_E_IO);
    assert_problem(0, 0, 0, "no such file");
    assert_null(root);
    stv_scratch_close(&scratch);
}

static void problem_texts(void **state)
{
    (void)state;
    char text[600];
    stv_problem_add(&problems, STV_REFUSED, "a.csv", 12, 7, "60\x1B[2J kg\xFF", "is %s", "wrong");
    stv_problem_text(&problems.items[0], text, sizeof text);
    assert_string_equal(text, "a.csv:12:7: is wrong (found \"60?[2J kg?\")");
    for (size_t row = 20; row < 30; row++)
        stv_problem_add(&problems, STV_SET_ASIDE, "b.csv", row, 0, NULL, "has no time");
    assert_int_equal(problems.n, 2);
    assert_int_equal(problems.items[1].count, 10);
    stv_problem_text(&problems.items[1], text, sizeof text);
    assert_string_equal(text, "b.csv:20-29: has no time");
    stv_problem_text(&problems.items[0], text, 10);
    assert_string_equal(text, "a.csv:12:");
    for (size_t i = 0; i < 3000; i++)
        stv_problem_add(&problems, STV_NOTED, "c.csv", i + 1, 1, NULL, "noted");
    assert_int_equal(problems.n_total, 3011);
    assert_int_equal(problems.n_by_severity[STV_NOTED], 3000);
    assert_int_equal(problems.n, 3002);
    assert_string_equal(problems.items[3001].message, "noted");
    assert_int_equal(problems.items[3001].row, 3000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(tree_with_places, start, finish),
        cmocka_unit_test_setup_teardown(getters_read, start, finish),
        cmocka_unit_test_setup_teardown(getters_refuse, start, finish),
        cmocka_unit_test_setup_teardown(unknown_keys, start, finish),
        cmocka_unit_test_setup_teardown(structure_is_strict_but_reading_goes_on, start, finish),
        cmocka_unit_test_setup_teardown(depth, start, finish),
        cmocka_unit_test_setup_teardown(texts_that_cannot_be_read, start, finish),
        cmocka_unit_test_setup_teardown(many_keys, start, finish),
        cmocka_unit_test_setup_teardown(files, start, finish),
        cmocka_unit_test_setup_teardown(problem_texts, start, finish),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
