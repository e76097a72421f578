/*
 * fuzz_seeds_tiff.c - TIFF seeds, by libtiff: the kinds of samples, strips and tiles, the ways of
 * packing them that have code of their own, and a thumbnail before the picture.
 */
#include <tiffio.h>

#include "fuzz_seeds.h"

typedef struct tiff_seed {
    const char *name, *mode; /* of TIFFOpen: the byte order, BigTIFF */
    int side;
    uint16_t bits, samples, format, photometric, compression, planar;
    bool tiled, thumbnail, profile;
    uint16_t extra; /* EXTRASAMPLE_...; 0: none */
} tiff_seed;

enum { TILE = 16 };

static const tiff_seed seeds[] = {
    {"grey.tif", "wl", SEED_SIDE, 8, 1, SAMPLEFORMAT_UINT, PHOTOMETRIC_MINISBLACK,
     COMPRESSION_ADOBE_DEFLATE, PLANARCONFIG_CONTIG, .thumbnail = true},
    {"colour_16.tif", "wb", SEED_SMALL, 16, 3, SAMPLEFORMAT_UINT, PHOTOMETRIC_RGB, COMPRESSION_NONE,
     PLANARCONFIG_CONTIG, .tiled = true, .profile = true},
    {"planes.tif", "wl8", SEED_SMALL, 8, 4, SAMPLEFORMAT_UINT, PHOTOMETRIC_RGB, COMPRESSION_LZW,
     PLANARCONFIG_SEPARATE, .extra = EXTRASAMPLE_UNASSALPHA},
    {"real.tif", "wl", SEED_SMALL, 32, 1, SAMPLEFORMAT_IEEEFP, PHOTOMETRIC_MINISBLACK,
     COMPRESSION_NONE, PLANARCONFIG_CONTIG, .tiled = false},
    {"white.tif", "wb8", SEED_SMALL, 8, 1, SAMPLEFORMAT_UINT, PHOTOMETRIC_MINISWHITE,
     COMPRESSION_PACKBITS, PLANARCONFIG_CONTIG, .tiled = false},
    {"palette.tif", "wl", SEED_SMALL, 8, 1, SAMPLEFORMAT_UINT, PHOTOMETRIC_PALETTE,
     COMPRESSION_NONE, PLANARCONFIG_CONTIG, .tiled = true},
    {"inks.tif", "wl", SEED_SMALL, 8, 4, SAMPLEFORMAT_UINT, PHOTOMETRIC_SEPARATED, COMPRESSION_NONE,
     PLANARCONFIG_CONTIG, .tiled = false},
    {"jpeg.tif", "wl", SEED_SMALL, 8, 3, SAMPLEFORMAT_UINT, PHOTOMETRIC_YCBCR, COMPRESSION_JPEG,
     PLANARCONFIG_CONTIG, .tiled = true},
    {"fax.tif", "wl", SEED_SMALL, 1, 1, SAMPLEFORMAT_UINT, PHOTOMETRIC_MINISWHITE,
     COMPRESSION_CCITTFAX4, PLANARCONFIG_CONTIG, .tiled = false},
};

static void put_fields(TIFF *tiff, const tiff_seed *s) {
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, s->side);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, s->side);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, s->bits);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, s->samples);
    TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, s->format);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, s->photometric);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, s->compression);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, s->planar);
    TIFFSetField(tiff, TIFFTAG_ORIENTATION, ORIENTATION_RIGHTTOP);
    if (s->extra)
        TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1, &s->extra);
    if (s->compression == COMPRESSION_JPEG)
        TIFFSetField(tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
    if (s->tiled) {
        TIFFSetField(tiff, TIFFTAG_TILEWIDTH, TILE);
        TIFFSetField(tiff, TIFFTAG_TILELENGTH, TILE);
    } else {
        TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, s->side / 2);
    }
}

