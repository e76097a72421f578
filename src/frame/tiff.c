/*
 * tiff.c - TIFF (revision 6.0) to pixels, by libtiff, from memory.
 *
 * Of several pictures in a file the first that is not a thumbnail is read. Whole numbers are taken
 * as coded by the profile's curve, else sRGB's, which is what editors and raw converters write;
 * floating-point ones as linear where there is no profile. The handlers for the library's messages
 * are set for each file, as the global ones belong to the program.
 */
#include <string.h>

#include "frame/tiff_internal.h"

/* Tags of Adobe's raw files (DNG 1.4): the version, and two kinds of samples. */
enum { TAG_DNG_VERSION = 50706, PHOTOMETRIC_SENSOR = 32803, PHOTOMETRIC_SENSOR_LINEAR = 34892 };

/* Pictures of a file that are looked at; more are no photograph. */
enum { DIRECTORIES_MAX = 32 };

/* No stream holds more than this many times its size: "zlib technical details" (J. Gailly, M.
 * Adler) for deflate, TIFF 6.0, section 9, for PackBits. */
enum { DEFLATE_MOST = 1032, PACKBITS_MOST = 64 };

typedef struct memory {
    const unsigned char *bytes;
    size_t size, at;
} memory;

static tmsize_t read_proc(thandle_t handle, void *to, tmsize_t count) {
    memory *m = handle;
    const size_t left = m->at < m->size ? m->size - m->at : 0;
    const size_t taken = (size_t)count < left ? (size_t)count : left;
    memcpy(to, m->bytes + m->at, taken);
    m->at += taken;
    return (tmsize_t)taken;
}

static tmsize_t write_proc(thandle_t handle, void *from, tmsize_t count) {
    (void)handle;
    (void)from;
    (void)count;
    return 0;
}

static toff_t seek_proc(thandle_t handle, toff_t offset, int whence) {
    memory *m = handle;
    const toff_t base = whence == SEEK_CUR ? m->at : whence == SEEK_END ? m->size : 0;
    const toff_t to = base + offset; /* unsigned: a negative offset wraps round, as is meant */
    m->at = to <= m->size ? (size_t)to : m->size;
    return to;
}

static int close_proc(thandle_t handle) {
    (void)handle;
    return 0;
}

static toff_t size_proc(thandle_t handle) {
    return ((const memory *)handle)->size;
}

static int map_proc(thandle_t handle, void **base, toff_t *size) {
    const memory *m = handle;
    *base = (void *)(uintptr_t)m->bytes; /* opened for reading: not written to */
    *size = m->size;
    return 1;
}

static void unmap_proc(thandle_t handle, void *base, toff_t size) {
    (void)handle;
    (void)base;
    (void)size;
}

static int be_silent(TIFF *tiff, void *context, const char *module, const char *format,
                     va_list arguments) {
    (void)tiff;
    (void)context;
    (void)module;
    (void)format;
    (void)arguments;
    return 1; /* do not go on to the global handler */
}

static TIFF *open_memory(memory *m) {
    TIFFOpenOptions *options = TIFFOpenOptionsAlloc();
    if (options == NULL)
        return NULL;
    TIFFOpenOptionsSetErrorHandlerExtR(options, be_silent, NULL);
    TIFFOpenOptionsSetWarningHandlerExtR(options, be_silent, NULL);
    TIFFOpenOptionsSetMaxSingleMemAlloc(options, TL_IMAGE_MAX_BYTES);
    TIFF *tiff = TIFFClientOpenExt("", "r", m, read_proc, write_proc, seek_proc, close_proc,
                                   size_proc, map_proc, unmap_proc, options);
    TIFFOpenOptionsFree(options);
    return tiff;
}

/* Go to the first picture that is not a smaller copy of another; false where all are. */
static bool find_picture(TIFF *tiff) {
    for (int i = 0; i < DIRECTORIES_MAX; i++) {
        uint32_t type = 0;
        TIFFGetFieldDefaulted(tiff, TIFFTAG_SUBFILETYPE, &type);
        if ((type & (FILETYPE_REDUCEDIMAGE | FILETYPE_MASK)) == 0)
            return true;
        if (!TIFFReadDirectory(tiff))
            return false;
    }
    return false;
}

/* Raw files are TIFF files, too. */
static bool is_raw(TIFF *tiff, const tl_tiff_layout *layout) {
    uint16_t count;
    const void *version;
    return layout->photometric == PHOTOMETRIC_SENSOR ||
           layout->photometric == PHOTOMETRIC_SENSOR_LINEAR ||
           TIFFGetField(tiff, TAG_DNG_VERSION, &count, &version) == 1;
}

