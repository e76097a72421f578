/*
 * fuzz_seeds_png.c - PNG seeds, by libpng: each colour type, interlaced, and the chunks that tell
 * the curve. The large one is packed, the small ones are not, so that a changed byte is a changed
 * pixel.
 */
#include <png.h>
#include <zlib.h>

#include "fuzz_seeds.h"

typedef struct png_seed {
    const char *name;
    int type, bits, side;
    bool interlaced;
    void (*mark)(png_structp png, png_infop info); /* more chunks; or NULL */
} png_seed;

static void append(png_structp png, png_bytep bytes, size_t count) {
    blob *b = png_get_io_ptr(png);
    b->bytes = realloc(b->bytes, b->size + count);
    assert_non_null(b->bytes);
    memcpy(b->bytes + b->size, bytes, count);
    b->size += count;
}

static void flush(png_structp png) {
    (void)png;
}

static void with_palette(png_structp png, png_infop info) {
    static const png_color colour[4] = {{5, 4, 3}, {120, 80, 10}, {200, 150, 40}, {255, 210, 60}};
    static const png_byte alpha[2] = {0, 51};
    png_set_PLTE(png, info, colour, 4);
    png_set_tRNS(png, info, alpha, 2, NULL);
}

static void with_key(png_structp png, png_infop info) {
    const png_color_16 key = {.gray = 10};
    png_set_tRNS(png, info, NULL, 0, &key);
}

static void with_gama(png_structp png, png_infop info) {
    png_set_gAMA_fixed(png, info, 55556);
}

static void with_srgb(png_structp png, png_infop info) {
    png_set_sRGB(png, info, PNG_sRGB_INTENT_RELATIVE);
}

static void with_profile(png_structp png, png_infop info) {
    blob profile = seed_profile();
    png_set_iCCP(png, info, "seed", PNG_COMPRESSION_TYPE_BASE, profile.bytes,
                 (png_uint_32)profile.size);
    free(profile.bytes);
}

static const png_seed seeds[] = {
    {"grey.png", PNG_COLOR_TYPE_GRAY, 8, SEED_SIDE, false, with_srgb},
    {"grey_1.png", PNG_COLOR_TYPE_GRAY, 1, SEED_SMALL, false, NULL},
    {"grey_16.png", PNG_COLOR_TYPE_GRAY, 16, SEED_SMALL, true, with_gama},
    {"key.png", PNG_COLOR_TYPE_GRAY, 8, SEED_SMALL, false, with_key},
    {"grey_alpha.png", PNG_COLOR_TYPE_GRAY_ALPHA, 8, SEED_SMALL, true, NULL},
    {"palette.png", PNG_COLOR_TYPE_PALETTE, 2, SEED_SMALL, false, with_palette},
    {"colour.png", PNG_COLOR_TYPE_RGB, 8, SEED_SMALL, false, with_profile},
    {"colour_16.png", PNG_COLOR_TYPE_RGB_ALPHA, 16, SEED_SMALL, true, NULL},
};

/* Samples of any number of bits, the first bits of a byte first. */
static void fill_row(const png_seed *seed, int channels, int y, uint8_t *row) {
    int at = 0;
    for (int x = 0; x < seed->side; x++)
        for (int c = 0; c < channels; c++, at += seed->bits) {
            const double part = seed_code(x, y, seed->side, SEED_SHARES[c]) / 255.0;
            const unsigned sample = (unsigned)(part * ((1U << seed->bits) - 1U) + 0.5);
            for (int bit = 0; bit < seed->bits; bit++)
                if (sample >> (seed->bits - 1 - bit) & 1U)
                    row[(at + bit) / 8] |= (uint8_t)(0x80 >> (at + bit) % 8);
        }
}

static void write_rows(png_structp png, const png_seed *seed, int channels) {
    const int passes = png_set_interlace_handling(png);
    for (int pass = 0; pass < passes; pass++)
        for (int y = 0; y < seed->side; y++) {
            uint8_t row[SEED_SIDE * 8] = {0};
            fill_row(seed, channels, y, row);
            png_write_row(png, row);
        }
}

static void store_one(const char *folder, const png_seed *seed, const blob *exif) {
    static const png_byte code[4] = {12, 16, 0, 1}; /* ITU-T H.273: Display P3, PQ, RGB, full */
    blob b = {NULL, 0};
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    assert_non_null(info);
    png_set_write_fn(png, &b, append, flush);
    const bool large = seed->side == SEED_SIDE;
    png_set_compression_level(png, large ? Z_BEST_COMPRESSION : Z_NO_COMPRESSION);
    png_set_IHDR(png, info, (png_uint_32)seed->side, (png_uint_32)seed->side, seed->bits,
                 seed->type, seed->interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (seed->mark != NULL)
        seed->mark(png, info);
    png_write_info(png, info);
    if (seed->bits == 16 && seed->type == PNG_COLOR_TYPE_RGB_ALPHA)
        png_write_chunk(png, (png_const_bytep) "cICP", code, sizeof code);
    write_rows(png, seed, png_get_channels(png, info));
    if (large)
        png_write_chunk(png, (png_const_bytep) "eXIf", exif->bytes + 6, exif->size - 6);
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    seed_store(folder, seed->name, &b);
    free(b.bytes);
}

void seeds_of_png(const char *folder, const blob *exif) {
    for (size_t i = 0; i < sizeof seeds / sizeof seeds[0]; i++)
        store_one(folder, &seeds[i], exif);
}
