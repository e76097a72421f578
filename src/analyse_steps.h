/*
 * analyse_steps.h - the glue between the stages; see analyse.c for the order.
 */
#ifndef TWOLIMB_ANALYSE_STEPS_H
#define TWOLIMB_ANALYSE_STEPS_H

#include <pthread.h>

#include "twolimb/analyse.h"

/* Empty frames for the files. TL_ERR_MEMORY. */
tl_status tl_analyse_frames(const tl_file_list *files, tl_sequence *sequence);

/* Note down what was given that no stage after this one would know of. TL_ERR_MEMORY. */
tl_status tl_analyse_given(const tl_analyse_options *options, tl_sequence *sequence);

/*
 * The circles of a picture that has been read. A Sun that is small in it, which was held reduced,
 * is looked at again in a finer part of the file, which then comes in `*fine` (else empty), to be
 * freed with tl_image_free. TL_ERR_MEMORY, TL_ERR_ARGUMENT as tl_limb_find.
 */
tl_status tl_analyse_circles(const char *path, const tl_image *image, const tl_limb_prior *prior,
                             tl_limb *limb, tl_image *fine);
/*
 * What sunspots are looked for in, and details are shown of: `*fine`, or a finer part of the file
 * in its place if the limbs are sharp enough to show more. TL_ERR_MEMORY.
 */
tl_status tl_analyse_finer(const char *path, const tl_image *image, const tl_limb *limb,
                           tl_image *fine);
/* Say of a picture whose file is cut short that it is, beside its reason or alone. */
void tl_analyse_cut_short(tl_sequence_frame *frame);

/* The Sun and its surroundings, or the whole picture, and the details at full size; none if there
 * is no memory for it. The more pictures (`count`) the series has, the smaller it is. */
void tl_analyse_preview(const tl_image *image, const tl_image *finest, size_t count,
                        tl_sequence_frame *frame);

/* The user's table before EXIF, EXIF before the file name. `times` may be NULL. */
void tl_analyse_camera_time(const tl_times *times, tl_sequence_frame *frame);

/* Ratios of eclipses that were asked for, for all threads. Zeroed but for the lock; the owner frees
 * `ratio`. */
typedef struct tl_analyse_ratio tl_analyse_ratio;
typedef struct tl_analyse_ratios {
    pthread_mutex_t lock;
    tl_analyse_ratio *ratio; /* owned */
    size_t count;
} tl_analyse_ratios;

/*
 * What can be said of the Moon/Sun ratio before any time is solved: that of the eclipse at the
 * frame's place on its day, uncertain by what it changes between the contacts. Nothing where
 * place, day or eclipse is missing. From `known`, which learns what it did not hold: the almanac
 * takes milliseconds, and a camera roll has thousands of pictures of a few places and days.
 * TL_ERR_MEMORY.
 */
tl_status tl_analyse_first_prior(const tl_track_options *options, const tl_sequence_frame *frame,
                                 tl_analyse_ratios *known, tl_limb_prior *prior);

/* Whether two files are the same byte for byte; false also if they cannot be read. */
bool tl_analyse_is_same_file(const char *one, const char *other);

/* Mark the files that have the same bytes as another one as its copies. TL_ERR_MEMORY. */
tl_status tl_analyse_same_bytes(const tl_times *times, int jobs, tl_sequence *sequence);

/* The same for pictures that were saved again, and fill the rows of all copies; after all pictures
 * are measured. TL_ERR_MEMORY. */
tl_status tl_analyse_same_picture(tl_sequence *sequence);

/* What two pictures, whose Suns are at the same place, have in common in their grain. */
typedef struct tl_likeness {
    bool known;   /* there is enough of the disc to look at */
    double grain; /* correlation of their noise, 0..1; 0 also where it is within its error of 0 */
    bool moved_known;
    double moved_px, moved_sigma_px; /* the Moon against the Sun, px of the coarser one as held */
    double sun_r_px;                 /* in the same px */
} tl_likeness;
/* Reads both again. */
tl_likeness tl_analyse_likeness(const tl_sequence_frame *one, const tl_sequence_frame *other);

/*
 * Which camera took which file, by make, model and serial number, and the list of cameras. Files
 * without them are of the one named camera whose file names begin like theirs, else of one group
 * of their own. A camera with times of both kinds, with a zone and without, becomes two unless the
 * zone is given. TL_ERR_MEMORY.
 */
tl_status tl_analyse_cameras(tl_sequence *sequence);

/* The middle one of the places the pictures give; TL_SITE_NONE if none does. TL_ERR_MEMORY. */
tl_status tl_analyse_site(const tl_sequence *sequence, tl_site *site);

/* Solve the track anew from the circles as they are. TL_ERR_MEMORY. */
tl_status tl_analyse_solve(tl_sequence *sequence);

/* Fit the circles again with what the almanac says at the true times. TL_ERR_MEMORY. */
tl_status tl_analyse_refit(tl_sequence *sequence);

/* Sun and Moon for frame i where the place was estimated (--site unknown), at the time that the
 * camera's clock says; false, and untouched, where there is none. */
bool tl_analyse_sky_at_estimate(const tl_sequence *sequence, size_t i, tl_sky *sky);

/* Follow the dark marks of the frames as spots; `known` may be NULL. TL_ERR_MEMORY. */
tl_status tl_analyse_follow(tl_sequence *sequence, const tl_spot_list *known);

/* When the Moon covers and uncovers each spot. TL_ERR_MEMORY. */
tl_status tl_analyse_coverings(tl_sequence *sequence);

/* Cut-outs round the spots near their coverings; reads the pictures concerned again. What cannot be
 * cut is left out. TL_ERR_MEMORY. */
tl_status tl_analyse_closeups(tl_sequence *sequence, int jobs);

#endif
