/*
 * read.c - one picture file to pixels and what it says about itself.
 */
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>

#include "base/base_internal.h"
#include "frame/frame_internal.h"

/* No camera writes a picture of this size; a film named by mistake is not read into memory. */
#define FILE_MAX_BYTES 1000000000L

/* The whole file in memory. Sets `*bytes` only on TL_OK; the caller frees it. */
static tl_status read_stream(FILE *stream, size_t size, unsigned char **bytes, size_t *got) {
    unsigned char *buffer = malloc(size);
    if (buffer == NULL)
        return TL_ERR_MEMORY;
    const size_t count = fread(buffer, 1, size, stream);
    if (ferror(stream) || count == 0) {
        free(buffer);
        return TL_ERR_OPEN;
    }
    *bytes = buffer;
    *got = count;
    return TL_OK;
}

static tl_status read_file(const char *path, tl_frame_kind *kind, unsigned char **bytes,
                           size_t *size) {
    /* Looked at first: opening a pipe would wait for its other end. */
    struct stat about;
    if (stat(path, &about) != 0 || !S_ISREG(about.st_mode))
        return TL_ERR_OPEN;
    if (about.st_size == 0)
        return TL_ERR_EMPTY_FILE;
    FILE *stream = fopen(path, "rb");
    if (stream == NULL)
        return tl_base_open_error();
    unsigned char start[TL_FRAME_START_SIZE];
    const size_t seen = fread(start, 1, sizeof start, stream);
    tl_status status = ferror(stream) ? TL_ERR_OPEN : tl_frame_kind_of(start, seen, kind);
    if (status == TL_OK && about.st_size > FILE_MAX_BYTES)
        status = TL_ERR_TOO_LARGE;
    if (status == TL_OK) {
        rewind(stream);
        status = read_stream(stream, (size_t)about.st_size, bytes, size);
    }
    fclose(stream);
    return status;
}

tl_status tl_frame_read(const char *path, tl_image *image, tl_frame_info *info) {
    tl_frame_kind kind = TL_FRAME_JPEG;
    unsigned char *bytes = NULL;
    size_t size = 0;
    tl_status status = read_file(path, &kind, &bytes, &size);
    if (status != TL_OK)
        return status;
    status = tl_frame_decode(kind, bytes, size, image, info);
    free(bytes);
    return status;
}

tl_status tl_frame_read_part(const char *path, double x0, double y0, double x1, double y1,
                             int halvings, tl_image *image) {
    unsigned char *bytes = NULL;
    size_t size = 0;
    if (halvings < 0 || halvings > TL_FRAME_HALVINGS_MAX)
        return TL_ERR_ARGUMENT;
    tl_frame_kind kind = TL_FRAME_JPEG;
    tl_status status = read_file(path, &kind, &bytes, &size);
    if (status != TL_OK)
        return status;
    if (kind != TL_FRAME_JPEG) { /* held whole */
        free(bytes);
        return TL_ERR_ARGUMENT;
    }
    tl_frame_info said;
    status = tl_frame_exif_read(bytes, size, &said);
    if (status == TL_OK) {
        const tl_frame_how how = {said.orientation, halvings, true, {x0, y0, x1, y1}};
        int width, height;
        status = tl_frame_jpeg_decode(bytes, size, &how, &width, &height, NULL, image);
    }
    free(bytes);
    return status;
}
