/*
 * tiff_samples.c - grey and RGB of 8, 16 and 32 bits and floating point, from strips and tiles.
 *
 * Floating-point samples count from 0 to 1; where the greatest is more than 1, to the greatest.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "frame/tiff_internal.h"

enum { BLOCK_SIDE_MAX = 65536 }; /* so that sizes below fit their types */
enum { SAMPLES_MAX = 16 };       /* a pixel; colour, alpha and whatever an editor adds */

/* A strip or a tile: part of the picture that is decoded at once, of each plane its own. */
typedef struct blocks {
    bool tiled;
    uint32_t width, height; /* of a whole one */
    uint32_t across, per_plane;
    size_t size; /* bytes of one */
} blocks;

typedef struct reader {
    TIFF *tiff;
    const tl_tiff_layout *layout;
    blocks blocks;
    int planes;            /* blocks that lie side by side: 1, or one for each sample */
    unsigned char *buffer; /* of all planes */
    double scale;          /* of floating point: 1 over the greatest */
    double greatest;
    uint16_t *curve; /* 65536; of 8-bit pictures not used */
    uint16_t *light; /* one row of a block */
    uint8_t *code;   /* the same as codes */
    tl_frame_canvas canvas;
} reader;

/* One run of pixels of a block: its first sample, and the way to the next pixel and channel. */
typedef struct run {
    int x, y, count;
    const unsigned char *first;
    size_t pixel_step, sample_step;
} run;

bool tl_tiff_is_plain(const tl_tiff_layout *l) {
    const bool whole = l->format == SAMPLEFORMAT_UINT || l->format == SAMPLEFORMAT_VOID;
    const bool known = whole ? l->bits == 8 || l->bits == 16 || l->bits == 32
                             : l->format == SAMPLEFORMAT_IEEEFP &&
                                   (l->bits == 16 || l->bits == 32 || l->bits == 64);
    return known && l->samples >= l->channels && l->samples <= SAMPLES_MAX &&
           (l->photometric == PHOTOMETRIC_MINISBLACK || l->photometric == PHOTOMETRIC_MINISWHITE ||
            l->photometric == PHOTOMETRIC_RGB);
}

/* IEEE 754-2008, 3.6, binary16. */
static double half_to_double(uint16_t half) {
    const int exponent = half >> 10 & 31, fraction = half & 1023;
    const double size = exponent == 0    ? ldexp(fraction, -24)
                        : exponent == 31 ? (fraction ? NAN : INFINITY)
                                         : ldexp(1024 + fraction, exponent - 25);
    return half & 0x8000 ? -size : size;
}

static double real_at(const unsigned char *at, int bits) {
    if (bits == 16) {
        uint16_t half;
        memcpy(&half, at, sizeof half);
        return half_to_double(half);
    }
    if (bits == 32) {
        float value;
        memcpy(&value, at, sizeof value);
        return (double)value;
    }
    double value;
    memcpy(&value, at, sizeof value);
    return value;
}

static uint16_t whole_at(const unsigned char *at, int bits) {
    if (bits == 8)
        return (uint16_t)(*at * 257);
    if (bits == 16) {
        uint16_t value;
        memcpy(&value, at, sizeof value);
        return value;
    }
    uint32_t value;
    memcpy(&value, at, sizeof value);
    return (uint16_t)(value >> 16);
}

/* Any sample as a code of 16 bits. */
static uint16_t code_at(const reader *r, const unsigned char *at) {
    if (r->layout->format != SAMPLEFORMAT_IEEEFP)
        return whole_at(at, r->layout->bits);
    const double value = real_at(at, r->layout->bits) * r->scale;
    return !(value > 0.0) ? 0 : value >= 1.0 ? 65535 : (uint16_t)lround(65535.0 * value);
}

static void find_greatest(reader *r, const run *part) {
    for (int i = 0; i < part->count; i++)
        for (int c = 0; c < r->layout->channels; c++) {
            const double value =
                real_at(part->first + (size_t)i * part->pixel_step + (size_t)c * part->sample_step,
                        r->layout->bits);
            if (value > r->greatest && isfinite(value))
                r->greatest = value;
        }
}

static void take_codes(reader *r, const run *part) {
    const int channels = r->layout->channels;
    const uint8_t flip = r->layout->photometric == PHOTOMETRIC_MINISWHITE ? 255 : 0;
    for (int i = 0; i < part->count; i++)
        for (int c = 0; c < channels; c++)
            r->code[i * channels + c] =
                part->first[(size_t)i * part->pixel_step + (size_t)c * part->sample_step] ^ flip;
    tl_frame_canvas_codes(&r->canvas, part->x, part->y, part->count, r->code);
}

static void take_samples(reader *r, const run *part) {
    const int channels = r->layout->channels;
    const uint16_t flip = r->layout->photometric == PHOTOMETRIC_MINISWHITE ? 65535 : 0;
    for (int i = 0; i < part->count; i++) {
        const unsigned char *at = part->first + (size_t)i * part->pixel_step;
        const uint32_t alpha =
            r->layout->alpha ? code_at(r, at + (size_t)channels * part->sample_step) : 65535;
        for (int c = 0; c < channels; c++) {
            const uint16_t code = code_at(r, at + (size_t)c * part->sample_step) ^ flip;
            r->light[i * channels + c] =
                (uint16_t)((r->curve[code] * (uint64_t)alpha + 32767) / 65535);
        }
    }
    tl_frame_canvas_samples(&r->canvas, part->x, part->y, part->count, r->light);
}

