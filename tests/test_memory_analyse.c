/*
 * test_memory_analyse.c - the measurement of a series when memory runs out: a picture that cannot
 * be measured for it says so, and the others are what they were.
 */
#define _GNU_SOURCE
#include "memory_fail.h"

#include "report/report_internal.h"
#include "twolimb/analyse.h"

/* STRIDE: some thirty trials, six seconds of processor time. */
enum { SAME, ROWS_LOST, NO_MEMORY, OTHER_RESULT, OTHER_STATUS, TOUCHED, FAULTS_SHOWN = 20 };
enum { STRIDE = 131 };

static tl_file_list files;
static tl_report_text whole; /* the result with memory enough */

/* The result as a program would read it. */
static bool as_text(const tl_sequence *sequence, tl_report_text *text) {
    return tl_report_json(sequence, text) == TL_OK && !text->failed;
}

/* What TL_OK must mean: the same as ever, or rows that say what they lack. */
static int judge(const tl_sequence *sequence) {
    int answer = SAME;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_limb *limb = &sequence->frame[i].limb;
        if (limb->status == TL_LIMB_MEASURED)
            continue;
        if (limb->status != TL_LIMB_UNREADABLE ||
            strcmp(limb->reason, tl_status_text(TL_ERR_MEMORY)) != 0) {
            fprintf(stderr, "row %zu: %s\n", i, limb->reason);
            return OTHER_RESULT;
        }
        answer = ROWS_LOST;
    }
    tl_report_text text = {0};
    if (answer == SAME && (!as_text(sequence, &text) || strcmp(text.data, whole.data) != 0))
        answer = OTHER_RESULT;
    tl_report_text_free(&text);
    return answer;
}

static int analyse(const void *context) {
    const tl_analyse_options *options = context;
    tl_sequence sequence = {.count = 77};
    const tl_status status = tl_analyse(&files, options, &sequence);
    atomic_store(&allocations_left, -1);
    if (status == TL_ERR_MEMORY)
        return sequence.count == 77 ? NO_MEMORY : TOUCHED;
    if (status != TL_OK)
        return OTHER_STATUS;
    const int answer = judge(&sequence);
    tl_sequence_free(&sequence);
    return answer;
}

static int set_up(void **state) {
    (void)state;
    const char *bad;
    make_pictures();
    const char *const arguments[] = {pictures_path};
    return tl_file_list_make(arguments, 1, &bad, &files) == TL_OK && files.count == 3 ? 0 : 1;
}

static int tear_down(void **state) {
    (void)state;
    tl_file_list_free(&files);
    tl_report_text_free(&whole);
    remove_tree(folder);
    return 0;
}

static void pictures_are_measured_or_say_why_not(void **state) {
    (void)state;
    static const char *const what[] = {
        [OTHER_RESULT] = "another result",
        [OTHER_STATUS] = "another status",
        [TOUCHED] = "output touched",
        [CRASHED] = "crashed",
        [LEAKED] = "leaked",
    };
    const tl_analyse_options options = {.track.sky = tl_sky_options_default(), .jobs = 1};
    tl_sequence sequence;
    long count, seen, answers[LEAKED + 1] = {0};
    int faults = 0;
    assert_int_equal(tl_analyse(&files, &options, &sequence), TL_OK);
    assert_true(as_text(&sequence, &whole));
    tl_sequence_free(&sequence);
    assert_int_equal(trial(analyse, &options, -1, &count), SAME);
    for (long n = first_trial(); n < count; n = next_trial(n, STRIDE)) {
        const int answer = trial(analyse, &options, n, &seen);
        answers[answer]++;
        if (answer > NO_MEMORY && faults++ < FAULTS_SHOWN)
            complain(what[answer], n, count, answer);
    }
    assert_int_equal(faults, 0);
    assert_true(answers[ROWS_LOST] > 0 && answers[NO_MEMORY] > 0); /* both were met */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pictures_are_measured_or_say_why_not),
    };
    return cmocka_run_group_tests_name("memory_analyse", tests, set_up, tear_down);
}