static tl_status read_layout(TIFF *tiff, tl_tiff_layout *layout) {
    tl_tiff_layout l = {0};
    uint16_t planar, extra = 0, *kinds = NULL;
    if (!TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &l.width) ||
        !TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &l.height) ||
        !TIFFGetFieldDefaulted(tiff, TIFFTAG_BITSPERSAMPLE, &l.bits) ||
        !TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLESPERPIXEL, &l.samples) ||
        !TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLEFORMAT, &l.format) ||
        !TIFFGetFieldDefaulted(tiff, TIFFTAG_PLANARCONFIG, &planar) ||
        !TIFFGetFieldDefaulted(tiff, TIFFTAG_COMPRESSION, &l.compression))
        return TL_ERR_BROKEN;
    if (!TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &l.photometric)) /* some writers leave it out */
        l.photometric = l.samples >= 3 ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK;
    TIFFGetFieldDefaulted(tiff, TIFFTAG_EXTRASAMPLES, &extra, &kinds);
    const bool grey =
        l.photometric == PHOTOMETRIC_MINISBLACK || l.photometric == PHOTOMETRIC_MINISWHITE;
    l.channels = grey ? 1 : 3;
    l.separate = planar == PLANARCONFIG_SEPARATE && l.samples > 1;
    l.alpha = extra > 0 && kinds[0] == EXTRASAMPLE_UNASSALPHA && l.samples > l.channels;
    *layout = l;
    return TL_OK;
}

/* Whether the file can hold as much as it promises. */
static tl_status check_size(const tl_tiff_layout *l, size_t size) {
    const tl_status status = tl_frame_size_check(l->width, l->height, l->channels, l->bits > 8);
    const uint64_t bytes = ((uint64_t)l->width * l->bits * l->samples + 7) / 8 * l->height;
    uint64_t most = 0;
    if (l->compression == COMPRESSION_NONE)
        most = 1;
    else if (l->compression == COMPRESSION_PACKBITS)
        most = PACKBITS_MOST;
    else if (l->compression == COMPRESSION_ADOBE_DEFLATE || l->compression == COMPRESSION_DEFLATE)
        most = DEFLATE_MOST;
    /* Colour at half its size takes less room than that. */
    if (status == TL_OK && most > 0 && l->photometric != PHOTOMETRIC_YCBCR && bytes / most > size)
        return TL_ERR_BROKEN;
    return status;
}

static tl_status decode(TIFF *tiff, size_t size, int orientation, tl_image *image) {
    tl_tiff_layout layout;
    if (!find_picture(tiff))
        return TL_ERR_RAW; /* its own picture lies where cameras alone put it */
    tl_status status = read_layout(tiff, &layout);
    if (status == TL_OK && is_raw(tiff, &layout))
        status = TL_ERR_RAW;
    if (status == TL_OK)
        status = check_size(&layout, size);
    if (status == TL_OK && !TIFFIsCODECConfigured(layout.compression))
        status = TL_ERR_OTHER_KIND;
    if (status != TL_OK)
        return status;
    tl_frame_curve curve = {0};
    if (layout.format == SAMPLEFORMAT_IEEEFP)
        curve = (tl_frame_curve){.kind = TL_CURVE_POWER, .exponent = 1.0};
    uint32_t profile_size;
    const void *profile;
    if (TIFFGetField(tiff, TIFFTAG_ICCPROFILE, &profile_size, &profile) == 1) {
        curve.profile = profile;
        curve.profile_size = profile_size;
    }
    if (tl_tiff_is_plain(&layout))
        return tl_tiff_samples(tiff, &layout, &curve, orientation, image);
    return tl_tiff_rgba(tiff, &layout, &curve, orientation, image);
}

bool tl_frame_is_tiff(const unsigned char *bytes, size_t size) {
    static const char marks[][5] = {"II*\0", "MM\0*", "II+\0", "MM\0+"}; /* the last two: BigTIFF */
    for (size_t i = 0; size >= 8 && i < sizeof marks / sizeof marks[0]; i++)
        if (memcmp(bytes, marks[i], 4) == 0)
            return true;
    return false;
}

tl_status tl_frame_tiff_decode(const unsigned char *bytes, size_t size, int orientation,
                               tl_image *image) {
    memory m = {bytes, size, 0};
    TIFF *tiff = open_memory(&m);
    if (tiff == NULL)
        return TL_ERR_BROKEN;
    const tl_status status = decode(tiff, size, orientation, image);
    TIFFClose(tiff);
    return status;
}
