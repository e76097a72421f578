/*
 * turn.c - EXIF Orientation: where each stored pixel goes in the upright picture.
 *
 * The value names the place of the stored row 0 and column 0 in the picture as it is to be seen
 * (EXIF 2.32, tag 0x0112): 1 top left, 2 top right, 3 bottom right, 4 bottom left, and with rows
 * and columns exchanged 5 left top, 6 right top, 7 right bottom, 8 left bottom.
 */
#include <math.h>

#include "frame/frame_internal.h"

static bool is_exchanged(int orientation) {
    return orientation >= 5;
}

static bool is_from_right(int orientation) {
    return orientation == 2 || orientation == 3 || orientation == 6 || orientation == 7;
}

static bool is_from_bottom(int orientation) {
    return orientation == 3 || orientation == 4 || orientation == 7 || orientation == 8;
}

tl_frame_turn tl_frame_turn_make(int orientation, int width, int height, int channels) {
    const bool exchanged = is_exchanged(orientation), from_right = is_from_right(orientation);
    const bool from_bottom = is_from_bottom(orientation);

    tl_frame_turn turn = {.width = exchanged ? height : width,
                          .height = exchanged ? width : height};
    const ptrdiff_t right = from_right ? -channels : channels;
    const ptrdiff_t row = (ptrdiff_t)turn.width * channels;
    const ptrdiff_t down = from_bottom ? -row : row;
    turn.origin = (from_right ? row - channels : 0) + (from_bottom ? row * (turn.height - 1) : 0);
    turn.step_x = exchanged ? down : right;
    turn.step_y = exchanged ? right : down;
    return turn;
}

/* Pixels [first, end) of a side. */
typedef struct stretch {
    int first, end;
} stretch;

/* Of a stored side of `side` px of the file, the pixels decoded that hold [from, to]. */
static stretch stretch_of(double from, double to, int halvings, int side) {
    const double scale = 1 << halvings, decoded = ceil(side / scale);
    const double first = fmax(0.0, floor((from + 0.5) / scale - 0.5));
    const double end = fmin(decoded, ceil((to + 0.5) / scale - 0.5) + 1.0);
    return first < end ? (stretch){(int)first, (int)end} : (stretch){0, 0};
}

/* The same where `from` and `to` are counted from the other end of the side. */
static stretch stretch_back(double from, double to, int halvings, int side) {
    return stretch_of(side - 1 - to, side - 1 - from, halvings, side);
}

bool tl_frame_crop_make(const tl_frame_how *how, int width, int height, tl_frame_crop *crop) {
    const bool exchanged = is_exchanged(how->orientation);
    const int wide = exchanged ? height : width, high = exchanged ? width : height;
    const double *c = how->corner;
    const stretch across = is_from_right(how->orientation)
                               ? stretch_back(c[0], c[2], how->halvings, wide)
                               : stretch_of(c[0], c[2], how->halvings, wide);
    const stretch down = is_from_bottom(how->orientation)
                             ? stretch_back(c[1], c[3], how->halvings, high)
                             : stretch_of(c[1], c[3], how->halvings, high);
    if (across.first == across.end || down.first == down.end)
        return false;
    const stretch x = exchanged ? down : across, y = exchanged ? across : down;
    *crop = (tl_frame_crop){x.first, y.first, x.end - x.first, y.end - y.first};
    return true;
}

/* Blocks are counted from where the stored picture begins: where that is the right or the bottom,
 * the last one may reach beyond the picture, and what it holds then begins before its edge. */
void tl_frame_crop_place(const tl_frame_crop *crop, const tl_frame_how *how, int width, int height,
                         int *left, int *top) {
    const bool exchanged = is_exchanged(how->orientation);
    const int scale = 1 << how->halvings;
    const int first_x = crop->left * scale, end_x = first_x + crop->width * scale;
    const int first_y = crop->top * scale, end_y = first_y + crop->height * scale;
    const int across = exchanged ? first_y : first_x, down = exchanged ? first_x : first_y;
    *left = is_from_right(how->orientation) ? (exchanged ? height - end_y : width - end_x) : across;
    *top = is_from_bottom(how->orientation) ? (exchanged ? width - end_x : height - end_y) : down;
}