static tl_status find_blocks(reader *r) {
    blocks *b = &r->blocks;
    const tl_tiff_layout *l = r->layout;
    uint64_t size;
    b->tiled = TIFFIsTiled(r->tiff) != 0;
    if (b->tiled) {
        if (!TIFFGetField(r->tiff, TIFFTAG_TILEWIDTH, &b->width) ||
            !TIFFGetField(r->tiff, TIFFTAG_TILELENGTH, &b->height))
            return TL_ERR_BROKEN;
        size = TIFFTileSize64(r->tiff);
    } else {
        b->width = l->width;
        TIFFGetFieldDefaulted(r->tiff, TIFFTAG_ROWSPERSTRIP, &b->height);
        b->height = b->height < l->height ? b->height : l->height;
        size = TIFFStripSize64(r->tiff);
    }
    if (b->width > BLOCK_SIDE_MAX || b->height > BLOCK_SIDE_MAX)
        return TL_ERR_TOO_LARGE;
    r->planes = l->separate ? l->samples : 1;
    const uint64_t pixel = (uint64_t)l->bits / 8 * (l->separate ? 1 : l->samples);
    if (b->width == 0 || b->height == 0 || size < pixel * b->width * b->height)
        return TL_ERR_BROKEN;
    if (size > (uint64_t)TL_IMAGE_MAX_BYTES / (uint64_t)r->planes)
        return TL_ERR_TOO_LARGE;
    b->size = (size_t)size;
    b->across = (l->width + b->width - 1) / b->width;
    b->per_plane = b->across * ((l->height + b->height - 1) / b->height);
    return TL_OK;
}

/* A block of all planes into the buffer; the last strip may be shorter. */
static bool read_block(reader *r, uint32_t index, uint32_t rows) {
    const size_t row = (size_t)(r->blocks.size / r->blocks.height);
    const tmsize_t wanted = (tmsize_t)(r->blocks.tiled ? r->blocks.size : (size_t)rows * row);
    for (int p = 0; p < r->planes; p++) {
        unsigned char *to = r->buffer + (size_t)p * r->blocks.size;
        const uint32_t n = index + (uint32_t)p * r->blocks.per_plane;
        const tmsize_t got = r->blocks.tiled ? TIFFReadEncodedTile(r->tiff, n, to, wanted)
                                             : TIFFReadEncodedStrip(r->tiff, n, to, wanted);
        if (got < wanted)
            return false;
    }
    return true;
}

/* Every row of every block, one after the other. */
static tl_status walk(reader *r, void (*take)(reader *r, const run *part)) {
    const blocks *b = &r->blocks;
    const tl_tiff_layout *l = r->layout;
    const size_t unit = l->bits / 8;
    const size_t pixel = unit * (l->separate ? 1 : l->samples);
    for (uint32_t index = 0; index < b->per_plane; index++) {
        const uint32_t x = index % b->across * b->width, y = index / b->across * b->height;
        const uint32_t wide = l->width - x < b->width ? l->width - x : b->width;
        const uint32_t high = l->height - y < b->height ? l->height - y : b->height;
        if (!read_block(r, index, high))
            return TL_ERR_BROKEN;
        for (uint32_t i = 0; i < high; i++) {
            const run one = {.x = (int)x,
                             .y = (int)(y + i),
                             .count = (int)wide,
                             .first = r->buffer + (size_t)i * b->width * pixel,
                             .pixel_step = pixel,
                             .sample_step = l->separate ? b->size : unit};
            take(r, &one);
        }
    }
    return TL_OK;
}

static tl_status decode(reader *r, const tl_frame_curve *curve, int orientation) {
    const tl_tiff_layout *l = r->layout;
    tl_status status = find_blocks(r);
    if (status != TL_OK)
        return status;
    const size_t row = (size_t)r->blocks.width * (size_t)l->channels;
    r->buffer = malloc(r->blocks.size * (size_t)r->planes);
    r->curve = malloc(65536 * sizeof *r->curve);
    r->light = malloc(row * sizeof *r->light);
    r->code = malloc(row);
    if (r->buffer == NULL || r->curve == NULL || r->light == NULL || r->code == NULL)
        return TL_ERR_MEMORY;
    const bool deep = l->bits > 8 || l->alpha;
    status = tl_frame_canvas_make(l->width, l->height, l->channels, deep, orientation, &r->canvas);
    if (status != TL_OK)
        return status;
    if (!deep) {
        tl_frame_curve_table(curve, 256, r->canvas.image.light);
        return walk(r, take_codes);
    }
    tl_frame_curve_table(curve, 65536, r->curve);
    if (l->format == SAMPLEFORMAT_IEEEFP)
        status = walk(r, find_greatest);
    r->scale = r->greatest > 1.0 ? 1.0 / r->greatest : 1.0;
    return status == TL_OK ? walk(r, take_samples) : status;
}

tl_status tl_tiff_samples(TIFF *tiff, const tl_tiff_layout *layout, const tl_frame_curve *curve,
                          int orientation, tl_image *image) {
    reader r = {.tiff = tiff, .layout = layout};
    const tl_status status = decode(&r, curve, orientation);
    if (status == TL_OK)
        *image = r.canvas.image;
    else
        tl_image_free(&r.canvas.image);
    free(r.buffer);
    free(r.curve);
    free(r.light);
    free(r.code);
    return status;
}
