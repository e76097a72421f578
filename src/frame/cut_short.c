/*
 * cut_short.c - a picture of which the last stored rows are not there.
 *
 * They are taken out, not filled: a Sun that reaches into them is then one cut by the frame's edge,
 * which the limb stage knows how to judge, and no made-up grey can be taken for sky or Moon.
 */
#include <string.h>

#include "frame/frame_internal.h"

/* Rows of `row` bytes, `stride` apart from `from` on, close together at the start of `pixels`. */
static void close_up(void *pixels, size_t from, size_t stride, size_t row, size_t count) {
    unsigned char *base = pixels;
    for (size_t i = 0; i < count; i++)
        memmove(base + i * row, base + from + i * stride, row);
}

void tl_frame_drop_rows(tl_image *image, int orientation, int missing) {
    /* Stored rows run across in 5 to 8. Stored row 0 is at the bottom in 3 and 4, at the right in 6
     * and 7; the missing ones are then at the top or the left. */
    const bool columns = orientation >= 5;
    const bool at_start =
        orientation == 3 || orientation == 4 || orientation == 6 || orientation == 7;
    const size_t stride = (size_t)image->width * (size_t)image->channels;
    const size_t skip = at_start ? (size_t)missing : 0;
    const size_t from = columns ? skip * (size_t)image->channels : skip * stride;
    if (columns)
        image->width -= missing;
    else
        image->height -= missing;
    if (at_start && columns)
        image->left += missing << image->halvings;
    else if (at_start)
        image->top += missing << image->halvings;
    const size_t row = (size_t)image->width * (size_t)image->channels;
    const size_t unit = image->sample != NULL ? sizeof *image->sample : sizeof *image->code;
    void *pixels = image->sample != NULL ? (void *)image->sample : (void *)image->code;
    close_up(pixels, from * unit, stride * unit, row * unit, (size_t)image->height);
}
