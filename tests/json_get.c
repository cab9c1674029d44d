/* Prints one value of a JSON file, for the command tests.
 *
 *     json_get FILE path.to[3].value [kind]
 *
 * With "kind" only says what it is: object, array, text, number, boolean or null.  Else a text is
 * printed as it is, a number with 17 digits, true, false and null by name, an object or array as
 * its kind and how many members it has.  Ends with 1 when there is no such value, with 2 when the
 * file is not JSON. */
#include <jansson.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define KEY_BYTES 256

/* One step down: ".key" or "[3]"; moves *path behind it. */
static const json_t *step(const json_t *value, const char **path)
{
    if (**path == '[') {
        char *end = NULL;
        unsigned long index = strtoul(*path + 1, &end, 10);
        if (*end != ']')
            return NULL;
        *path = end + 1;
        return json_array_get(value, index);
    }
    char key[KEY_BYTES];
    *path += **path == '.';
    size_t length = strcspn(*path, ".[");
    if (length == 0 || length >= sizeof key)
        return NULL;
    memcpy(key, *path, length);
    key[length] = '\0';
    *path += length;
    return json_object_get(value, key);
}

static void print_value(const json_t *value)
{
    switch (json_typeof(value)) {
    case JSON_OBJECT:
        printf("object %zu\n", json_object_size(value));
        break;
    case JSON_ARRAY:
        printf("array %zu\n", json_array_size(value));
        break;
    case JSON_STRING:
        printf("%s\n", json_string_value(value));
        break;
    case JSON_INTEGER:
    case JSON_REAL:
        printf("%.17g\n", json_number_value(value));
        break;
    case JSON_TRUE:
        printf("true\n");
        break;
    case JSON_FALSE:
        printf("false\n");
        break;
    case JSON_NULL:
        printf("null\n");
        break;
    }
}

static const char *kind_of(const json_t *value)
{
    static const char *const names[] = {
        [JSON_OBJECT] = "object",  [JSON_ARRAY] = "array", [JSON_STRING] = "text",
        [JSON_INTEGER] = "number", [JSON_REAL] = "number", [JSON_TRUE] = "boolean",
        [JSON_FALSE] = "boolean",  [JSON_NULL] = "null"};
    return names[json_typeof(value)];
}

int main(int argc, char **argv)
{
    bool wants_kind = argc == 4 && strcmp(argv[3], "kind") == 0;
    if (argc != 3 && !wants_kind) {
        fprintf(stderr, "usage: json_get FILE path.to[3].value [kind]\n");
        return 2;
    }
    json_error_t error;
    json_t *document = json_load_file(argv[1], JSON_REJECT_DUPLICATES, &error);
    if (!document) {
        fprintf(stderr, "%s:%d:%d: %s\n", argv[1], error.line, error.column, error.text);
        return 2;
    }
    const json_t *value = document;
    for (const char *path = argv[2]; *path && value;)
        value = step(value, &path);
    if (value && wants_kind)
        printf("%s\n", kind_of(value));
    else if (value)
        print_value(value);
    json_decref(document);
    return value ? 0 : 1;
}
