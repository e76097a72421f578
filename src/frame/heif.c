/*
 * heif.c - HEIC and AVIF (ISO/IEC 23008-12, ISO/IEC 23000-22) to pixels, by libheif.
 *
 * Only the primary picture is read: no thumbnail, depth map, gain map or live film. The file's own
 * turn and mirror (irot, imir) are applied by the library. They are the ones that count: EXIF's
 * Orientation is for information only there (ISO/IEC 23000-22, 7.3.6.7), and phones write both, so
 * heeding it would turn a picture twice. Alpha is not looked at.
 */
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include <libheif/heif.h>

#include "frame/heif_internal.h"

/* A block of EXIF with its thumbnail; what is longer is no block. */
enum { EXIF_MAX = 16 * 1024 * 1024 };

/* A stream may hold more than is shown of it: the rest of a block, what is cropped. What holds
 * several times the picture is none of its tiles. */
enum { CODED_OVER_SHOWN = 4, CODED_SPARE = 1024 * 1024 };

/* Brands of the ftyp box (ISO/IEC 14496-12, 4.3) of pictures; msf1 and the like are sequences, of
 * which the file still names one picture. */
static const char brands[][5] = {"heic", "heix", "heim", "heis", "hevc", "hevx",
                                 "mif1", "mif2", "msf1", "miaf", "avif", "avis"};

static bool is_brand(const unsigned char *bytes) {
    for (size_t i = 0; i < sizeof brands / sizeof brands[0]; i++)
        if (memcmp(bytes, brands[i], 4) == 0)
            return true;
    return false;
}

bool tl_frame_is_heif(const unsigned char *bytes, size_t size) {
    if (size < 16 || memcmp(bytes + 4, "ftyp", 4) != 0)
        return false;
    if (is_brand(bytes + 8))
        return true;
    const size_t said =
        (size_t)bytes[0] << 24 | (size_t)bytes[1] << 16 | (size_t)bytes[2] << 8 | bytes[3];
    const size_t end = said < size ? said : size;
    for (size_t at = 16; at + 4 <= end; at += 4)
        if (is_brand(bytes + at))
            return true;
    return false;
}

/* The library's decoders are entered into its list once, before two threads can ask for them. */
static void enter_decoders(void) {
    heif_init(NULL);
}

typedef struct reader {
    struct heif_context *context;
    struct heif_image_handle *handle;
    struct heif_image *decoded;
    unsigned char *profile;
    uint16_t *curve;
    uint16_t *light; /* one row */
} reader;

static tl_status status_of(struct heif_error error) {
    switch (error.code) {
    case heif_error_Ok:
        return TL_OK;
    case heif_error_Memory_allocation_error:
        return error.subcode == heif_suberror_Security_limit_exceeded ? TL_ERR_TOO_LARGE
                                                                      : TL_ERR_MEMORY;
    case heif_error_Unsupported_feature:
    case heif_error_Unsupported_filetype:
        return TL_ERR_OTHER_KIND;
    default:
        return TL_ERR_BROKEN;
    }
}

static tl_status open_primary(reader *r, const unsigned char *bytes, size_t size) {
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, enter_decoders);
    r->context = heif_context_alloc();
    if (r->context == NULL)
        return TL_ERR_MEMORY;
    heif_context_set_max_decoding_threads(r->context, 0); /* we have threads of our own */
    heif_context_set_maximum_image_size_limit(r->context, TL_IMAGE_MAX_SIDE);
    const tl_status status =
        status_of(heif_context_read_from_memory_without_copy(r->context, bytes, size, NULL));
    if (status != TL_OK)
        return status;
    return status_of(heif_context_get_primary_image_handle(r->context, &r->handle));
}

static void release(reader *r) {
    if (r->decoded != NULL)
        heif_image_release(r->decoded);
    if (r->handle != NULL)
        heif_image_handle_release(r->handle);
    if (r->context != NULL)
        heif_context_free(r->context);
    free(r->profile);
    free(r->curve);
    free(r->light);
}

/* A profile goes before the numbers; phones write either, or both to the same effect. */
static tl_frame_curve curve_of(reader *r) {
    const size_t size = heif_image_handle_get_raw_color_profile_size(r->handle);
    if (size > 0 && (r->profile = malloc(size)) != NULL &&
        heif_image_handle_get_raw_color_profile(r->handle, r->profile).code == heif_error_Ok)
        return (tl_frame_curve){.profile = r->profile, .profile_size = size};
    struct heif_color_profile_nclx *numbers = NULL;
    if (heif_image_handle_get_nclx_color_profile(r->handle, &numbers).code != heif_error_Ok)
        return (tl_frame_curve){0};
    const tl_frame_curve curve = tl_frame_curve_h273((int)numbers->transfer_characteristics);
    heif_nclx_color_profile_free(numbers);
    return curve;
}

static void place_deep(const reader *r, const unsigned char *row, int y, uint16_t most,
                       tl_frame_canvas *canvas) {
    const int count = 3 * canvas->stored_width;
    for (int i = 0; i < count; i++) {
        const uint16_t code = (uint16_t)(row[2 * i] | row[2 * i + 1] << 8);
        r->light[i] = r->curve[code < most ? code : most];
    }
    tl_frame_canvas_samples(canvas, 0, y, canvas->stored_width, r->light);
}

