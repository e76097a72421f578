/*
 * follow_internal.h - what the files that follow spots share; not installed.
 *
 * The order of work:  views.c     what each frame can say: marks on the disc, its turn by its Moon
 *                     model.c     spots on the Sun and the turns of the frames, held together
 *                     seeds.c     the first places, by marks that agree in several frames
 *                     match.c     which mark is which spot, and how well that explains them all
 *                     joint.c     places and turns together by least squares
 *                     stragglers.c  frames without time or Moon, turned by the spots alone
 *                     dust.c      what stays put in the frame
 *                     single.c    spots seen once, the Moon being over them else
 *                     describe.c  sizes, names, what happened to each spot in each frame
 *                     known.c     the user's own list of spots
 *                     follow.c    the whole, once for each hand
 */
#ifndef TWOLIMB_SPOT_FOLLOW_INTERNAL_H
#define TWOLIMB_SPOT_FOLLOW_INTERNAL_H

#include "twolimb/spot.h"

/* The most spots of a series: a large group counts for several, a busy Sun has some twenty groups
 * (common practice, no source). */
enum { TL_FOLLOW_SPOTS_MAX = 48 };
#define TL_FOLLOW_NONE ((size_t)-1)

/* A mark on the disc. */
typedef struct tl_view_mark {
    size_t mark;    /* in the frame's list */
    double x, y;    /* frame axes, sr */
    double sigma;   /* in x and in y: the mark's and the circle's, sr */
    double missing; /* missing light, sr^2, any veil taken out */
    bool cut;       /* its centre is not that of the whole */
} tl_view_mark;

/* What one frame can say. */
typedef struct tl_view {
    tl_spot_frame_in *in;
    bool open;            /* undated: two skies, neither chosen yet */
    bool has_sky;         /* the rest of this line is valid */
    tl_sky sky;           /* the one chosen */
    bool has_moon;        /* its Moon tells the turn */
    double direction_rad; /* PA of the Moon less up_pa if not mirrored; minus that if mirrored */
    double own_sigma_rad; /* its error by the circles */
    double direction_sigma_rad; /* the one worked with */
    double separation_sr;
    double moon_x, moon_y; /* the Moon's centre on the disc, frame axes, sr */
    bool moon_seen;        /* there is a lunar circle */
    double bent_sr;        /* error of lengths on the disc, as of the Moon's offset */
    double depth_noise;    /* noise of contrast over the veil's weakening */
    tl_view_mark *mark;    /* into a common store */
    size_t count;
} tl_view;

typedef struct tl_views {
    tl_view *view; /* owned; one per frame */
    size_t count;
    tl_view_mark *store; /* owned */
    size_t marks;        /* of all frames */
} tl_views;

tl_status tl_views_make(tl_spot_frame_in *in, size_t count, tl_views *views);
void tl_views_free(tl_views *views);
/* Work with an error of the Moon's place on top of that of the circles; 0: without one. */
void tl_views_doubt_moon(tl_views *views, double moon_sigma_sr);
/* up_pa by the frame's own Moon for one hand. */
double tl_view_up(const tl_view *view, const tl_sky *sky, bool mirrored);

/* A spot while it is being followed; places at the epoch. */
typedef struct tl_follow_spot {
    double latitude_rad, carrington_rad;
    double covariance[2][2]; /* of these two, rad^2 */
    double sigma_sr;         /* of its place on the disc, either way */
    double missing;          /* typical missing light, sr^2 */
    double radius_sr;        /* typical apparent radius */
    double blur_sr;          /* typical blur of its pictures */
    size_t seen, missed;
    double score;
} tl_follow_spot;

/* The user's list at the epoch, those on the near side. */
typedef struct tl_known {
    tl_spot *spot; /* owned */
    size_t count;
} tl_known;
tl_status tl_known_make(const tl_spot_options *options, tl_known *known);
void tl_known_free(tl_known *known);
/* Log-likelihood that standing where the list has one adds, >= 0. */
double tl_known_gain(const tl_known *known, const tl_follow_spot *spot);

