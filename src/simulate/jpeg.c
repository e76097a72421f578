/*
 * jpeg.c - 8-bit pixels to a JPEG file in memory. libjpeg's longjmp stays in here.
 */
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h>

#include "simulate/simulate_internal.h"

enum { EXIF_MARKER = JPEG_APP0 + 1 };

typedef struct error_manager {
    struct jpeg_error_mgr base;
    jmp_buf back;
} error_manager;

static void give_up(j_common_ptr info) {
    longjmp(((error_manager *)(void *)info->err)->back, 1);
}

static void stay_silent(j_common_ptr info) {
    (void)info;
}

static void describe(struct jpeg_compress_struct *info, int width, int height, int quality) {
    info->image_width = (JDIMENSION)width;
    info->image_height = (JDIMENSION)height;
    info->input_components = TL_SIMULATE_CHANNELS;
    info->in_color_space = JCS_RGB;
    jpeg_set_defaults(info);
    jpeg_set_quality(info, quality, TRUE);
    info->optimize_coding = TRUE;
    info->dct_method = JDCT_ISLOW;
}

/* False when libjpeg gave up; `*out` may then hold what was made so far. */
static bool encode(const unsigned char *rgb, int width, int height, int quality,
                   const unsigned char *exif, size_t exif_size, unsigned char **out,
                   unsigned long *out_size) {
    struct jpeg_compress_struct info;
    error_manager errors;
    info.err = jpeg_std_error(&errors.base);
    errors.base.error_exit = give_up;
    errors.base.output_message = stay_silent;
    if (setjmp(errors.back) != 0) {
        jpeg_destroy_compress(&info);
        return false;
    }
    jpeg_create_compress(&info);
    jpeg_mem_dest(&info, out, out_size);
    describe(&info, width, height, quality);
    jpeg_start_compress(&info, TRUE);
    if (exif_size > 0)
        jpeg_write_marker(&info, EXIF_MARKER, exif, (unsigned int)exif_size);
    size_t stride = (size_t)width * TL_SIMULATE_CHANNELS;
    while (info.next_scanline < info.image_height) {
        /* libjpeg's row pointers are not const, though it only reads them */
        JSAMPROW row = (JSAMPROW)(uintptr_t)(rgb + info.next_scanline * stride);
        jpeg_write_scanlines(&info, &row, 1);
    }
    jpeg_finish_compress(&info);
    jpeg_destroy_compress(&info);
    return true;
}

tl_status tl_simulate_jpeg(const unsigned char *rgb, int width, int height, int quality,
                           const unsigned char *exif, size_t exif_size, unsigned char **jpeg,
                           size_t *size) {
    unsigned char *out = NULL;
    unsigned long out_size = 0;
    if (!encode(rgb, width, height, quality, exif, exif_size, &out, &out_size)) {
        free(out);
        return TL_ERR_MEMORY; /* encoding into memory fails for nothing else */
    }
    *jpeg = out;
    *size = out_size;
    return TL_OK;
}
