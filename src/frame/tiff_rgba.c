/*
 * tiff_rgba.c - palettes, few bits, inks, YCbCr, CIELab: what libtiff itself turns into colours of
 * 8 bits.
 */
#include <stdlib.h>

#include "frame/tiff_internal.h"

static void place_row(tl_frame_canvas *canvas, int y, const uint32_t *row, uint8_t *code) {
    const int channels = canvas->image.channels;
    for (int x = 0; x < canvas->stored_width; x++) {
        code[x * channels] = (uint8_t)TIFFGetR(row[x]);
        if (channels == 3) {
            code[x * 3 + 1] = (uint8_t)TIFFGetG(row[x]);
            code[x * 3 + 2] = (uint8_t)TIFFGetB(row[x]);
        }
    }
    tl_frame_canvas_codes(canvas, 0, y, canvas->stored_width, code);
}

static tl_status fill(TIFFRGBAImage *reader, const tl_tiff_layout *layout,
                      tl_frame_canvas *canvas) {
    const size_t width = layout->width, height = layout->height;
    uint32_t *raster = malloc(width * height * sizeof *raster);
    uint8_t *code = malloc(3 * width);
    tl_status status = raster != NULL && code != NULL ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK && !TIFFRGBAImageGet(reader, raster, layout->width, layout->height))
        status = TL_ERR_BROKEN;
    for (size_t y = 0; status == TL_OK && y < height; y++)
        place_row(canvas, (int)y, raster + y * width, code);
    free(raster);
    free(code);
    return status;
}

tl_status tl_tiff_rgba(TIFF *tiff, const tl_tiff_layout *layout, const tl_frame_curve *curve,
                       int orientation, tl_image *image) {
    char unused[1024]; /* the size that the library asks for */
    TIFFRGBAImage reader;
    tl_status status = tl_frame_size_check(layout->width, layout->height, sizeof(uint32_t), false);
    if (status != TL_OK)
        return status;
    if (!TIFFRGBAImageOK(tiff, unused) || !TIFFRGBAImageBegin(&reader, tiff, 1, unused))
        return TL_ERR_OTHER_KIND;
    reader.req_orientation = reader.orientation; /* as stored: the canvas turns it */
    tl_frame_canvas canvas = {0};
    status = tl_frame_canvas_make(layout->width, layout->height, layout->channels, false,
                                  orientation, &canvas);
    if (status == TL_OK)
        status = fill(&reader, layout, &canvas);
    TIFFRGBAImageEnd(&reader);
    if (status != TL_OK) {
        tl_image_free(&canvas.image);
        return status;
    }
    tl_frame_curve_table(curve, 256, canvas.image.light);
    *image = canvas.image;
    return TL_OK;
}
