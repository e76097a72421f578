/*
 * command_predict.h - what the files of the command `predict` share.
 */
#ifndef TWOLIMB_COMMAND_PREDICT_H
#define TWOLIMB_COMMAND_PREDICT_H

#include "twolimb/sky.h"

/* What was asked and what was found. */
typedef struct tl_prediction {
    tl_site site;
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
} tl_prediction;

/* The day on which an instant falls, in the zone given or else UTC. */
double tl_predict_day(const tl_prediction *prediction, double t_utc_s);

void tl_predict_print_text(const tl_prediction *prediction);
/* TL_ERR_MEMORY. */
tl_status tl_predict_print_json(const tl_prediction *prediction);

#endif
