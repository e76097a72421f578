/*
 * jpeg.c - 8-bit pixels to a JPEG file in memory and back. libjpeg's longjmp stays in here.
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

static void describe(struct jpeg_compress_struct *info, int width, int height, int quality,
                     tl_simulate_chroma chroma) {
    info->image_width = (JDIMENSION)width;
    info->image_height = (JDIMENSION)height;
    info->input_components = TL_SIMULATE_CHANNELS;
    info->in_color_space = JCS_RGB;
    jpeg_set_defaults(info);
    jpeg_set_quality(info, quality, TRUE);
    info->optimize_coding = TRUE;
    info->dct_method = JDCT_ISLOW;
    if (chroma == TL_CHROMA_FULL)
        info->comp_info[0].h_samp_factor = info->comp_info[0].v_samp_factor = 1;
}

/* False when libjpeg gave up; `*out` may then hold what was made so far. */
static bool encode(const unsigned char *rgb, int width, int height, int quality,
                   tl_simulate_chroma chroma, const unsigned char *exif, size_t exif_size,
                   unsigned char **out, unsigned long *out_size) {
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
    describe(&info, width, height, quality, chroma);
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
                           tl_simulate_chroma chroma, const unsigned char *exif, size_t exif_size,
                           unsigned char **jpeg, size_t *size) {
    unsigned char *out = NULL;
    unsigned long out_size = 0;
    if (!encode(rgb, width, height, quality, chroma, exif, exif_size, &out, &out_size)) {
        free(out);
        return TL_ERR_MEMORY; /* encoding into memory fails for nothing else */
    }
    *jpeg = out;
    *size = out_size;
    return TL_OK;
}

/* As encode; the pixels of a file that this stage wrote. */
static bool decode(const unsigned char *jpeg, size_t size, unsigned char **rgb, int *width,
                   int *height) {
    struct jpeg_decompress_struct info;
    error_manager errors;
    info.err = jpeg_std_error(&errors.base);
    errors.base.error_exit = give_up;
    errors.base.output_message = stay_silent;
    if (setjmp(errors.back) != 0) {
        jpeg_destroy_decompress(&info);
        return false;
    }
    jpeg_create_decompress(&info);
    jpeg_mem_src(&info, jpeg, (unsigned long)size);
    jpeg_read_header(&info, TRUE);
    info.out_color_space = JCS_RGB;
    info.dct_method = JDCT_ISLOW;
    jpeg_start_decompress(&info);
    size_t stride = (size_t)info.output_width * TL_SIMULATE_CHANNELS;
    *width = (int)info.output_width;
    *height = (int)info.output_height;
    *rgb = malloc(stride * info.output_height);
    while (*rgb != NULL && info.output_scanline < info.output_height) {
        JSAMPROW row = *rgb + info.output_scanline * stride;
        jpeg_read_scanlines(&info, &row, 1);
    }
    jpeg_destroy_decompress(&info);
    return *rgb != NULL;
}

tl_status tl_simulate_jpeg_decode(const unsigned char *jpeg, size_t size, unsigned char **rgb,
                                  int *width, int *height) {
    unsigned char *out = NULL;
    int w = 0, h = 0;
    if (!decode(jpeg, size, &out, &w, &h)) {
        free(out);
        return TL_ERR_MEMORY;
    }
    *rgb = out;
    *width = w;
    *height = h;
    return TL_OK;
}
