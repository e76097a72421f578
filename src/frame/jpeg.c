/*
 * jpeg.c - JPEG to linear light and 8-bit rows to JPEG, by libjpeg-turbo.
 *
 * The library leaves a failed call by longjmp. Each direction is therefore two functions: the outer
 * one owns the state, the inner one holds the setjmp and no local that changes after it.
 */
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>

#include <jerror.h>
#include <jpeglib.h>

#include "frame/frame_internal.h"

/* Rows decoded at a time: a turned picture is then written in runs, not single pixels. */
enum { BATCH = 16 };

/* More passes over the picture than any camera or editor writes; a small file could otherwise ask
 * for hours of work (see "Two Issues with the JPEG Standard", libjpeg-turbo project, 2016). */
enum { SCANS_MAX = 100 };

enum { PREVIEW_QUALITY = 85, DRAWN_QUALITY = 92 };

typedef struct failure {
    struct jpeg_error_mgr manager; /* first: the library hands back a pointer to it */
    jmp_buf leave;
    tl_status status;
    bool cut_short; /* the file ended before its pixels did */
} failure;

static tl_status status_of(int message) {
    switch (message) {
    case JERR_OUT_OF_MEMORY:
        return TL_ERR_MEMORY;
    case JERR_IMAGE_TOO_BIG:
    case JERR_WIDTH_OVERFLOW:
        return TL_ERR_TOO_LARGE;
    case JERR_SOF_UNSUPPORTED:
    case JERR_BAD_PRECISION:
    case JERR_ARITH_NOTIMPL:
        return TL_ERR_JPEG_KIND;
    case JERR_NO_SOI:
    case JERR_CONVERSION_NOTIMPL:
        return TL_ERR_NOT_PICTURE;
    default:
        return TL_ERR_BROKEN;
    }
}

static void leave_with(j_common_ptr info, tl_status status) {
    failure *f = (failure *)info->err;
    f->status = status;
    longjmp(f->leave, 1);
}

static void on_error(j_common_ptr info) {
    leave_with(info, status_of(info->err->msg_code));
}

/* Warnings: those that mean missing or garbled pixels end the work, the others are harmless. */
static void on_message(j_common_ptr info, int level) {
    if (level >= 0)
        return;
    failure *f = (failure *)info->err;
    switch (info->err->msg_code) {
    case JWRN_JPEG_EOF:
        f->cut_short = true;
        leave_with(info, TL_ERR_BROKEN);
        break;
    case JWRN_HIT_MARKER:
        f->cut_short = info->is_decompressor && ((j_decompress_ptr)info)->unread_marker == JPEG_EOI;
        leave_with(info, TL_ERR_BROKEN);
        break;
    case JWRN_HUFF_BAD_CODE:
    case JWRN_MUST_RESYNC:
    case JWRN_BOGUS_PROGRESSION:
        leave_with(info, TL_ERR_BROKEN);
        break;
    default:
        break;
    }
}

static void be_silent(j_common_ptr info) {
    (void)info;
}

static struct jpeg_error_mgr *failure_init(failure *f) {
    struct jpeg_error_mgr *manager = jpeg_std_error(&f->manager);
    manager->error_exit = on_error;
    manager->emit_message = on_message;
    manager->output_message = be_silent;
    return manager;
}

static void limit_scans(j_common_ptr info) {
    if (info->is_decompressor && ((j_decompress_ptr)info)->input_scan_number > SCANS_MAX)
        leave_with(info, TL_ERR_BROKEN);
}

typedef struct decoder {
    failure failure;
    struct jpeg_decompress_struct jpeg;
    struct jpeg_progress_mgr progress;
    uint16_t linear[256];
    tl_frame_turn turn;
    int channels;      /* of the picture */
    uint8_t *rows;     /* BATCH stored rows */
    JDIMENSION placed; /* stored rows that are in the picture */
    uint16_t *sample;
    JOCTET *profile; /* ICC; or NULL */
} decoder;

/* Copy a run of pixels through the table. */
static void place_run(const decoder *d, const uint8_t *from, ptrdiff_t from_step, uint16_t *to,
                      ptrdiff_t to_step, size_t count) {
    if (d->channels == 1) {
        for (size_t i = 0; i < count; i++, from += from_step, to += to_step)
            to[0] = d->linear[from[0]];
        return;
    }
    for (size_t i = 0; i < count; i++, from += from_step, to += to_step) {
        to[0] = d->linear[from[0]];
        to[1] = d->linear[from[1]];
        to[2] = d->linear[from[2]];
    }
}

