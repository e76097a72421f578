/*
 * test_memory_outputs.c - each file of a result when memory runs out: it is the same as ever, or
 * there is none and TL_ERR_MEMORY.
 */
#define _GNU_SOURCE
#include "memory_fail.h"

#include "report/report_internal.h"
#include "twolimb/analyse.h"

enum { SAME, NO_MEMORY, OTHER_RESULT, OTHER_STATUS, FAULTS_SHOWN = 20 };
enum { TRIALS = 8, PRIMES = 8 }; /* of each output, roughly */

static tl_sequence sequence;

/* One file of the result. */
typedef struct part {
    const tl_report_output *output;
    size_t k;
    /* Its bytes with memory enough. Made in a child as well: cairo numbers the pictures in a
     * drawing on from those before. */
    char *whole;
    size_t size;
} part;

static tl_status make_part(const part *p, tl_report_text *bytes) {
    tl_report_source source;
    tl_status status = tl_report_source_make(&sequence, &source);
    if (status != TL_OK)
        return status;
    status = p->output->make(&source, p->k, bytes);
    tl_report_source_free(&source);
    return status;
}

/* Prints the bytes: the standard output of a trial is a file. */
static int print_whole(const void *context) {
    tl_report_text bytes = {0};
    if (make_part(context, &bytes) != TL_OK || bytes.failed)
        return OTHER_STATUS;
    fwrite(bytes.data, 1, bytes.length, stdout);
    tl_report_text_free(&bytes);
    return SAME;
}

static int make(const void *context) {
    const part *p = context;
    tl_report_text bytes = {0};
    const tl_status status = make_part(p, &bytes);
    const bool none = status == TL_ERR_MEMORY || bytes.failed; /* whoever writes asks for both */
    int answer = none ? NO_MEMORY : status != TL_OK ? OTHER_STATUS : SAME;
    if (answer == SAME && (bytes.length != p->size || memcmp(bytes.data, p->whole, p->size) != 0))
        answer = OTHER_RESULT;
    tl_report_text_free(&bytes);
    return answer;
}

/* Keeps the bytes of print_whole. */
static void read_whole(part *p) {
    char path[PATH_SIZE];
    struct stat about;
    path_of("stdout", path);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fstat(fileno(file), &about), 0);
    p->size = (size_t)about.st_size;
    p->whole = malloc(p->size + 1);
    assert_non_null(p->whole);
    assert_int_equal(fread(p->whole, 1, p->size, file), p->size);
    fclose(file);
}

/* A prime near `wanted`, so that loops are met at all their places. */
static long stride_near(long wanted) {
    static const long prime[PRIMES] = {1, 3, 11, 37, 113, 397, 1009, 3001};
    long stride = prime[0];
    for (int i = 0; i < PRIMES && prime[i] <= wanted; i++)
        stride = prime[i];
    return stride;
}

static int fail_in_turn(const part *p) {
    static const char *const what[] = {[OTHER_RESULT] = "other bytes",
                                       [OTHER_STATUS] = "another status",
                                       [CRASHED] = "crashed",
                                       [LEAKED] = "leaked"};
    long count, seen;
    int faults = 0;
    const int first = trial(make, p, -1, &count);
    if (first != SAME)
        fail_msg("%s: %s, with memory enough", p->output->name, what[first]);
    const long stride = stride_near(count / TRIALS);
    for (long n = first_trial(); n < count; n = next_trial(n, stride)) {
        const int answer = trial(make, p, n, &seen);
        if (answer <= NO_MEMORY)
            continue;
        if (faults++ < FAULTS_SHOWN) {
            print_error("%s, part %zu: ", p->output->name, p->k);
            complain(what[answer], n, count, answer);
        }
    }
    return faults;
}

/* The films take seconds each; test_report_gif.c makes their allocations fail. */
static bool is_film(const tl_report_output *output) {
    return strstr(output->name, ".gif") != NULL;
}

static void outputs_are_whole_or_none(void **state) {
    (void)state;
    int faults = 0;
    for (size_t i = 0; i < tl_report_output_count; i++) {
        const tl_report_output *output = &tl_report_outputs[i];
        const char *only = getenv("TWOLIMB_OUTPUT");
        part p = {.output = output};
        long seen;
        if (is_film(output) || (only != NULL && strcmp(only, output->name) != 0))
            continue;
        assert_int_equal(trial(print_whole, &p, -1, &seen), SAME);
        read_whole(&p);
        faults += fail_in_turn(&p);
        free(p.whole);
    }
    assert_int_equal(faults, 0);
}

static int set_up(void **state) {
    (void)state;
    const char *bad;
    make_pictures();
    const char *const arguments[] = {pictures_path};
    const tl_analyse_options options = {.track.sky = tl_sky_options_default(), .jobs = 1};
    tl_file_list files;
    if (tl_file_list_make(arguments, 1, &bad, &files) != TL_OK)
        return 1;
    const tl_status status = tl_analyse(&files, &options, &sequence);
    tl_file_list_free(&files);
    if (status != TL_OK)
        return 1;
    /* The list of fonts is read once, here, not in every child. */
    const part p = {.output = &tl_report_outputs[1]};
    tl_report_text bytes = {0};
    const tl_status drawn = make_part(&p, &bytes);
    tl_report_text_free(&bytes);
    return drawn == TL_OK ? 0 : 1;
}

static int tear_down(void **state) {
    (void)state;
    tl_sequence_free(&sequence);
    remove_tree(folder);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(outputs_are_whole_or_none),
    };
    return cmocka_run_group_tests_name("memory_outputs", tests, set_up, tear_down);
}
