/*
 * twolimb/report.h - stage 5: tables, plots and the page.
 */
#ifndef TWOLIMB_REPORT_H
#define TWOLIMB_REPORT_H

#include <stdio.h>

#include "twolimb/limb.h"
#include "twolimb/spot.h"
#include "twolimb/track.h"

/*
 * A few pixels of the picture as held, where a circle shows best whether it is right: linear
 * light of the plane measured (limb.channel), the brightest one here = 255.
 */
typedef struct tl_detail {
    double x0, y0,
        scale;         /* the middle of its left top pixel in the picture, and picture px per px */
    int width, height; /* width 0: none */
    unsigned char *light; /* owned; width * height, row by row */
} tl_detail;

enum {
    TL_DETAIL_CUSP, /* the cusp that lies deeper in the picture */
    TL_DETAIL_LIMB, /* the middle of the lunar limb that is seen, or of the solar one */
    TL_DETAILS
};

/*
 * Cut the details out of a picture as soon as its circles are known; those there are none of stay
 * empty, as all do where there is no solar circle. TL_ERR_MEMORY.
 */
tl_status tl_details_make(const tl_image *image, const tl_limb *limb, tl_detail detail[TL_DETAILS]);
void tl_details_free(tl_detail detail[TL_DETAILS]);

/* One input file through all the stages. */
typedef struct tl_sequence_frame {
    char *path; /* owned; as given by the user */
    tl_frame_info info;
    tl_limb limb;
    tl_spot_marks marks; /* dark marks on the disc */
    tl_preview preview;  /* the Sun and its surroundings; size 0 if none */
    tl_detail detail[TL_DETAILS];
    size_t camera;  /* in the list of the sequence; TL_CAMERAS_MAX: of none in it */
    bool excluded;  /* by the user: measured and shown, but no part of the track */
    bool is_copy;   /* the same picture as another one, which is used; its status is unusable */
    size_t copy_of; /* that other frame; valid if is_copy */
} tl_sequence_frame;

/*
 * A clock and the pictures it timed: one camera, or one of the two readings of a camera that wrote
 * some times with a zone and some without (a time in UTC in the name, local time in EXIF).
 */
enum { TL_SEQUENCE_NAME_SIZE = 256 };
typedef struct tl_sequence_camera {
    char name[TL_SEQUENCE_NAME_SIZE]; /* printable ASCII: make and model, part of the serial number
                                         if there are two of the model, which times */
    size_t count;                     /* of its pictures */
} tl_sequence_camera;

/*
 * The surroundings of a spot in one frame near its covering or uncovering: cut from the picture,
 * north up, not mirrored, all of a spot at the same scale.
 */
typedef struct tl_closeup {
    size_t spot, frame;
    bool uncovering;     /* of which of the two it is part */
    unsigned char *jpeg; /* owned; a square picture, the spot's place in its middle */
    size_t size;         /* of the JPEG, bytes */
    int side;            /* px */
    double side_sr;      /* what the side spans */
} tl_closeup;

/* Everything that is known of a series. track.frame[i] belongs to frame[i]. */
typedef struct tl_sequence {
    tl_sequence_frame *frame; /* owned */
    size_t count;
    tl_track_options options; /* what was given, and the site decided on */
    tl_track track;
    tl_sequence_camera camera[TL_CAMERAS_MAX]; /* those with most pictures of the Sun first, as
                                                  in track; those with none only if all have none */
    size_t camera_count;                       /* 0 only if there are no pictures */
    tl_spots spots;
    tl_closeup *closeup; /* owned; by spot, covering before uncovering, in order of time */
    size_t closeup_count;
    char *spots_name;                  /* owned; base name of the list of spots given, or NULL */
    char *times_name;                  /* owned; base name of the table of times given, or NULL */
    size_t times_stray_count;          /* rows of it that name none of the pictures */
    char *times_stray;                 /* owned; the name in the first of them, or NULL */
    tl_passed passed[TL_PASSED_KINDS]; /* owned; what of the folders given was not read */
} tl_sequence;
void tl_sequence_free(tl_sequence *sequence);

/* How many frames are copies of others, which are used. */
size_t tl_sequence_copies(const tl_sequence *sequence);
/* How many frames have this status. */
size_t tl_sequence_count(const tl_sequence *sequence, tl_limb_status status);
/* Whether the Sun was found in that frame, or in the one that it is a copy of. */
bool tl_sequence_shows_sun(const tl_sequence *sequence, size_t i);
/* The same for any of them. */
bool tl_sequence_any_sun(const tl_sequence *sequence);

/* How much of it is written. */
typedef enum tl_report_scope {
    TL_REPORT_WHOLE,
    TL_REPORT_TABLES /* what other programs read: the CSV files and sequence.json */
} tl_report_scope;

/*
 * Write the tables, drawings, pictures, pages and animations that docs/output.md lists into
 * `folder`, whole or not at all: everything goes into a new folder beside it which is then put in
 * its place. Up to `jobs` files are made at a time (0: one per processor). An existing folder that
 * holds an earlier result (it has our sequence.json) and nothing else is replaced. TL_ERR_ARGUMENT:
 * `folder` is a folder with anything else in it, the working folder, not a folder, or empty text.
 * TL_ERR_WRITE (also when the folder around it is missing), TL_ERR_NO_SPACE,
 * TL_ERR_MEMORY. On every failure nothing has changed.
 */
tl_status tl_report_write(const tl_sequence *sequence, const char *folder, tl_report_scope scope,
                          int jobs);

/* Check before the work that `folder` can be written; same refusals. Leaves nothing behind. */
tl_status tl_report_check(const char *folder);

/* Whether the file or folder of this name in `folder` is a result, or part of one that `folder` is:
 * pictures that were made here are not to be measured. */
bool tl_report_is_own(const char *folder, const char *name);

/*
 * The summary for the terminal, to `out`: at most 23 lines of 80 columns, so that the prompt after
 * it leaves all of it on a screen of 24. It names those files of the result that are in `folder`,
 * and no page where that holds tables alone. `emphasis`: headline and warnings stand out, labels
 * stand back, by escape sequences of ECMA-48; without it there is none.
 */
void tl_report_summary(const tl_sequence *sequence, const char *folder, bool emphasis, FILE *out);

#endif
