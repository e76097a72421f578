/*
 * Pictures as large as a phone takes them, for `make bench`: every JPEG of a folder enlarged, its
 * EXIF kept, so that speed can be measured without large files in the project.
 *
 *   tool_enlarge FOLDER OUT TIMES
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <jpeglib.h>

#include "twolimb/frame.h"

enum { QUALITY = 90, EXIF_MARKER = JPEG_APP0 + 1, MARKER_MOST = 0xFFFF };

typedef struct picture {
    unsigned char *rgb; /* owned */
    int width, height;
    unsigned char *exif; /* owned; the marker's bytes, or NULL */
    unsigned exif_size;
} picture;

static bool read_picture(const char *path, picture *p) {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr error;
    FILE *file = fopen(path, "rb");
    if (!file)
        return false;
    jpeg.err = jpeg_std_error(&error);
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, file);
    jpeg_save_markers(&jpeg, EXIF_MARKER, MARKER_MOST);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = JCS_RGB;
    jpeg_start_decompress(&jpeg);
    *p = (picture){.width = (int)jpeg.output_width, .height = (int)jpeg.output_height};
    p->rgb = malloc((size_t)p->width * (size_t)p->height * 3);
    while (p->rgb && jpeg.output_scanline < jpeg.output_height) {
        JSAMPROW row = p->rgb + (size_t)jpeg.output_scanline * (size_t)p->width * 3;
        jpeg_read_scanlines(&jpeg, &row, 1);
    }
    const struct jpeg_marker_struct *marker = jpeg.marker_list;
    if (marker && (p->exif = malloc(marker->data_length)) != NULL) {
        memcpy(p->exif, marker->data, marker->data_length);
        p->exif_size = marker->data_length;
    }
    jpeg_abort_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    fclose(file);
    return p->rgb != NULL;
}

static unsigned char between(const picture *p, double x, double y, int c) {
    const int x0 = (int)x, y0 = (int)y;
    const int x1 = x0 + 1 < p->width ? x0 + 1 : x0, y1 = y0 + 1 < p->height ? y0 + 1 : y0;
    const double fx = x - x0, fy = y - y0;
    const unsigned char *rgb = p->rgb;
    const double top =
        (1 - fx) * rgb[3 * (y0 * p->width + x0) + c] + fx * rgb[3 * (y0 * p->width + x1) + c];
    const double low =
        (1 - fx) * rgb[3 * (y1 * p->width + x0) + c] + fx * rgb[3 * (y1 * p->width + x1) + c];
    return (unsigned char)((1 - fy) * top + fy * low + 0.5);
}

static bool write_enlarged(const picture *p, int times, const char *path) {
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr error;
    FILE *file = fopen(path, "wb");
    JSAMPROW row = malloc((size_t)p->width * (size_t)times * 3);
    if (!file || !row) {
        free(row);
        return false;
    }
    jpeg.err = jpeg_std_error(&error);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, file);
    jpeg.image_width = (JDIMENSION)(p->width * times);
    jpeg.image_height = (JDIMENSION)(p->height * times);
    jpeg.input_components = 3;
    jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, QUALITY, TRUE);
    jpeg_start_compress(&jpeg, TRUE);
    if (p->exif)
        jpeg_write_marker(&jpeg, EXIF_MARKER, p->exif, p->exif_size);
    while (jpeg.next_scanline < jpeg.image_height) {
        for (int x = 0; x < p->width * times; x++)
            for (int c = 0; c < 3; c++)
                row[3 * x + c] =
                    between(p, (double)x / times, (double)jpeg.next_scanline / times, c);
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    free(row);
    return fclose(file) == 0;
}

int main(int argc, char **argv) {
    const char *argument = argc > 1 ? argv[1] : "", *bad = NULL;
    const int times = argc > 3 ? atoi(argv[3]) : 0;
    tl_file_list files = {0};
    if (times < 1 || tl_file_list_make(&argument, 1, &bad, &files) != TL_OK) {
        fprintf(stderr, "tool_enlarge FOLDER OUT TIMES\n");
        return 1;
    }
    mkdir(argv[2], 0777);
    bool good = true;
    for (size_t i = 0; i < files.count && good; i++) {
        const char *slash = strrchr(files.path[i], '/');
        char path[4096];
        picture p = {0};
        snprintf(path, sizeof path, "%s/%s", argv[2], slash ? slash + 1 : files.path[i]);
        good = read_picture(files.path[i], &p) && write_enlarged(&p, times, path);
        free(p.rgb);
        free(p.exif);
    }
    tl_file_list_free(&files);
    return good ? 0 : 1;
}
