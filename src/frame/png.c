/*
 * png.c - PNG to pixels (PNG, W3C, third edition), by libpng.
 *
 * What lets light through (alpha, a transparent colour) lies over black: what is not shown gives no
 * light. The library leaves a failed call by longjmp, so the outer function owns the state and the
 * inner one holds the setjmp and no local that changes after it.
 */
#include <math.h>
#include <setjmp.h>
#include <stdlib.h>
#include <string.h>

#include <png.h>

#include "frame/frame_internal.h"

static const unsigned char SIGNATURE[8] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};

/* No deflate stream holds more than this many times its size ("zlib technical details", J. Gailly
 * and M. Adler: 1032:1): a file that promises more is cut short, and not worth the memory. */
enum { DEFLATE_MOST = 1032 };

/* What stands for an sRGB curve where a chunk can hold a power only (PNG, section 11.3.2.5): 1/2.2.
 * Alone it is mostly that, too; the power of Adobe RGB is 45471. */
enum { GAMA_OF_SRGB = 45455, GAMA_UNIT = 100000 };

typedef struct reader {
    png_structp png;
    png_infop info;
    const unsigned char *bytes;
    size_t size, at;
    tl_status status;
    tl_frame_canvas canvas;
    unsigned char *rows; /* one stored row, or all of an interlaced picture */
    uint16_t *curve;     /* of 8-bit pictures 256, of others 65536 */
    uint16_t *light;     /* one row of samples */
} reader;

static void on_error(png_structp png, png_const_charp text) {
    (void)text;
    png_longjmp(png, 1);
}

static void be_silent(png_structp png, png_const_charp text) {
    (void)png;
    (void)text;
}

static void read_bytes(png_structp png, png_bytep to, size_t count) {
    reader *r = png_get_io_ptr(png);
    if (count > r->size - r->at)
        png_error(png, "cut short");
    memcpy(to, r->bytes + r->at, count);
    r->at += count;
}

/* The order of trust is that of section 4.3 of the standard. */
static tl_frame_curve curve_of(const reader *r) {
    const unsigned char *code;
    size_t size;
    char *name;
    int method, intent;
    png_bytep profile;
    png_uint_32 profile_size;
    png_fixed_point gama;
    if (tl_frame_png_chunk(r->bytes, r->size, "cICP", &code, &size) && size == 4)
        return tl_frame_curve_h273(code[1]);
    if (png_get_iCCP(r->png, r->info, &name, &method, &profile, &profile_size) == PNG_INFO_iCCP)
        return (tl_frame_curve){.profile = profile, .profile_size = profile_size};
    if (png_get_sRGB(r->png, r->info, &intent) == PNG_INFO_sRGB)
        return (tl_frame_curve){0};
    if (png_get_gAMA_fixed(r->png, r->info, &gama) == PNG_INFO_gAMA && gama != GAMA_OF_SRGB &&
        gama >= GAMA_UNIT / 10 && gama <= GAMA_UNIT * 10)
        return (tl_frame_curve){.kind = TL_CURVE_POWER, .exponent = (double)GAMA_UNIT / gama};
    return (tl_frame_curve){0};
}

/* 8 or 16 bits in the machine's order, and colour where there is a palette. */
static void ask_for_whole_samples(reader *r) {
    png_set_expand(r->png);
    const uint16_t one = 1;
    if (*(const unsigned char *)&one == 1)
        png_set_swap(r->png);
}

/* A stored row as codes times alpha, in linear light. */
static void to_light(const reader *r, const unsigned char *row, int with_alpha, bool deep) {
    const int channels = r->canvas.image.channels, step = channels + with_alpha;
    const uint16_t *const wide = (const uint16_t *)(const void *)row;
    const uint32_t full = deep ? 65535 : 255;
    for (int x = 0; x < r->canvas.stored_width; x++)
        for (int c = 0; c < channels; c++) {
            const int i = x * step + c, a = x * step + channels;
            const uint32_t light = r->curve[deep ? wide[i] : row[i]];
            const uint32_t alpha = !with_alpha ? full : deep ? wide[a] : row[a];
            r->light[x * channels + c] = (uint16_t)((light * alpha + full / 2) / full);
        }
}

static void place_row(reader *r, int y, const unsigned char *row, int with_alpha, bool deep) {
    if (r->canvas.image.code != NULL) {
        tl_frame_canvas_codes(&r->canvas, 0, y, r->canvas.stored_width, row);
        return;
    }
    to_light(r, row, with_alpha, deep);
    tl_frame_canvas_samples(&r->canvas, 0, y, r->canvas.stored_width, r->light);
}

