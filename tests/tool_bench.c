/*
 * make bench: processor time of an analysis (decode to circles, no report) of a folder's
 * pictures, over that of a plain full-colour decode of the same files with libjpeg.
 *
 *   tool_bench FOLDER
 */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <jpeglib.h>

#include "twolimb/analyse.h"

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

static double least(double a, double b) {
    return a < b ? a : b;
}

int main(int argc, char **argv) {
    const char *argument = argc > 1 ? argv[1] : "fixtures/demo", *bad = NULL;
    tl_file_list files = {0};
    if (tl_file_list_make(&argument, 1, &bad, &files) != TL_OK || files.count == 0) {
        fprintf(stderr, "No pictures in %s.\n", argument);
        return 1;
    }
    double decode = 1e9, read = 1e9, find = 1e9;
    for (int round = 0; round < ROUNDS; round++) {
        double start = cpu_s(), reading = 0, finding = 0;
        for (size_t i = 0; i < files.count; i++)
            plain_decode(files.path[i]);
        decode = least(decode, cpu_s() - start);
        for (size_t i = 0; i < files.count; i++) {
            tl_image image = {0};
            tl_frame_info info = {0};
            tl_limb limb = {0};
            start = cpu_s();
            tl_status status = tl_frame_read(files.path[i], &image, &info);
            reading += cpu_s() - start;
            if (status != TL_OK)
                continue;
            start = cpu_s();
            if (tl_limb_find(&image, NULL, &limb) == TL_OK)
                tl_limb_free(&limb);
            finding += cpu_s() - start;
            tl_image_free(&image);
        }
        read = least(read, reading);
        find = least(find, finding);
    }
    double n = (double)files.count;
    printf("%zu pictures in %s, one processor, best of %d\n", files.count, argument, (int)ROUNDS);
    printf("  plain full decode   %7.1f ms a picture   1.00\n", 1e3 * decode / n);
    printf("  frame (read)        %7.1f ms a picture   %.2f\n", 1e3 * read / n, read / decode);
    printf("  limb (find and fit) %7.1f ms a picture   %.2f\n", 1e3 * find / n, find / decode);
    printf("  decode to circles   %7.1f ms a picture   %.2f\n", 1e3 * (read + find) / n,
           (read + find) / decode);
    tl_file_list_free(&files);
    return 0;
}
