/*
 * path_internal.h - what free_path.c and path_rows.c share: the least squares of the free path.
 */
#ifndef TWOLIMB_TRACK_PATH_INTERNAL_H
#define TWOLIMB_TRACK_PATH_INTERNAL_H

#include "track/track_internal.h"

/* After the path's own parameters: what the errors of the circles have in common (clock_lsq.c),
 * then a shift, in hours, of each camera beside the main one. */
enum {
    TL_PATH_COMMON = TL_PATH_PARAMS,
    TL_PATH_FIRST_SHIFT,
    TL_PATH_PARAMS_MAX = TL_PATH_FIRST_SHIFT + TL_CAMERAS_MAX - 1
};

/* What the callbacks of the fit see; rows belong to the frames kept. */
typedef struct tl_track_path_rows {
    size_t count;  /* rows of data */
    size_t shifts; /* cameras beside the main one */
    size_t *obs;   /* which obs */
    size_t *shift; /* which parameter is the shift of its camera; 0 for the main one */
    double *t_h, *s, *weight;
    double *common; /* change of s^2 by what the errors have in common */
} tl_track_path_rows;

/* Hours since the smallest separation by the path `p`, the camera's shift taken out. */
double tl_track_path_tau(const tl_track_path_rows *rows, size_t i, const double *p);
/* The problem for tl_track_least_squares: the rows, and what eclipses in general are like. */
gsl_multifit_nlinear_fdf tl_track_path_problem(tl_track_path_rows *rows);
/* The small terms that go with the speed; with the usual speed if there is none yet. */
void tl_track_path_usual(double p[TL_PATH_PARAMS]);
/* Highest power, 2 to 4, that the data decide: they halve what is known beforehand. */
int tl_track_path_decided(const double covariance[TL_PATH_PARAMS][TL_PATH_PARAMS]);

#endif
