/*
 * accuracy.h - what the files of tool_accuracy share: frames measured and held against their truth.
 */
#ifndef TWOLIMB_TESTS_ACCURACY_H
#define TWOLIMB_TESTS_ACCURACY_H

#include "truth.h"
#include "twolimb/limb.h"

enum { ACCURACY_NAME_SIZE = 64, ACCURACY_FRAMES_MAX = 5000 };

/* A frame is wrong when it is called measured and is off by more than both. */
#define WRONG_SIGMAS 5.0
#define WRONG_SR 0.01

/* The Cramer-Rao bound of a frame: from all colours at full resolution, from luminance alone. */
enum { ACCURACY_ALL, ACCURACY_LUMINANCE, ACCURACY_BOUNDS };
typedef struct accuracy_bound {
    double separation_sr, centre_px, radius_px; /* one sigma; the centre's per axis; 0: not known */
    double ideal_sr, ideal_centre_px, ideal_radius_px; /* errors of the ideal fit to the file */
} accuracy_bound;

/* One frame: what was drawn, what was found. Errors are found less true; valid if measured. */
typedef struct accuracy_row {
    char scene[ACCURACY_NAME_SIZE], kind[ACCURACY_NAME_SIZE];
    truth_row truth;
    tl_limb limb; /* without its edge points */
    double error_sr, z;
    double circle_error_px[TL_LIMB_PARAMS]; /* radii: along the longer axis */
    accuracy_bound bound[ACCURACY_BOUNDS];
    bool wrong;
} accuracy_row;

/* The frames of a drawn folder, measured; the number of rows added at `row`. */
size_t accuracy_measure(const char *scene, const char *folder, accuracy_row *row, size_t room);

/* A table of kinds, or of scenes, and a last row over everything. */
void accuracy_print_legend(void);
void accuracy_print_failures(const accuracy_row *row, size_t count);
void accuracy_print_scene(const accuracy_row *row, size_t count);
void accuracy_print_kinds(const accuracy_row *row, size_t count);
/* Errors over their bounds, over the frames that have one. */
void accuracy_print_bounds(const accuracy_row *row, size_t count);

/* One CSV row for each frame; false when the file cannot be written. */
bool accuracy_write_csv(const char *path, const accuracy_row *row, size_t count);

/* Work out the bounds of a scene's frames into bounds.csv of its folder, where its pictures are;
 * false on failure. For frames with nothing but a disc, a sky, blur and white noise. Some 2 s of
 * processor time for a frame of a megapixel. */
bool accuracy_bounds_make(const char *scene_path, const char *folder);
/* Read them, if there are any. */
void accuracy_bounds_read(const char *folder, accuracy_row *row, size_t count);

/* The whole chain on a folder whose sets share one clock: error of clock and contacts. */
void accuracy_print_series(const char *folder);

#endif