/* One hypothesis: hands, places, turns, and which mark is which spot. */
typedef struct tl_model {
    double epoch_utc_s;
    const tl_known *known;
    tl_follow_spot spot[TL_FOLLOW_SPOTS_MAX];
    size_t spots;
    size_t frames, marks;
    bool *mirrored;  /* owned, as all below; one per frame */
    bool *hand_open; /* mirrored or not is not known: the frame has no part */
    bool *has_up;    /* the frame's turn is known */
    double *up_rad;  /* solved: Moon and spots together */
    double *up_sigma_rad;
    size_t *taken;  /* per mark of the views' store: the spot it is, or TL_FOLLOW_NONE */
    double scatter; /* of the marks over their errors: scales those of the result */
    double level;   /* the same, >= 1: scales what may belong together */
    double score;   /* log-likelihood over that of "all marks are chance" */
} tl_model;

tl_status tl_model_make(const tl_views *views, double epoch_utc_s, const tl_known *known,
                        tl_model *model);
/* `to` was made for the same views. */
void tl_model_copy(const tl_model *from, tl_model *to);
void tl_model_free(tl_model *model);
/* Start again with these hands: no spots, turns by the Moons. */
void tl_model_start(const tl_views *views, tl_model *model);

/* Where a spot stands in the axes of a frame with this sky, hand and turn; false beyond the limb.
 */
bool tl_model_place_at(const tl_model *model, const tl_sky *sky, bool mirrored, double up_rad,
                       double latitude_rad, double carrington_rad, double *x_sr, double *y_sr);
/* The same in a frame as the model has it. */
bool tl_model_place(const tl_model *model, const tl_view *view, size_t frame, double latitude_rad,
                    double carrington_rad, double *x_sr, double *y_sr);

/* What should be seen of a spot in a frame. */
tl_spot_state tl_model_expect(const tl_view *view, const tl_follow_spot *spot, double x_sr,
                              double y_sr);

/* The spot that a mark by itself speaks of; false beyond the limb. */
bool tl_seed_spot(const tl_model *model, const tl_view *view, size_t frame,
                  const tl_view_mark *mark, tl_follow_spot *spot);
/* First places. */
void tl_seeds_find(const tl_views *views, tl_model *model);
/* Typical missing light, radius and blur of each spot; `scratch` has room for three values a mark.
 */
void tl_model_sizes(const tl_views *views, tl_model *model, double *scratch);
/* Assign marks to spots anew, drop spots that explain too little, and add up the score. */
void tl_match(const tl_views *views, tl_model *model);
/* Tallies and score of a spot that is tried against the marks not taken. */
void tl_match_alone(const tl_views *views, const tl_model *model, tl_follow_spot *spot);
/* Score of one frame for a turn and a hand that are tried, its marks against the model's spots;
 * `matched` may be NULL. */
double tl_match_try(const tl_views *views, const tl_model *model, size_t frame, const tl_sky *sky,
                    bool mirrored, double up_rad, double up_sigma_rad, size_t *matched);
/* Places and turns by least squares; TL_ERR_MEMORY. */
tl_status tl_joint_fit(const tl_views *views, tl_model *model);
/* The turn of a frame by its spots alone, the places being held; false without any. */
bool tl_joint_turn(const tl_views *views, const tl_model *model, size_t frame, double *up_rad,
                   double *sigma_rad, size_t *used);
/* Frames that had no turn of their own, or no time: those that the spots turn. Sets has_side in
 * `turn`. */
void tl_stragglers_turn(tl_views *views, tl_model *model, tl_spot_turn *turn);
/* Mark what stays put in the frames; spots of the model that do are taken out of it. Counts them.
 */
void tl_dust_mark(const tl_views *views, tl_model *model, bool could_be[TL_FOLLOW_SPOTS_MAX],
                  size_t *dust);
/* Add spots of which there is one mark only, where no other frame could show them; how many. */
size_t tl_single_add(const tl_views *views, tl_model *model);
/* The result, from the model. */
tl_status tl_describe(const tl_views *views, const tl_model *model, const tl_spot_options *options,
                      const bool could_be[TL_FOLLOW_SPOTS_MAX], tl_spots *spots);

/* Names from the user's list, and its spots that were not found. */
tl_status tl_known_add(const tl_views *views, const tl_model *model, const tl_known *known,
                       tl_spots *spots);

#endif
