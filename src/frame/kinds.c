/*
 * kinds.c - which reader a file wants. Its first bytes tell, never its name.
 */
#include <string.h>

#include "frame/frame_internal.h"

/* A mark of a kind of file: what it is, and where. */
typedef struct mark {
    size_t at, length;
    const char *bytes;
    tl_status status;
} mark;

/* Signatures as the formats' own specifications give them, or their makers' files show. Those of
 * files that are like TIFF come before TIFF is asked for. */
static const mark others[] = {
    {0, 10, "II*\0\x10\0\0\0CR", TL_ERR_RAW}, /* a TIFF header and more */
    {0, 4, "IIRO", TL_ERR_RAW},               /* TIFF with another number */
    {0, 4, "IIRS", TL_ERR_RAW},
    {0, 4, "MMOR", TL_ERR_RAW},
    {0, 4, "IIU\0", TL_ERR_RAW},
    {0, 15, "FUJIFILMCCD-RAW", TL_ERR_RAW},
    {0, 4, "FOVb", TL_ERR_RAW},
    {0, 4, "\0MRM", TL_ERR_RAW},
    {4, 8, "ftypcrx ", TL_ERR_RAW},
    {0, 4, "GIF8", TL_ERR_OTHER_KIND},
    {8, 4, "WEBP", TL_ERR_OTHER_KIND},
    {0, 2, "\xff\x0a", TL_ERR_OTHER_KIND},         /* JPEG XL, bare */
    {4, 4, "JXL ", TL_ERR_OTHER_KIND},             /* and in a box */
    {4, 4, "jP  ", TL_ERR_OTHER_KIND},             /* JPEG 2000 */
    {0, 4, "\xff\x4f\xff\x51", TL_ERR_OTHER_KIND}, /* its bare stream */
    {0, 4, "8BPS", TL_ERR_OTHER_KIND},             /* an editor's layers */
    {0, 9, "gimp xcf ", TL_ERR_OTHER_KIND},        /* the same */
    {0, 4, "\x76\x2f\x31\x01", TL_ERR_OTHER_KIND}, /* OpenEXR */
    {0, 9, "SIMPLE  =", TL_ERR_OTHER_KIND},        /* FITS */
    {0, 4, "II\xbc\x01", TL_ERR_OTHER_KIND},       /* JPEG XR */
    {0, 5, "%PDF-", TL_ERR_OTHER_KIND},
    {8, 4, "AVI ", TL_ERR_FILM},
    {0, 4, "\x1a\x45\xdf\xa3", TL_ERR_FILM}, /* Matroska, WebM */
    {4, 4, "moov", TL_ERR_FILM},
    {4, 4, "mdat", TL_ERR_FILM},
    {4, 4, "wide", TL_ERR_FILM},
};

static bool bears(const mark *m, const unsigned char *start, size_t size) {
    return size >= m->at + m->length && memcmp(start + m->at, m->bytes, m->length) == 0;
}

/* A Windows bitmap: "BM" alone is too little to go by, so its two reserved words count too. */
static bool is_bitmap(const unsigned char *start, size_t size) {
    return size >= 10 && memcmp(start, "BM", 2) == 0 && memcmp(start + 6, "\0\0\0\0", 4) == 0;
}

tl_status tl_frame_kind_of(const unsigned char *start, size_t size, tl_frame_kind *kind) {
    if (tl_frame_is_jpeg(start, size)) {
        *kind = TL_FRAME_JPEG;
        return TL_OK;
    }
    if (tl_frame_is_png(start, size)) {
        *kind = TL_FRAME_PNG;
        return TL_OK;
    }
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        if (bears(&others[i], start, size))
            return others[i].status;
    if (tl_frame_is_tiff(start, size))
        *kind = TL_FRAME_TIFF;
    else if (tl_frame_is_heif(start, size))
        *kind = TL_FRAME_HEIF;
    else if (size >= 8 && memcmp(start + 4, "ftyp", 4) == 0)
        return TL_ERR_FILM; /* what is left of ISO/IEC 14496-12 is video */
    else
        return is_bitmap(start, size) ? TL_ERR_OTHER_KIND : TL_ERR_NOT_PICTURE;
    return TL_OK;
}

static tl_status read_exif(tl_frame_kind kind, const unsigned char *bytes, size_t size,
                           tl_frame_info *info) {
    const unsigned char *block = NULL;
    size_t block_size = 0;
    switch (kind) {
    case TL_FRAME_JPEG:
        return tl_frame_exif_read(bytes, size, info);
    case TL_FRAME_PNG:
        tl_frame_png_chunk(bytes, size, "eXIf", &block, &block_size);
        return tl_frame_exif_block(block, block_size, info);
    case TL_FRAME_TIFF:
        return tl_frame_exif_block(bytes, size, info);
    case TL_FRAME_HEIF:
        return tl_frame_heif_exif(bytes, size, info);
    }
    return TL_OK;
}

tl_status tl_frame_decode(tl_frame_kind kind, const unsigned char *bytes, size_t size,
                          tl_image *image, tl_frame_info *info) {
    tl_frame_info said = {.orientation = 1};
    tl_status status = read_exif(kind, bytes, size, &said);
    if (status != TL_OK)
        return status;
    tl_image read = {0};
    const tl_frame_how how = {.orientation = said.orientation, .halvings = TL_FRAME_AS_FITS};
    switch (kind) {
    case TL_FRAME_JPEG:
        status = tl_frame_jpeg_decode(bytes, size, &how, &said.width, &said.height,
                                      &said.rows_missing, &read);
        break;
    case TL_FRAME_PNG:
        status = tl_frame_png_decode(bytes, size, said.orientation, &read);
        break;
    case TL_FRAME_TIFF:
        status = tl_frame_tiff_decode(bytes, size, said.orientation, &read);
        break;
    case TL_FRAME_HEIF:
        status = tl_frame_heif_decode(bytes, size, &read);
        break;
    }
    if (status != TL_OK)
        return status;
    if (kind != TL_FRAME_JPEG) { /* held as they are */
        said.width = read.width;
        said.height = read.height;
    }
    *image = read;
    *info = said;
    return TL_OK;
}