/* Put the stored rows decoded since the last call into the upright picture. */
static void place_rows(decoder *d) {
    const ptrdiff_t channels = d->channels;
    const size_t width = d->jpeg.output_width, y = d->placed;
    const size_t count = d->jpeg.output_scanline - d->placed;
    d->placed = d->jpeg.output_scanline;
    if (d->jpeg.out_color_space == JCS_CMYK)
        tl_frame_inks_to_rgb(d->rows, count * width, d->jpeg.saw_Adobe_marker);
    const ptrdiff_t row = (ptrdiff_t)width * channels;
    uint16_t *to = d->sample + d->turn.origin + (ptrdiff_t)y * d->turn.step_y;
    const bool rows_stay_rows = d->turn.step_x == channels || d->turn.step_x == -channels;
    if (rows_stay_rows) {
        for (size_t r = 0; r < count; r++)
            place_run(d, d->rows + (ptrdiff_t)r * row, channels, to + (ptrdiff_t)r * d->turn.step_y,
                      d->turn.step_x, width);
    } else {
        for (size_t x = 0; x < width; x++)
            place_run(d, d->rows + (ptrdiff_t)x * channels, row, to + (ptrdiff_t)x * d->turn.step_x,
                      d->turn.step_y, count);
    }
}

static tl_status check_header(struct jpeg_decompress_struct *jpeg) {
    const tl_status size = tl_frame_size_check(jpeg->image_width, jpeg->image_height, 3, false);
    if (size != TL_OK)
        return size;
    switch (jpeg->jpeg_color_space) {
    case JCS_GRAYSCALE:
        jpeg->out_color_space = JCS_GRAYSCALE;
        return TL_OK;
    case JCS_YCbCr:
    case JCS_RGB:
        jpeg->out_color_space = JCS_RGB;
        return TL_OK;
    case JCS_CMYK:
    case JCS_YCCK:
        jpeg->out_color_space = JCS_CMYK;
        return TL_OK;
    default:
        return TL_ERR_NOT_PICTURE;
    }
}

/* What the file says of its transfer curve. */
static void read_curve(decoder *d) {
    tl_frame_curve curve = {0};
    unsigned size;
    if (jpeg_read_icc_profile(&d->jpeg, &d->profile, &size)) {
        curve.profile = d->profile;
        curve.profile_size = size;
    }
    tl_frame_curve_table(&curve, 256, d->linear);
}

static void decode_rows(decoder *d) {
    struct jpeg_decompress_struct *jpeg = &d->jpeg;
    const size_t row = (size_t)jpeg->output_width * (size_t)jpeg->output_components;
    JSAMPROW pointer[BATCH];
    for (size_t i = 0; i < BATCH; i++)
        pointer[i] = d->rows + i * row;
    while (jpeg->output_scanline < jpeg->output_height) {
        JDIMENSION got = 0;
        while (got < BATCH && jpeg->output_scanline < jpeg->output_height)
            got += jpeg_read_scanlines(jpeg, pointer + got, BATCH - got);
        place_rows(d);
    }
}

static tl_status decode(decoder *d, const unsigned char *bytes, size_t size, int orientation) {
    if (setjmp(d->failure.leave) != 0)
        return d->failure.status;
    jpeg_create_decompress(&d->jpeg);
    d->progress.progress_monitor = limit_scans;
    d->jpeg.progress = &d->progress;
    jpeg_mem_src(&d->jpeg, bytes, (unsigned long)size);
    jpeg_save_markers(&d->jpeg, JPEG_APP0 + 2, 0xffff); /* where ICC profiles are */
    jpeg_read_header(&d->jpeg, TRUE);
    const tl_status verdict = check_header(&d->jpeg);
    if (verdict != TL_OK)
        return verdict;
    read_curve(d);
    jpeg_start_decompress(&d->jpeg);

    const size_t width = d->jpeg.output_width, height = d->jpeg.output_height;
    d->channels = d->jpeg.output_components == 1 ? 1 : 3;
    d->turn = tl_frame_turn_make(orientation, (int)width, (int)height, d->channels);
    d->rows = malloc(BATCH * width * (size_t)d->jpeg.output_components);
    d->sample = malloc(width * height * (size_t)d->channels * sizeof *d->sample);
    if (d->rows == NULL || d->sample == NULL)
        return TL_ERR_MEMORY;
    decode_rows(d);
    return TL_OK;
}