static void put_colours(TIFF *tiff, const tiff_seed *s) {
    static uint16_t ramp[3][256];
    for (int c = 0; c < 3; c++)
        for (int i = 0; i < 256; i++)
            ramp[c][i] = (uint16_t)(257.0 * i * SEED_SHARES[c]);
    if (s->photometric == PHOTOMETRIC_PALETTE)
        TIFFSetField(tiff, TIFFTAG_COLORMAP, ramp[0], ramp[1], ramp[2]);
    if (s->profile) {
        blob profile = seed_profile();
        TIFFSetField(tiff, TIFFTAG_ICCPROFILE, (uint32_t)profile.size, profile.bytes);
        free(profile.bytes);
    }
}

/* One sample where it belongs in a row, as the machine has it: libtiff turns it round. */
static void put_sample(const tiff_seed *s, double part, unsigned char *row, int index) {
    if (s->format == SAMPLEFORMAT_IEEEFP) {
        const float value = (float)(1.5 * part);
        memcpy(row + (size_t)index * sizeof value, &value, sizeof value);
    } else if (s->bits == 16) {
        const uint16_t value = (uint16_t)lround(65535.0 * part);
        memcpy(row + (size_t)index * sizeof value, &value, sizeof value);
    } else if (s->bits == 1) {
        row[index / 8] |= (unsigned char)(part > 0.5 ? 0x80 >> index % 8 : 0);
    } else {
        row[index] = (unsigned char)lround(255.0 * part);
    }
}

/* The samples of `plane`, or of all where they lie together. */
static void fill_row(const tiff_seed *s, int y, int plane, unsigned char *row) {
    const bool separate = s->planar == PLANARCONFIG_SEPARATE;
    const int together = separate ? 1 : s->samples;
    for (int x = 0; x < s->side; x++)
        for (int c = 0; c < together; c++) {
            const double share = s->samples == 1 ? 1.0 : SEED_SHARES[separate ? plane : c];
            put_sample(s, seed_code(x, y, s->side, share) / 255.0, row, x * together + c);
        }
}

/* Tiles of TILE px take the whole of a small picture. */
static void put_pixels(TIFF *tiff, const tiff_seed *s) {
    enum { ROW_MAX = SEED_SIDE * 6 };
    unsigned char tile[TILE * ROW_MAX];
    const int planes = s->planar == PLANARCONFIG_SEPARATE ? s->samples : 1;
    const size_t row_size = (size_t)s->side * s->samples / (size_t)planes * s->bits / 8;
    for (int p = 0; p < planes; p++) {
        for (int y = 0; y < s->side; y++) {
            unsigned char row[ROW_MAX] = {0};
            fill_row(s, y, p, row);
            if (s->tiled)
                memcpy(tile + (size_t)y * row_size, row, row_size);
            else
                assert_int_equal(TIFFWriteScanline(tiff, row, (uint32_t)y, (uint16_t)p), 1);
        }
        if (s->tiled)
            assert_true(TIFFWriteTile(tiff, tile, 0, 0, 0, (uint16_t)p) > 0);
    }
}

static void store_one(const char *folder, const tiff_seed *s) {
    static const tiff_seed small = {.side = SEED_SMALL,
                                    .bits = 8,
                                    .samples = 1,
                                    .format = SAMPLEFORMAT_UINT,
                                    .photometric = PHOTOMETRIC_MINISBLACK,
                                    .compression = COMPRESSION_NONE,
                                    .planar = PLANARCONFIG_CONTIG};
    char path[PATH_SIZE];
    path_join(folder, s->name, path);
    TIFF *tiff = TIFFOpen(path, s->mode);
    assert_non_null(tiff);
    if (s->thumbnail) {
        put_fields(tiff, &small);
        TIFFSetField(tiff, TIFFTAG_SUBFILETYPE, FILETYPE_REDUCEDIMAGE);
        put_pixels(tiff, &small);
        assert_true(TIFFWriteDirectory(tiff));
    }
    put_fields(tiff, s);
    put_colours(tiff, s);
    put_pixels(tiff, s);
    TIFFClose(tiff);
}

void seeds_of_tiff(const char *folder) {
    for (size_t i = 0; i < sizeof seeds / sizeof seeds[0]; i++)
        store_one(folder, &seeds[i]);
}
