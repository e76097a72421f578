/*
 * test_report_golden.c - the text files of a result, and the summary, of invented series byte for
 * byte as they are below fixtures/golden/, which a person has read.
 *
 *     build/tests/test_report_golden --write
 *
 * writes them anew; read what `git diff` shows then before it is committed.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <sys/stat.h>

#include "report/spots_internal.h"
#include "test_report_spot_series.h"

#define GOLDEN "fixtures/golden"
#define NOWHERE "no/such/folder" /* of which the summary cannot say what is in it */

/* ---- what is made ---- */

static tl_status make_frames(const tl_report_source *source, tl_report_text *text) {
    return tl_report_csv(source->sequence, text);
}

static tl_status make_spots(const tl_report_source *source, tl_report_text *text) {
    return tl_report_spots_csv(source->sequence, text);
}

static tl_status make_json(const tl_report_source *source, tl_report_text *text) {
    return tl_report_json(source->sequence, text);
}

static tl_status make_summary(const tl_report_source *source, tl_report_text *text) {
    char *printed = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&printed, &size);
    if (!out)
        return TL_ERR_MEMORY;
    tl_report_summary(source->sequence, NOWHERE, false, out);
    const bool whole = fclose(out) == 0;
    tl_report_text_bytes(text, printed, whole ? size : 0);
    free(printed);
    return whole ? TL_OK : TL_ERR_MEMORY;
}

static const struct {
    const char *name;
    tl_status (*make)(const tl_report_source *source, tl_report_text *text);
} file[] = {{"frames.csv", make_frames},
            {"series.csv", tl_report_series_csv},
            {"spots.csv", make_spots},
            {"sequence.json", make_json},
            {"summary.txt", make_summary}};
enum { FILES = sizeof file / sizeof *file };

static const struct {
    const char *name;
    tl_sequence (*make)(void);
} series[] = {{"solved", series_solved},
              {"spots", series_spots},
              {"odd", series_odd},
              {"nothing", series_nothing}};
enum { SERIES = sizeof series / sizeof *series };

static void path_of(size_t of, size_t k, char path[256]) {
    snprintf(path, 256, GOLDEN "/%s/%s", series[of].name, file[k].name);
}

static tl_report_text made(size_t of, size_t k) {
    tl_report_source source;
    tl_report_text text = {0};
    tl_sequence s = series[of].make();
    if (tl_report_source_make(&s, &source) != TL_OK || file[k].make(&source, &text) != TL_OK)
        abort();
    tl_report_source_free(&source);
    tl_sequence_free(&s);
    return text;
}

/* ---- what it is held against ---- */

static tl_report_text read_file(const char *path) {
    tl_report_text text = {0};
    char bytes[4096];
    FILE *in = fopen(path, "rb");
    if (!in)
        fail_msg("%s is missing", path);
    for (size_t got; (got = fread(bytes, 1, sizeof bytes, in)) > 0;)
        tl_report_text_bytes(&text, bytes, got);
    fclose(in);
    return text;
}

/* The line in which byte `at` lies, cut at both ends where it is long. */
static void show_line(const char *what, const tl_report_text *text, size_t at) {
    enum { AROUND = 60 };
    const char *string = tl_report_text_string(text);
    size_t from = at < text->length ? at : text->length, to = from;
    while (from > 0 && at - from < AROUND && string[from - 1] != '\n')
        from--;
    while (to < text->length && to - at < AROUND && string[to] != '\n')
        to++;
    print_error("%s %.*s\n", what, (int)(to - from), string + from);
}

static void assert_same(const char *path, const tl_report_text *expected,
                        const tl_report_text *got) {
    const char *a = tl_report_text_string(expected), *b = tl_report_text_string(got);
    size_t at = 0, line = 1;
    while (at < expected->length && at < got->length && a[at] == b[at])
        line += a[at++] == '\n';
    if (at == expected->length && at == got->length)
        return;
    print_error("%s, line %zu:\n", path, line);
    show_line("-", expected, at);
    show_line("+", got, at);
    fail();
}

static void files_are_as_they_were_read(void **state) {
    const size_t of = *(const size_t *)*state;
    for (size_t k = 0; k < FILES; k++) {
        char path[256];
        path_of(of, k, path);
        tl_report_text expected = read_file(path), got = made(of, k);
        assert_same(path, &expected, &got);
        tl_report_text_free(&expected);
        tl_report_text_free(&got);
    }
}

static int write_all(void) {
    mkdir(GOLDEN, 0777);
    for (size_t of = 0; of < SERIES; of++)
        for (size_t k = 0; k < FILES; k++) {
            char path[256];
            snprintf(path, sizeof path, GOLDEN "/%s", series[of].name);
            mkdir(path, 0777);
            path_of(of, k, path);
            tl_report_text text = made(of, k);
            if (tl_report_write_file(path, tl_report_text_string(&text), text.length) != TL_OK)
                return 1;
            tl_report_text_free(&text);
        }
    return 0;
}

int main(int argc, char **argv) {
    static size_t number[SERIES];
    struct CMUnitTest tests[SERIES];
    if (argc == 2 && strcmp(argv[1], "--write") == 0)
        return write_all();
    for (size_t of = 0; of < SERIES; of++) {
        number[of] = of;
        tests[of] =
            (struct CMUnitTest)cmocka_unit_test_prestate(files_are_as_they_were_read, &number[of]);
        tests[of].name = series[of].name;
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
