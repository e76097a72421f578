/*
 * heif_make.h - HEIC and AVIF for the tests, by libheif.
 */
#ifndef TWOLIMB_TESTS_HEIF_MAKE_H
#define TWOLIMB_TESTS_HEIF_MAKE_H

#include <libheif/heif.h>

#include "formats.h"

typedef struct heif_style {
    enum heif_compression_format format;
    int bits;        /* 8, or 10 */
    int orientation; /* irot and imir as of this EXIF Orientation; 0: none */
    int transfer;    /* of an nclx box; 0: none */
    const blob *exif, *profile;
} heif_style;

static inline struct heif_error heif_append(struct heif_context *context, const void *bytes,
                                            size_t size, void *to) {
    (void)context;
    blob *b = to;
    b->bytes = realloc(b->bytes, b->size + size);
    memcpy(b->bytes + b->size, bytes, size);
    b->size += size;
    return (struct heif_error){heif_error_Ok, heif_suberror_Unspecified, ""};
}

static inline void heif_good(struct heif_error error) {
    if (error.code != heif_error_Ok)
        fail_msg("libheif: %s", error.message);
}

static inline struct heif_color_profile_nclx *heif_numbers(int transfer) {
    struct heif_color_profile_nclx *n = heif_nclx_color_profile_alloc();
    n->color_primaries = heif_color_primaries_ITU_R_BT_709_5;
    n->transfer_characteristics = (enum heif_transfer_characteristics)transfer;
    n->matrix_coefficients = heif_matrix_coefficients_ITU_R_BT_601_6; /* greys stay exact */
    n->full_range_flag = 1;
    return n;
}

/* False, with no file, where the library has no encoder of this format; in AVIF libheif 1.15 writes
 * none but greys of 8 bits. `code` holds red, green, blue from 0 to the greatest of `bits`. */
static inline bool heif_make(const heif_style *style, const uint16_t *code, int width, int height,
                             blob *file) {
    struct heif_context *context = heif_context_alloc();
    struct heif_encoder *encoder = NULL;
    struct heif_image *image;
    const bool grey = style->format == heif_compression_AV1, deep = style->bits > 8;
    if ((grey && deep) ||
        heif_context_get_encoder_for_format(context, style->format, &encoder).code !=
            heif_error_Ok) {
        heif_context_free(context);
        return false;
    }
    const enum heif_channel channel = grey ? heif_channel_Y : heif_channel_interleaved;
    const enum heif_chroma colour =
        deep ? heif_chroma_interleaved_RRGGBB_LE : heif_chroma_interleaved_RGB;
    heif_good(heif_image_create(width, height,
                                grey ? heif_colorspace_monochrome : heif_colorspace_RGB,
                                grey ? heif_chroma_monochrome : colour, &image));
    heif_good(heif_image_add_plane(image, channel, width, height, style->bits));
    int stride;
    uint8_t *plane = heif_image_get_plane(image, channel, &stride);
    const int step = grey ? 3 : 1, count = 3 * width / step;
    for (int y = 0; y < height; y++)
        for (int i = 0; i < count; i++) {
            const uint16_t value = code[y * 3 * width + i * step];
            if (deep) {
                plane[y * stride + 2 * i] = (uint8_t)value;
                plane[y * stride + 2 * i + 1] = (uint8_t)(value >> 8);
            } else {
                plane[y * stride + i] = (uint8_t)value;
            }
        }
    struct heif_color_profile_nclx *numbers = heif_numbers(style->transfer ? style->transfer : 13);
    heif_good(heif_image_set_nclx_color_profile(image, numbers));
    if (style->profile != NULL)
        heif_good(heif_image_set_raw_color_profile(image, "prof", style->profile->bytes,
                                                   style->profile->size));
    heif_good(heif_encoder_set_lossless(encoder, 1));
    heif_good(heif_encoder_set_logging_level(encoder, 0));
    struct heif_encoding_options *options = heif_encoding_options_alloc();
    options->macOS_compatibility_workaround_no_nclx_profile = 0;
    options->save_two_colr_boxes_when_ICC_and_nclx_available = 1;
    if (style->orientation > 0)
        options->image_orientation = (enum heif_orientation)style->orientation;
    struct heif_image_handle *handle;
    heif_good(heif_context_encode_image(context, image, encoder, options, &handle));
    if (style->exif != NULL)
        heif_good(heif_context_add_exif_metadata(context, handle, style->exif->bytes,
                                                 (int)style->exif->size));
    *file = (blob){NULL, 0};
    struct heif_writer writer = {1, heif_append};
    heif_good(heif_context_write(context, &writer, file));
    heif_nclx_color_profile_free(numbers);
    heif_encoding_options_free(options);
    heif_image_handle_release(handle);
    heif_image_release(image);
    heif_encoder_release(encoder);
    heif_context_free(context);
    return true;
}

#endif
