/*
 * test_command_pictures.c - the built program and pictures of every kind: what a user is told of
 * them. The program is $TWOLIMB_BUILD/twolimb, by default build/twolimb.
 */
#define _XOPEN_SOURCE 700 /* realpath */
#include <sys/wait.h>

#include "scratch_folder.h"
#include "heif_make.h"

enum { OUTPUT_SIZE = 65536, COMMAND_SIZE = 4096 };

static char output[OUTPUT_SIZE]; /* both streams */

static int run(const char *arguments) {
    char command[COMMAND_SIZE], program[PATH_SIZE];
    const char *build = getenv("TWOLIMB_BUILD");
    if (realpath(build != NULL ? build : "build", program) == NULL)
        fail_msg("no build folder");
    snprintf(command, sizeof command, "cd '%s' && exec 2>&1 && '%s/twolimb' %s", folder.folder,
             program, arguments);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    output[fread(output, 1, OUTPUT_SIZE - 1, pipe)] = '\0';
    const int status = pclose(pipe);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static void put(const char *name, const void *bytes, size_t size) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    write_file(path, bytes, size);
}

static const char *rows(const char *result) {
    static char text[OUTPUT_SIZE];
    char path[PATH_SIZE];
    scratch_path(&folder, result, path);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    return text;
}

/* The decoders below libheif complain on the standard error stream, of damage like this loudly. */
static void decoders_are_not_heard(void **state) {
    (void)state;
    static uint16_t code[48 * 32 * 3];
    uint32_t random = 8;
    for (size_t f = 0; f < 2; f++) {
        const heif_style style = {.format = f == 0 ? heif_compression_HEVC : heif_compression_AV1,
                                  .bits = 8};
        blob file;
        for (int i = 0; i < 48 * 32 * 3; i++)
            code[i] = (uint16_t)(next_random(&random) >> 24);
        if (!heif_make(&style, code, 48, 32, &file))
            continue;
        for (int round = 0; round < 12; round++) {
            char name[32];
            unsigned char *bytes = malloc(file.size);
            memcpy(bytes, file.bytes, file.size);
            for (size_t i = file.size / 2; i < file.size; i += 7)
                bytes[i] = (unsigned char)(next_random(&random) >> 24);
            snprintf(name, sizeof name, "noisy%zu-%d.heic", f, round);
            put(name, bytes, file.size);
            free(bytes);
        }
        free(file.bytes);
    }
    put("noisy.heic", "none", 4);
    run("analyse noisy*.heic --quiet -o noisy");
    assert_string_equal(output, "");
    assert_non_null(strstr(rows("noisy/frames.csv"), "unreadable"));
}

static void a_file_cut_short_is_said_to_be(void **state) {
    (void)state;
    const double sun[3] = {300.2, 200.7, 110.0}, moon[3] = {360.0, 150.0, 112.0};
    blob b = jpeg_eclipse(sun, moon);
    put("cut.jpg", b.bytes, b.size * 9 / 10);
    assert_int_equal(run("analyse cut.jpg -o cut"), 0);
    assert_non_null(strstr(output, "1 measured although the file is cut short"));
    assert_non_null(strstr(rows("cut/frames.csv"), "cut.jpg,measured,the file is cut short ("));
    assert_non_null(strstr(rows("cut/report.html"), "the file is cut short ("));
    put("cut.jpg", b.bytes, b.size / 4); /* not measured: both reasons */
    assert_int_equal(run("analyse cut.jpg -o half"), 2);
    assert_non_null(strstr(rows("half/frames.csv"), "; the file is cut short ("));
    put("cut.jpg", b.bytes, b.size); /* whole: not a word of it */
    assert_int_equal(run("analyse cut.jpg -o whole"), 0);
    assert_null(strstr(output, "cut short"));
    assert_non_null(strstr(rows("whole/frames.csv"), "cut.jpg,measured,,"));
    free(b.bytes);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(decoders_are_not_heard),
        cmocka_unit_test(a_file_cut_short_is_said_to_be),
    };
    return cmocka_run_group_tests_name("command_pictures", tests, folder_setup, folder_teardown);
}
