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

/*
 * Whether bytes passed over in front of a marker are data of pixels that are left over when all
 * pixels are there. Some before were garbled then, so that the codes after them were read at the
 * wrong places, with no bad one among them. Zeros, with which some cameras fill up, are harmless;
 * data end in bits that are set (ITU-T T.81, F.1.2.3), and a zero behind FF belongs to it. The
 * library reads ahead and forgets what it does not use: up to eight bytes go unseen.
 */
static bool are_left_over(j_common_ptr info) {
    const struct jpeg_decompress_struct *jpeg = (j_decompress_ptr)info;
    if (!info->is_decompressor || jpeg->input_scan_number < 1)
        return false; /* before the pixels */
    const JOCTET *marker = jpeg->src->next_input_byte;
    return marker[-1] != 0 || marker[-2] == 0xff;
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
    case JWRN_EXTRANEOUS_DATA:
        if (are_left_over(info))
            leave_with(info, TL_ERR_BROKEN);
        break;
    case JWRN_HIT_MARKER: /* too few data, with an end to them: garbled, as in are_left_over */
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
    tl_frame_turn turn;
    tl_frame_crop crop; /* of the stored picture as decoded */
    int channels;       /* of the picture */
    int placed;         /* rows of the crop that are in the picture */
    uint8_t *rows;      /* BATCH stored rows, where they cannot go straight into the picture */
    uint8_t *code;
    JOCTET *profile; /* ICC; or NULL */
} decoder;

static void place_run(int channels, const uint8_t *from, ptrdiff_t from_step, uint8_t *to,
                      ptrdiff_t to_step, size_t count) {
    if (channels == 1) {
        for (size_t i = 0; i < count; i++, from += from_step, to += to_step)
            to[0] = from[0];
        return;
    }
    for (size_t i = 0; i < count; i++, from += from_step, to += to_step) {
        to[0] = from[0];
        to[1] = from[1];
        to[2] = from[2];
    }
}

