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

static stretch stretch_of(double from, double to, int halvings, int side) {
    const double scale = 1 << halvings;
    const double first = fmax(0.0, floor((from + 0.5) / scale - 0.5));
    const double end = fmin(side, ceil((to + 0.5) / scale - 0.5) + 1.0);
    return first < end ? (stretch){(int)first, (int)end} : (stretch){0, 0};
}

/* The same pixels counted from the other end. */
static stretch turned_round(stretch s, int side) {
    return (stretch){side - s.end, side - s.first};
}

bool tl_frame_crop_make(const tl_frame_how *how, int width, int height, tl_frame_crop *crop) {
    const bool exchanged = is_exchanged(how->orientation);
    const int wide = exchanged ? height : width, high = exchanged ? width : height;
    stretch across = stretch_of(how->corner[0], how->corner[2], how->halvings, wide);
    stretch down = stretch_of(how->corner[1], how->corner[3], how->halvings, high);
    if (across.first == across.end || down.first == down.end)
        return false;
    if (is_from_right(how->orientation))
        across = turned_round(across, wide);
    if (is_from_bottom(how->orientation))
        down = turned_round(down, high);
    const stretch x = exchanged ? down : across, y = exchanged ? across : down;
    *crop = (tl_frame_crop){x.first, y.first, x.end - x.first, y.end - y.first};
    return true;
}

void tl_frame_crop_place(const tl_frame_crop *crop, int orientation, int width, int height,
                         int *left, int *top) {
    const bool exchanged = is_exchanged(orientation);
    const stretch x = {crop->left, crop->left + crop->width};
    const stretch y = {crop->top, crop->top + crop->height};
    stretch across = exchanged ? y : x, down = exchanged ? x : y;
    if (is_from_right(orientation))
        across = turned_round(across, exchanged ? height : width);
    if (is_from_bottom(orientation))
        down = turned_round(down, exchanged ? width : height);
    *left = across.first;
    *top = down.first;
}
