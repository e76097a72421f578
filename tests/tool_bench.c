/*
 * make bench: processor time of an analysis (decode to circles, no report) of the pictures of
 * folders, over that of a plain full-colour decode of the same files with libjpeg; and what of the
 * analysis comes after the circles, a picture at a time.
 *
 *   tool_bench FOLDER...
 */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <jpeglib.h>

#include "analyse_steps.h"
#include "command.h"

enum { ROUNDS = 3 };

static double cpu_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void plain_decode(const char *path) {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr error;
    FILE *file = fopen(path, "rb");
    if (!file)
        return;
    jpeg.err = jpeg_std_error(&error);
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, file);
    jpeg_read_header(&jpeg, TRUE);
    jpeg_start_decompress(&jpeg);
    JSAMPROW row = malloc((size_t)jpeg.output_width * (size_t)jpeg.output_components);
    while (row && jpeg.output_scanline < jpeg.output_height)
        jpeg_read_scanlines(&jpeg, &row, 1);
    free(row);
    jpeg_abort_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    fclose(file);
}

/* What is timed, a picture at a time. */
enum { DECODE, READ, CIRCLES, SPOTS, PREVIEW, PARTS };

static const char *const part_name[PARTS] = {
    [DECODE] = "plain full decode",           [READ] = "frame: read, held reduced",
    [CIRCLES] = "limb: both circles",         [SPOTS] = "spot: read finer, and marks",
    [PREVIEW] = "small picture for the page",
};

/* Seconds since the last call. */
static double lap(double *before) {
    const double now = cpu_s(), passed = now - *before;
    *before = now;
    return passed;
}

static bool one_picture(const char *path, double spent[PARTS]) {
    const tl_limb_prior nothing = {0};
    tl_sequence_frame frame = {0};
    tl_image image = {0}, fine = {0};
    double clock = cpu_s();
    plain_decode(path);
    spent[DECODE] += lap(&clock);
    tl_status status = tl_frame_read(path, &image, &frame.info);
    spent[READ] += lap(&clock);
    if (status == TL_OK)
        status = tl_analyse_circles(path, &image, &nothing, &frame.limb, &fine);
    spent[CIRCLES] += lap(&clock);
    if (status == TL_OK)
        status = tl_analyse_finer(path, &image, &frame.limb, &fine);
    const tl_image *finest = fine.width > 0 ? &fine : &image;
    if (status == TL_OK)
        status = tl_spot_find(finest, &frame.limb, &frame.marks);
    spent[SPOTS] += lap(&clock);
    if (status == TL_OK)
        tl_analyse_preview(&image, finest, 1, &frame);
    spent[PREVIEW] += lap(&clock);
    const bool measured = frame.limb.status == TL_LIMB_MEASURED;
    tl_limb_free(&frame.limb);
    tl_spot_marks_free(&frame.marks);
    tl_preview_free(&frame.preview);
    tl_details_free(frame.detail);
    tl_image_free(&image);
    tl_image_free(&fine);
    return measured;
}

static void print_part(const char *name, double seconds, double decode) {
    printf("  %-28s %7.1f ms  %5.2f\n", name, 1e3 * seconds, seconds / decode);
}

static int bench(const char *folder) {
    const char *bad = NULL;
    tl_file_list files = {0};
    if (tl_file_list_make(&folder, 1, &bad, &files) != TL_OK || files.count == 0) {
        fprintf(stderr, "No pictures in %s.\n", folder);
        return 1;
    }
    double least[PARTS] = {0};
    size_t measured = 0;
    for (int round = 0; round < ROUNDS; round++) {
        double spent[PARTS] = {0};
        measured = 0;
        for (size_t i = 0; i < files.count; i++)
            measured += one_picture(files.path[i], spent);
        for (int part = 0; part < PARTS; part++)
            least[part] = round == 0 || spent[part] < least[part] ? spent[part] : least[part];
    }
    for (int part = 0; part < PARTS; part++)
        least[part] /= (double)files.count;
    printf("%s: %zu pictures, %zu measured; processor time a picture, best of %d, and over a plain "
           "decode\n",
           folder, files.count, measured, (int)ROUNDS);
    for (int part = DECODE; part <= CIRCLES; part++)
        print_part(part_name[part], least[part], least[DECODE]);
    print_part("= decode to circles", least[READ] + least[CIRCLES], least[DECODE]);
    for (int part = SPOTS; part < PARTS; part++)
        print_part(part_name[part], least[part], least[DECODE]);
    tl_file_list_free(&files);
    return 0;
}

int main(int argc, char **argv) {
    int failed = argc < 2;
    tl_command_keep_memory();
    for (int i = 1; i < argc; i++)
        failed |= bench(argv[i]);
    return failed;
}