/* Put the rows decoded since the last call into the upright picture. */
static void place_rows(decoder *d) {
    const int channels = d->channels;
    const size_t width = (size_t)d->crop.width;
    const int end = (int)d->jpeg.output_scanline - d->crop.top;
    const size_t count = (size_t)(end - d->placed);
    const ptrdiff_t row = (ptrdiff_t)width * channels;
    uint8_t *to = d->code + d->turn.origin + d->placed * d->turn.step_y;
    d->placed = end;
    if (d->rows == NULL)
        return; /* they are there */
    if (d->jpeg.out_color_space == JCS_CMYK)
        tl_frame_inks_to_rgb(d->rows, count * width, d->jpeg.saw_Adobe_marker);
    const bool rows_stay_rows = d->turn.step_x == channels || d->turn.step_x == -channels;
    if (rows_stay_rows) {
        for (size_t r = 0; r < count; r++)
            place_run(channels, d->rows + (ptrdiff_t)r * row, channels,
                      to + (ptrdiff_t)r * d->turn.step_y, d->turn.step_x, width);
    } else {
        for (size_t x = 0; x < width; x++)
            place_run(channels, d->rows + (ptrdiff_t)x * channels, row,
                      to + (ptrdiff_t)x * d->turn.step_x, d->turn.step_y, count);
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

/* The crop's rows, straight into the picture where nothing has to be done to them. */
static void decode_rows(decoder *d) {
    struct jpeg_decompress_struct *jpeg = &d->jpeg;
    const size_t row = (size_t)d->crop.width * (size_t)jpeg->output_components;
    const size_t height = (size_t)d->crop.height;
    for (size_t y = 0; y < height;) {
        JSAMPROW pointer[BATCH];
        const size_t want = height - y < BATCH ? height - y : BATCH;
        size_t got = 0;
        for (size_t i = 0; i < want; i++)
            pointer[i] = d->rows != NULL ? d->rows + i * row : d->code + (y + i) * row;
        while (got < want)
            got += jpeg_read_scanlines(jpeg, pointer + got, (JDIMENSION)(want - got));
        place_rows(d);
        y += want;
    }
}

/* How often a picture is halved. Once is never worth it: colours are then still decoded at full
 * size, which takes longer than all the rest, while halving twice takes half the time of a whole
 * decode. */
static int choose_halvings(long width, long height) {
    if (width * height <= TL_FRAME_WHOLE_PIXELS)
        return 0;
    int halvings = 2;
    while (halvings < TL_FRAME_HALVINGS_MAX &&
           (width >> halvings) * (height >> halvings) > TL_FRAME_HELD_PIXELS)
        halvings++;
    return halvings;
}

/* Leave out what lies beside the part wanted; the library crops columns to whole blocks. */
static tl_status start_crop(decoder *d, const tl_frame_how *how) {
    struct jpeg_decompress_struct *jpeg = &d->jpeg;
    const int width = (int)jpeg->output_width, height = (int)jpeg->output_height;
    d->crop = (tl_frame_crop){.width = width, .height = height};
    if (!how->part)
        return TL_OK;
    if (!tl_frame_crop_make(how, (int)jpeg->image_width, (int)jpeg->image_height, &d->crop))
        return TL_ERR_ARGUMENT;
    JDIMENSION left = (JDIMENSION)d->crop.left, wide = (JDIMENSION)d->crop.width;
    if (d->crop.width < width)
        jpeg_crop_scanline(jpeg, &left, &wide);
    if (d->crop.top > 0)
        jpeg_skip_scanlines(jpeg, (JDIMENSION)d->crop.top);
    d->crop.left = (int)left;
    d->crop.width = (int)jpeg->output_width;
    return TL_OK;
}

/* What the file says of its transfer curve. */
static void read_curve(decoder *d, uint16_t light[256]) {
    tl_frame_curve curve = {0};
    unsigned size;
    if (jpeg_read_icc_profile(&d->jpeg, &d->profile, &size)) {
        curve.profile = d->profile;
        curve.profile_size = size;
    }
    tl_frame_curve_table(&curve, 256, light);
}

static tl_status decode(decoder *d, const unsigned char *bytes, size_t size,
                        const tl_frame_how *how, tl_image *image) {
    if (setjmp(d->failure.leave) != 0)
        return d->failure.status;
    struct jpeg_decompress_struct *jpeg = &d->jpeg;
    jpeg_create_decompress(jpeg);
    d->progress.progress_monitor = limit_scans;
    jpeg->progress = &d->progress;
    jpeg_mem_src(jpeg, bytes, (unsigned long)size);
    jpeg_save_markers(jpeg, JPEG_APP0 + 2, 0xffff); /* where ICC profiles are */
    jpeg_read_header(jpeg, TRUE);
    tl_status status = check_header(jpeg);
    if (status != TL_OK)
        return status;
    read_curve(d, image->light);
    image->halvings = how->halvings != TL_FRAME_AS_FITS
                          ? how->halvings
                          : choose_halvings((long)jpeg->image_width, (long)jpeg->image_height);
    jpeg->scale_num = 1;
    jpeg->scale_denom = 1U << image->halvings;
    jpeg_start_decompress(jpeg);

    status = start_crop(d, how);
    if (status != TL_OK)
        return status;
    d->channels = jpeg->output_components == 1 ? 1 : 3;
    const size_t width = (size_t)d->crop.width;
    const bool straight = how->orientation == 1 && jpeg->out_color_space != JCS_CMYK;
    d->turn = tl_frame_turn_make(how->orientation, d->crop.width, d->crop.height, d->channels);
    d->rows = straight ? NULL : malloc(BATCH * width * (size_t)jpeg->output_components);
    d->code = malloc(width * (size_t)d->channels * (size_t)d->crop.height);
    if ((!straight && d->rows == NULL) || d->code == NULL)
        return TL_ERR_MEMORY;
    decode_rows(d);
    if (d->crop.height == (int)jpeg->output_height)
        jpeg_finish_decompress(jpeg); /* for its warnings */
    return TL_OK;
}

/* The picture that is there, without the rows that are not. */
static void hand_over(decoder *d, int orientation, int missing, tl_image *image) {
    image->width = d->turn.width;
    image->height = d->turn.height;
    image->channels = d->channels;
    image->code = d->code;
    d->code = NULL;
    const tl_frame_how how = {.orientation = orientation, .halvings = image->halvings};
    tl_frame_crop_place(&d->crop, &how, (int)d->jpeg.image_width, (int)d->jpeg.image_height,
                        &image->left, &image->top);
    if (missing > 0)
        tl_frame_drop_rows(image, orientation, missing);
}

/* Rows that were whole before the file's end came. */
static tl_status save_whole_rows(decoder *d, const tl_frame_how *how) {
    if (!d->failure.cut_short || how->part || d->code == NULL)
        return TL_ERR_BROKEN;
    place_rows(d);
    return d->placed > 0 ? TL_OK : TL_ERR_BROKEN;
}

bool tl_frame_is_jpeg(const unsigned char *bytes, size_t size) {
    return size >= 3 && bytes[0] == 0xff && bytes[1] == 0xd8 && bytes[2] == 0xff;
}

tl_status tl_frame_jpeg_decode(const unsigned char *bytes, size_t size, const tl_frame_how *how,
                               int *width, int *height, int *rows_missing, tl_image *image) {
    decoder *d = calloc(1, sizeof *d);
    if (d == NULL)
        return TL_ERR_MEMORY;
    tl_image made = {0};
    /* Room kept for the rest of a file that never came: as codes, zeros would be pixels. */
    while (size > 0 && bytes[size - 1] == 0)
        size--;
    d->jpeg.err = failure_init(&d->failure);
    tl_status status = decode(d, bytes, size, how, &made);
    if (status == TL_ERR_BROKEN && rows_missing != NULL)
        status = save_whole_rows(d, how);
    if (status == TL_OK) {
        const bool exchanged = how->orientation >= 5;
        const int stored_height = (int)d->jpeg.image_height;
        const int missing = d->crop.height - d->placed, kept = d->placed << made.halvings;
        *width = exchanged ? stored_height : (int)d->jpeg.image_width;
        *height = exchanged ? (int)d->jpeg.image_width : stored_height;
        if (rows_missing != NULL)
            *rows_missing = missing > 0 ? stored_height - kept : 0;
        hand_over(d, how->orientation, missing, &made);
        *image = made;
    }
    jpeg_destroy_decompress(&d->jpeg);
    free(d->profile);
    free(d->code);
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
