/*
 * turn.c - EXIF Orientation: where each stored pixel goes in the upright picture.
 *
 * The value names the place of the stored row 0 and column 0 in the picture as it is to be seen
 * (EXIF 2.32, tag 0x0112): 1 top left, 2 top right, 3 bottom right, 4 bottom left, and with rows
 * and columns exchanged 5 left top, 6 right top, 7 right bottom, 8 left bottom.
 */
#include "frame/frame_internal.h"

tl_frame_turn tl_frame_turn_make(int orientation, int width, int height, int channels) {
    const bool exchanged = orientation >= 5;
    const bool from_right =
        orientation == 2 || orientation == 3 || orientation == 6 || orientation == 7;
    const bool from_bottom =
        orientation == 3 || orientation == 4 || orientation == 7 || orientation == 8;

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