static void read_rows(reader *r, int passes, size_t row, int height, int with_alpha, bool deep) {
    for (int pass = 0; pass < passes; pass++)
        for (int y = 0; y < height; y++) {
            unsigned char *to = passes > 1 ? r->rows + (size_t)y * row : r->rows;
            png_read_row(r->png, to, NULL);
            if (pass == passes - 1)
                place_row(r, y, to, with_alpha, deep);
        }
}

/* Before anything large is asked for: IHDR is the first chunk, its sizes the first of it. */
static tl_status check_size(const reader *r, int channels, bool deep) {
    const uint64_t width = png_get_image_width(r->png, r->info);
    const uint64_t height = png_get_image_height(r->png, r->info);
    const uint64_t bits =
        (uint64_t)png_get_channels(r->png, r->info) * png_get_bit_depth(r->png, r->info);
    const tl_status status = tl_frame_size_check(width, height, channels, deep);
    if (status == TL_OK && width * bits / 8 * height / DEFLATE_MOST > r->size)
        return TL_ERR_BROKEN;
    return status;
}

static tl_status decode(reader *r, int orientation) {
    if (setjmp(png_jmpbuf(r->png)) != 0)
        return TL_ERR_BROKEN;
    png_set_read_fn(r->png, r, read_bytes);
    png_set_user_limits(r->png, PNG_UINT_31_MAX, PNG_UINT_31_MAX); /* checked here */
    png_read_info(r->png, r->info);
    const int type = png_get_color_type(r->png, r->info);
    const bool has_key = png_get_valid(r->png, r->info, PNG_INFO_tRNS) != 0;
    const int with_alpha = (type & PNG_COLOR_MASK_ALPHA) != 0 || has_key;
    const int channels = (type & PNG_COLOR_MASK_COLOR) != 0 ? 3 : 1;
    const bool wide = png_get_bit_depth(r->png, r->info) == 16;
    const bool deep = wide || with_alpha;
    tl_status status = check_size(r, channels, deep);
    if (status != TL_OK)
        return status;
    ask_for_whole_samples(r);
    const int passes = png_set_interlace_handling(r->png);
    png_read_update_info(r->png, r->info);

    const size_t row = png_get_rowbytes(r->png, r->info);
    const size_t width = png_get_image_width(r->png, r->info);
    const size_t height = png_get_image_height(r->png, r->info);
    const size_t codes = wide ? 65536 : 256;
    r->rows = malloc(passes > 1 ? row * height : row);
    r->curve = malloc(codes * sizeof *r->curve);
    r->light = malloc(width * (size_t)channels * sizeof *r->light);
    if (r->rows == NULL || r->curve == NULL || r->light == NULL)
        return TL_ERR_MEMORY;
    const tl_frame_curve curve = curve_of(r);
    tl_frame_curve_table(&curve, codes, r->curve);
    status = tl_frame_canvas_make(width, height, channels, deep, orientation, &r->canvas);
    if (status == TL_OK)
        read_rows(r, passes, row, (int)height, with_alpha, wide);
    return status;
}

bool tl_frame_is_png(const unsigned char *bytes, size_t size) {
    return size >= sizeof SIGNATURE && memcmp(bytes, SIGNATURE, sizeof SIGNATURE) == 0;
}

tl_status tl_frame_png_decode(const unsigned char *bytes, size_t size, int orientation,
                              tl_image *image) {
    reader *r = calloc(1, sizeof *r);
    if (r == NULL)
        return TL_ERR_MEMORY;
    r->bytes = bytes;
    r->size = size;
    r->png = png_create_read_struct(PNG_LIBPNG_VER_STRING, r, on_error, be_silent);
    r->info = r->png != NULL ? png_create_info_struct(r->png) : NULL;
    tl_status status = TL_ERR_MEMORY;
    if (r->info != NULL)
        status = decode(r, orientation);
    if (status == TL_OK && r->canvas.image.code != NULL)
        memcpy(r->canvas.image.light, r->curve, sizeof r->canvas.image.light);
    png_destroy_read_struct(&r->png, &r->info, NULL);
    free(r->rows);
    free(r->curve);
    free(r->light);
    if (status == TL_OK)
        *image = r->canvas.image;
    else
        tl_image_free(&r->canvas.image);
    free(r);
    return status;
}
