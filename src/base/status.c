/*
 * status.c - what each status tells the user.
 */
#include "twolimb/base.h"

const char *tl_status_text(tl_status status) {
    switch (status) {
    case TL_OK:
        return "All went well; nothing needs doing.";
    case TL_ERR_MEMORY:
        return "There is not enough memory; close other programs, or work on fewer pictures at "
               "once with --jobs 1.";
    case TL_ERR_ARGUMENT:
        return "A value is not of the form or in the range that is asked for; see --help for what "
               "it may be.";
    case TL_ERR_OPEN:
        return "The file or folder cannot be opened; check that it is there and that you may read "
               "it.";
    case TL_ERR_EMPTY_FILE:
        return "The file is empty; copy it again from the camera.";
    case TL_ERR_NOT_PICTURE:
        return "This is not a picture that can be read; JPEG, PNG, TIFF, HEIC and AVIF are.";
    case TL_ERR_RAW:
        return "This is a camera's raw file, which is not read; export it as JPEG or as TIFF of 16 "
               "bits, and let it keep its time and place.";
    case TL_ERR_FILM:
        return "This is a film, not a picture; save single pictures of it and give their times "
               "with --times.";
    case TL_ERR_OTHER_KIND:
        return "This kind of picture is not read; export it as JPEG, PNG or TIFF, and let it keep "
               "its time and place.";
    case TL_ERR_JPEG_KIND:
        return "This JPEG is of a rare kind (12 bits, or without loss), which is not read; export "
               "it as ordinary JPEG, or as PNG or TIFF.";
    case TL_ERR_BROKEN:
        return "The picture is cut short or damaged; copy it again from the camera or, if it looks "
               "whole, save it anew with its EXIF data kept.";
    case TL_ERR_TOO_LARGE:
        return "This has more than 200 million pixels (100 million if deeper than 8 bits), a side "
               "over "
               "30000, or 1 GB; make a smaller copy and use that.";
    case TL_ERR_FORMAT:
        return "The file breaks the rules of its format; correct the line that is named.";
    case TL_ERR_WRITE:
        return "The output cannot be written; choose a folder in which you may write.";
    case TL_ERR_NO_SPACE:
        return "The disk is full; free some space or choose a folder on another disk.";
    case TL_ERR_RANGE:
        return "The date is outside 1950 to 2100 or the place is not on Earth; check both.";
    case TL_ERR_NO_ECLIPSE:
        return "The Moon does not touch the Sun at that place on that day; check the date and the "
               "signs of latitude and longitude.";
    case TL_ERR_TOO_FEW:
        return "There are too few measured pictures for this; add more from other moments of the "
               "eclipse.";
    case TL_ERR_NO_FIT:
        return "The fit did not settle on one answer; leave out doubtful pictures or add more.";
    case TL_STATUS_COUNT:
        break;
    }
    return "The program met a status it does not know; please report this as a fault.";
}
