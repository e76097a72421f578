/*
 * command_predict.h - what the files of the command `predict` share.
 */
#ifndef TWOLIMB_COMMAND_PREDICT_H
#define TWOLIMB_COMMAND_PREDICT_H

#include "twolimb/spot.h"

/* A spot of the user's list at the eclipse. */
typedef struct tl_predict_spot {
    tl_spot spot;        /* at maximum, with its passages */
    double listed_utc_s; /* when the list saw it */
    bool lost;    /* the list is too far from that day: it may be anywhere along its parallel */
    bool on_disc; /* else beyond the limb that day */
} tl_predict_spot;

/* What was asked and what was found. */
typedef struct tl_prediction {
    tl_site site;
    tl_sky_options options;
    double date_s; /* 0 h of the day asked for */
    bool zone_given;
    int zone_minutes;
    bool visible;                   /* some of it happens that day with the Sun up */
    bool below_horizon;             /* an eclipse that day, but all of it with the Sun down */
    tl_circumstances circumstances; /* valid if visible or below_horizon */
    double greatest_s;              /* when most of it is seen; valid if visible */
    tl_sky greatest;                /* the sky then */
    double deltat_s;
    bool has_nearest;
    tl_circumstances nearest; /* the nearest other eclipse to be seen; valid if has_nearest */
    bool has_spots;           /* a list was given */
    tl_predict_spot *spot;    /* owned; of each name the row nearest in time; NULL if not visible */
    size_t spot_count;
} tl_prediction;

/* Several eclipses at one place, the earliest first. */
typedef struct tl_prediction_list {
    const tl_prediction *asked; /* place, zone and the day from which on */
    size_t count;
    tl_prediction *eclipse; /* all visible */
} tl_prediction_list;

/* The day on which an instant falls, in the zone given or else UTC. */
double tl_predict_day(const tl_prediction *prediction, double t_utc_s);

/* "2026-08-12": the day of an instant as it stands, no zone added. */
enum { TL_PREDICT_DAY_SIZE = 11 };
void tl_predict_day_text(double t_s, char text[TL_PREDICT_DAY_SIZE]);

/* Fill `greatest` and `greatest_s` from the circumstances. Failures of tl_sky_at. */
tl_status tl_predict_greatest(tl_prediction *prediction);

/* "UTC+02:00". */
enum { TL_PREDICT_ZONE_SIZE = 16 };
void tl_predict_zone_text(int minutes, char text[TL_PREDICT_ZONE_SIZE]);

/* Fill the spots from a list; the prediction is one of an eclipse to be seen. Failures of
 * tl_spot_cover. */
tl_status tl_predict_spots(const tl_spot_list *list, tl_prediction *prediction);
/* Their table; part of tl_predict_print_text. */
void tl_predict_print_spots(const tl_prediction *prediction);

void tl_predict_print_text(const tl_prediction *prediction);
/* TL_ERR_MEMORY. */
tl_status tl_predict_print_json(const tl_prediction *prediction);

/* The command with --next: up to `most` eclipses to be seen at the place from the day asked for on.
 * `found` tells how many were printed. Failures of tl_sky_next_eclipse but TL_ERR_NO_ECLIPSE. */
tl_status tl_predict_next(const tl_prediction *asked, size_t most, bool json, size_t *found);
/* TL_ERR_MEMORY. */
tl_status tl_predict_print_list_json(const tl_prediction_list *list);

#endif
