/*
 * compass_turn.c - how a camera was held, and mirrored or not, where its frames have compasses.
 *
 * The rules of turn.c with the frames that have no Moon as well, and the up_pa by the compass where
 * it is known better than by the frame's own Moon. The mirror is no longer asked for but known.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

static void count_hands(const tl_track_series *series, size_t camera,
                        const tl_track_compasses *compasses, size_t hands[2]) {
    hands[0] = hands[1] = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_bearing *b = &compasses->frame[i];
        if (series->frame[i].camera == camera && b->known) {
            hands[b->mirrored ? 1 : 0]++;
        }
    }
}

/* The better one of Moon and compass; for either hand, where that is known. */
static tl_track_turn_row row_of(const tl_track_obs *obs, const tl_track_bearing *b,
                                const tl_sky *sky) {
    tl_track_turn_row row = {.parallactic_rad = sky->parallactic_rad};
    bool moon = obs != NULL && obs->has_direction;
    if (moon) {
        row = tl_track_turn_row_of(obs, sky);
    }
    if (b->known) {
        bool better =
            !moon || b->sigma_rad < hypot(row.sigma_rad, TL_TRACK_FLOOR_SR / sky->separation_sr);
        double up = better ? b->up_rad : row.up_rad[b->mirrored ? 1 : 0];
        row.up_rad[0] = row.up_rad[1] = up;
        row.sigma_rad = better ? b->sigma_rad : row.sigma_rad;
    }
    return row;
}

/* Frames with a true time: by the Moon only if its mirror is known.
 */
static size_t list_rows(const tl_track_series *series, size_t camera,
                        const tl_track_eclipse *eclipse, const tl_track_tied *tied,
                        const tl_track_compasses *compasses, bool mixed, tl_track_turn_row *row) {
    size_t count = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        const tl_track_bearing *b = &compasses->frame[i];
        const tl_track_obs *obs = series->obs_of[i];
        bool moon = obs != NULL && obs->has_direction && !obs->dropped && !mixed;
        double utc_s, sigma_s;
        tl_sky sky;
        if (f->camera != camera || !f->timed || !(b->known || moon)) {
            continue;
        }
        tl_track_clock_time(series, i, tied, &utc_s, &sigma_s);
        if (tl_sky_table_at(eclipse->table, utc_s, &sky) != TL_OK) {
            continue;
        }
        row[count++] = row_of(obs != NULL && !obs->dropped ? obs : NULL, b, &sky);
    }
    return count;
}

static void decide(const tl_track_turn_row *row, size_t count, const tl_track_options *options,
                   tl_mirror hand, tl_track_tied *tied) {
    tl_track_options known = *options;
    known.mirror = hand == TL_MIRROR_AUTO ? TL_MIRROR_NO : hand; /* mixed: both rows are the same */
    tl_mirror by_moons = tied->turn.mirrored;
    tied->mirror_opposed =
        options->mirror == TL_MIRROR_AUTO && by_moons != TL_MIRROR_AUTO && by_moons != hand;
    tied->turn = tl_track_turn_decide_rows(row, count, &known);
    tied->turn.mirrored = hand;
    known.holding = TL_HOLDING_AUTO;
    tl_track_turn found = tl_track_turn_decide_rows(row, count, &known);
    tied->holding_contradicted = tl_track_holding_contradicted(options, &found, &tied->turn);
}

tl_status tl_track_compass_turn(const tl_track_series *series, const tl_track_eclipse *eclipse,
                                const tl_track_options *options,
                                const tl_track_compasses *compasses, size_t camera,
                                tl_track_tied *tied) {
    size_t hands[2];
    count_hands(series, camera, compasses, hands);
    if (!tied->solved || hands[0] + hands[1] == 0) {
        return TL_OK;
    }
    tl_track_turn_row *row = calloc(series->frame_count + 1, sizeof *row);
    if (row == NULL) {
        return TL_ERR_MEMORY;
    }
    bool mixed = hands[0] > 0 && hands[1] > 0;
    tl_mirror hand = mixed ? TL_MIRROR_AUTO : hands[1] > 0 ? TL_MIRROR_YES : TL_MIRROR_NO;
    size_t count = list_rows(series, camera, eclipse, tied, compasses, mixed, row);
    decide(row, count, options, hand, tied);
    free(row);
    return TL_OK;
}

void tl_track_compass_mirror(const tl_track_series *series, const tl_track_compasses *compasses,
                             size_t k, tl_track_camera *camera) {
    size_t hands[2];
    count_hands(series, k, compasses, hands);
    camera->mirror_by_spots = !camera->mirror_given && hands[0] + hands[1] > 0;
    if (camera->mirror_by_spots) {
        camera->mirror_mixed = hands[0] > 0 && hands[1] > 0;
        camera->mirrored = camera->mirror_mixed ? TL_MIRROR_AUTO
                           : hands[1] > 0       ? TL_MIRROR_YES
                                                : TL_MIRROR_NO;
    }
}
