/*
 * test_report_gif_read.h - an animated GIF read back with giflib's own reader.
 */
#ifndef TWOLIMB_TEST_REPORT_GIF_READ_H
#define TWOLIMB_TEST_REPORT_GIF_READ_H

#include <stdlib.h>
#include <string.h>

#include <gif_lib.h>

#include "report/gif_internal.h"

typedef struct gif_source {
    const tl_report_text *bytes;
    size_t at;
} gif_source;

static int gif_take(GifFileType *gif, GifByteType *to, int count) {
    gif_source *source = gif->UserData;
    const size_t left = source->bytes->length - source->at;
    const size_t taken = (size_t)count < left ? (size_t)count : left;
    memcpy(to, source->bytes->data + source->at, taken);
    source->at += taken;
    return (int)taken;
}

/* To be closed with gif_close. */
static inline GifFileType *gif_read(gif_source *source, const tl_report_text *bytes) {
    int error = 0;
    *source = (gif_source){bytes, 0};
    GifFileType *gif = DGifOpen(source, gif_take, &error);
    assert_non_null(gif);
    assert_int_equal(DGifSlurp(gif), GIF_OK);
    assert_int_equal(source->at, bytes->length); /* nothing after the end */
    return gif;
}

static inline void gif_close(GifFileType *gif) {
    int error = 0;
    assert_int_equal(DGifCloseFile(gif, &error), GIF_OK);
}

static inline GraphicsControlBlock gif_control(GifFileType *gif, int k) {
    GraphicsControlBlock control;
    assert_int_equal(DGifSavedExtensionToGCB(gif, k, &control), GIF_OK);
    return control;
}

/* Put frame k over what is seen: `rgb` is the whole picture, 3 bytes a pixel. */
static inline void gif_compose(GifFileType *gif, int k, unsigned char *rgb) {
    const SavedImage *image = &gif->SavedImages[k];
    const GifImageDesc *place = &image->ImageDesc;
    const int transparent = gif_control(gif, k).TransparentColor;
    assert_null(place->ColorMap); /* one palette for all */
    for (int y = 0; y < place->Height; y++)
        for (int x = 0; x < place->Width; x++) {
            const int p = image->RasterBits[y * place->Width + x];
            unsigned char *to = rgb + 3 * ((place->Top + y) * gif->SWidth + place->Left + x);
            if (p == transparent)
                continue;
            assert_true(p < gif->SColorMap->ColorCount);
            to[0] = gif->SColorMap->Colors[p].Red;
            to[1] = gif->SColorMap->Colors[p].Green;
            to[2] = gif->SColorMap->Colors[p].Blue;
        }
}

#endif