bool tl_frame_is_jpeg(const unsigned char *bytes, size_t size) {
    return size >= 3 && bytes[0] == 0xff && bytes[1] == 0xd8 && bytes[2] == 0xff;
}

/* The picture that is there, with the rows that are not taken out. */
static void hand_over(decoder *d, int orientation, tl_image *image, int *rows_missing) {
    const int missing = (int)(d->jpeg.output_height - d->placed);
    *image = (tl_image){.width = d->turn.width,
                        .height = d->turn.height,
                        .channels = d->channels,
                        .sample = d->sample};
    d->sample = NULL;
    if (missing > 0)
        tl_frame_drop_rows(image, orientation, missing);
    if (rows_missing != NULL)
        *rows_missing = missing;
}

tl_status tl_frame_jpeg_decode(const unsigned char *bytes, size_t size, int orientation,
                               tl_image *image, int *rows_missing) {
    decoder *d = calloc(1, sizeof *d);
    if (d == NULL)
        return TL_ERR_MEMORY;
    d->jpeg.err = failure_init(&d->failure);
    tl_status status = decode(d, bytes, size, orientation);
    if (status == TL_ERR_BROKEN && d->failure.cut_short && rows_missing != NULL &&
        d->sample != NULL) {
        place_rows(d); /* those that were whole before the end came */
        status = d->placed > 0 ? TL_OK : TL_ERR_BROKEN;
    }
    if (status == TL_OK)
        hand_over(d, orientation, image, rows_missing);
    jpeg_destroy_decompress(&d->jpeg);
    free(d->profile);
    free(d->sample);
    free(d->rows);
    free(d);
    return status;
}

typedef struct encoder {
    failure failure;
    struct jpeg_compress_struct jpeg;
    unsigned char *bytes;
    unsigned long size; /* room in `bytes`, then what is used of it */
} encoder;

static tl_status encode(encoder *e, const uint8_t *rows, int width, int height, int channels,
                        bool drawn) {
    if (setjmp(e->failure.leave) != 0)
        return e->failure.status;
    struct jpeg_compress_struct *jpeg = &e->jpeg;
    jpeg_create_compress(jpeg);
    jpeg_mem_dest(jpeg, &e->bytes, &e->size);
    jpeg->image_width = (JDIMENSION)width;
    jpeg->image_height = (JDIMENSION)height;
    jpeg->input_components = channels;
    jpeg->in_color_space = channels == 1 ? JCS_GRAYSCALE : JCS_RGB;
    jpeg_set_defaults(jpeg);
    jpeg_set_quality(jpeg, drawn ? DRAWN_QUALITY : PREVIEW_QUALITY, TRUE);
    if (drawn) /* colour at full size: a thin line keeps its own */
        jpeg->comp_info[0].h_samp_factor = jpeg->comp_info[0].v_samp_factor = 1;
    jpeg_start_compress(jpeg, TRUE);
    const size_t row = (size_t)width * (size_t)channels;
    while (jpeg->next_scanline < jpeg->image_height) {
        /* The library takes non-const rows but does not write to them. */
        JSAMPROW pointer = (JSAMPROW)(uintptr_t)(rows + jpeg->next_scanline * row);
        jpeg_write_scanlines(jpeg, &pointer, 1);
    }
    jpeg_finish_compress(jpeg);
    return TL_OK;
}

tl_status tl_frame_jpeg_encode(const uint8_t *rows, int width, int height, int channels, bool drawn,
                               unsigned char **jpeg, size_t *size) {
    encoder *e = calloc(1, sizeof *e);
    /* Room for the worst case, so that the library never puts a buffer of its own in its place:
     * three bytes a pixel with sides rounded up to 16, six with colour at full size, and the
     * headers (tjBufSize of the same library). */
    const size_t room = (drawn ? 6 : 3) * ((size_t)width + 15) * ((size_t)height + 15) + 2048;
    unsigned char *buffer = malloc(room);
    if (e == NULL || buffer == NULL) {
        free(e);
        free(buffer);
        return TL_ERR_MEMORY;
    }
    e->bytes = buffer;
    e->size = room;
    e->jpeg.err = failure_init(&e->failure);
    const tl_status status = encode(e, rows, width, height, channels, drawn);
    jpeg_destroy_compress(&e->jpeg);
    if (status == TL_OK) {
        unsigned char *fitted = realloc(buffer, e->size);
        *jpeg = fitted != NULL ? fitted : buffer;
        *size = e->size;
    } else {
        free(buffer);
    }
    free(e);
    return status;
}