static tl_status place(reader *r, bool deep, tl_frame_canvas *canvas) {
    int stride;
    const uint8_t *plane =
        heif_image_get_plane_readonly(r->decoded, heif_channel_interleaved, &stride);
    const int width = heif_image_get_width(r->decoded, heif_channel_interleaved);
    const int height = heif_image_get_height(r->decoded, heif_channel_interleaved);
    /* As decoded: the header may have said another number. */
    const int bits =
        deep ? heif_image_get_bits_per_pixel_range(r->decoded, heif_channel_interleaved) : 8;
    if (plane == NULL || width <= 0 || height <= 0 || stride < width * (deep ? 6 : 3) || bits < 8 ||
        bits > 16)
        return TL_ERR_BROKEN;
    const tl_status status =
        tl_frame_canvas_make((uint64_t)width, (uint64_t)height, 3, deep, 1, canvas);
    if (status != TL_OK)
        return status;
    r->curve = malloc((size_t)(1 << bits) * sizeof *r->curve);
    r->light = malloc(3 * (size_t)width * sizeof *r->light);
    if (r->curve == NULL || r->light == NULL)
        return TL_ERR_MEMORY;
    const tl_frame_curve curve = curve_of(r);
    tl_frame_curve_table(&curve, (size_t)(1 << bits), r->curve);
    for (int y = 0; y < height; y++) {
        const uint8_t *row = plane + (size_t)y * (size_t)stride;
        if (deep)
            place_deep(r, row, y, (uint16_t)((1 << bits) - 1), canvas);
        else
            tl_frame_canvas_codes(canvas, 0, y, width, row);
    }
    if (!deep)
        memcpy(canvas->image.light, r->curve, sizeof canvas->image.light);
    return TL_OK;
}

static tl_status decode(reader *r, const unsigned char *bytes, size_t size,
                        tl_frame_canvas *canvas) {
    tl_status status = open_primary(r, bytes, size);
    if (status != TL_OK)
        return status;
    const int width = heif_image_handle_get_width(r->handle);
    const int height = heif_image_handle_get_height(r->handle);
    const int bits = heif_image_handle_get_luma_bits_per_pixel(r->handle);
    if (width <= 0 || height <= 0 || bits <= 0 || bits > 16)
        return TL_ERR_BROKEN;
    status = tl_frame_size_check((uint64_t)width, (uint64_t)height, 3, bits > 8);
    if (status != TL_OK)
        return status;
    const uint64_t shown = (uint64_t)width * (uint64_t)height;
    const uint64_t coded = CODED_OVER_SHOWN * shown + CODED_SPARE;
    if (!tl_heif_is_modest(bytes, size, coded < TL_IMAGE_MAX_PIXELS ? coded : TL_IMAGE_MAX_PIXELS))
        return TL_ERR_TOO_LARGE;
    const enum heif_chroma chroma =
        bits > 8 ? heif_chroma_interleaved_RRGGBB_LE : heif_chroma_interleaved_RGB;
    status =
        status_of(heif_decode_image(r->handle, &r->decoded, heif_colorspace_RGB, chroma, NULL));
    return status == TL_OK ? place(r, bits > 8, canvas) : status;
}

tl_status tl_frame_heif_decode(const unsigned char *bytes, size_t size, tl_image *image) {
    reader r = {0};
    tl_frame_canvas canvas = {0};
    const tl_status status = decode(&r, bytes, size, &canvas);
    if (status == TL_OK)
        *image = canvas.image;
    else
        tl_image_free(&canvas.image);
    release(&r);
    return status;
}

/* Four bytes say how far behind them the TIFF header is (ISO/IEC 23008-12, A.2.1). */
static tl_status read_block(const unsigned char *block, size_t size, tl_frame_info *info) {
    const size_t skip =
        (size_t)block[0] << 24 | (size_t)block[1] << 16 | (size_t)block[2] << 8 | block[3];
    return skip < size - 4 ? tl_frame_exif_block(block + 4 + skip, size - 4 - skip, info) : TL_OK;
}

static tl_status find_block(const reader *r, tl_frame_info *info) {
    heif_item_id id;
    if (heif_image_handle_get_list_of_metadata_block_IDs(r->handle, "Exif", &id, 1) != 1)
        return TL_OK;
    const size_t size = heif_image_handle_get_metadata_size(r->handle, id);
    if (size <= 4 || size > EXIF_MAX)
        return TL_OK;
    unsigned char *block = malloc(size);
    if (block == NULL)
        return TL_ERR_MEMORY;
    tl_status status = TL_OK;
    if (heif_image_handle_get_metadata(r->handle, id, block).code == heif_error_Ok)
        status = read_block(block, size, info);
    free(block);
    return status;
}

tl_status tl_frame_heif_exif(const unsigned char *bytes, size_t size, tl_frame_info *info) {
    *info = (tl_frame_info){.orientation = 1};
    reader r = {0};
    tl_status status = TL_OK;
    if (open_primary(&r, bytes, size) == TL_OK)
        status = find_block(&r, info);
    info->orientation = 1;
    release(&r);
    return status;
}
