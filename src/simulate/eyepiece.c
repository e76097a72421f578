/*
 * eyepiece.c - what a phone sees round the field of an eyepiece, and what lies over the picture.
 *
 * Nothing here is optics by the book: the shapes are invented after what such pictures
 * show, a field with a soft edge, a dark barrel, and an eyecup out of focus and unevenly lit.
 */
#include <math.h>

#include "simulate/simulate_internal.h"

#define MOTTLE_SCALE_SR 1.8 /* size of the patches of the eyecup's unevenness */
#define MOTTLE_DEPTH 0.7
#define GLINT_WIDTH_SHARE 0.35 /* width of the lit rim over that of the stop's soft edge */
#define CUP_STEP_DEPTH 0.22    /* the mouldings of an eyecup, one behind the other */
#define CUP_STEPS_PER_SR 9.0
#define FIELD_SLOPE 0.5 /* how much more stray light one side of the field has */

static double smooth_step(double t) {
    if (t <= 0.0 || t >= 1.0)
        return t <= 0.0 ? 0.0 : 1.0;
    return t * t * (3.0 - 2.0 * t);
}

static tl_status plane_of_clouds(const tl_simulate_scene *scene, size_t index,
                                 tl_simulate_stream stream, double scale_px,
                                 tl_simulate_plane *plane) {
    const tl_simulate_settings *settings = &scene->frame[index].settings;
    gsl_rng *random = tl_simulate_random(scene->seed, index, stream);
    if (random == NULL)
        return TL_ERR_MEMORY;
    tl_status status = tl_simulate_plane_make(0, 0, settings->width, settings->height, plane);
    if (status == TL_OK)
        status = tl_simulate_plane_clouds(random, scale_px, plane);
    gsl_rng_free(random);
    return status;
}

/* Optical depth of the haze, patchy by its share, to transparency. */
static void depth_to_clear(const tl_simulate_haze *haze, tl_simulate_plane *plane) {
    size_t n = (size_t)plane->width * (size_t)plane->height;
    for (size_t i = 0; i < n; i++) {
        /* Sums of lattices keep to the middle of 0..1: spread them. */
        double patch = smooth_step(3.0 * ((double)plane->v[i] - 0.5) + 0.5);
        double depth = haze->depth * (1.0 - haze->patchiness + 2.0 * haze->patchiness * patch);
        plane->v[i] = (float)exp(-depth);
    }
}

tl_status tl_simulate_air_make(const tl_simulate_scene *scene, size_t index,
                               const tl_simulate_place *place, tl_simulate_air *air) {
    const tl_simulate_settings *settings = &scene->frame[index].settings;
    tl_simulate_air made = {0};
    tl_status status = TL_OK;
    if (settings->haze.on) {
        double scale_px = settings->haze.scale_sr * place->sun_r;
        status = plane_of_clouds(scene, index, TL_STREAM_HAZE, scale_px, &made.clear);
        if (status == TL_OK)
            depth_to_clear(&settings->haze, &made.clear);
    }
    if (status == TL_OK && settings->eyepiece.on)
        status = plane_of_clouds(scene, index, TL_STREAM_EYEPIECE, MOTTLE_SCALE_SR * place->sun_r,
                                 &made.mottle);
    if (status == TL_OK && settings->card.on)
        status = tl_simulate_paper_make(scene, index, place, &made.paper);
    if (status == TL_OK)
        *air = made;
    else
        tl_simulate_air_free(&made);
    return status;
}

void tl_simulate_air_free(tl_simulate_air *air) {
    tl_simulate_plane_free(&air->clear);
    tl_simulate_plane_free(&air->mottle);
    tl_simulate_plane_free(&air->paper);
}

/* A pixel as the eyepiece has it. */
typedef struct eyepiece_view {
    double distance; /* from the centre of the field, in solar radii */
    double towards;  /* -1..1: on the side from which daylight falls */
    double edge;     /* from the stop, in widths of its soft edge */
    double patch;    /* unevenness spread over 0..1 */
} eyepiece_view;

static eyepiece_view view(const tl_simulate_eyepiece *eyepiece, const tl_simulate_place *place,
                          double mottle, double x, double y) {
    double dx = (x - place->sun_x) / place->sun_r - eyepiece->x_sr;
    double dy = (y - place->sun_y) / place->sun_r - eyepiece->y_sr;
    double distance = hypot(dx, dy), lit = eyepiece->lit_deg * TL_DEG;
    return (eyepiece_view){
        .distance = distance,
        .towards = distance > 0.0 ? (dx * cos(lit) + dy * sin(lit)) / distance : 0.0,
        .edge = (distance - eyepiece->stop_sr) / eyepiece->stop_soft_sr,
        .patch = smooth_step(3.0 * (mottle - 0.5) + 0.5),
    };
}

/* Barrel and eyecup, out of focus, lit from one side. */
static double cup_light(const tl_simulate_eyepiece *eyepiece, const eyepiece_view *v, double mottle,
                        int channel) {
    double beyond = smooth_step((v->distance - eyepiece->cup_sr) / eyepiece->cup_soft_sr);
    double behind = fmax(v->distance - eyepiece->cup_sr, 0.0);
    double steps = 1.0 + CUP_STEP_DEPTH * exp(-behind) * sin(CUP_STEPS_PER_SR * behind);
    double side = 1.0 + eyepiece->lit_share * v->towards;
    double uneven = 1.0 + MOTTLE_DEPTH * (2.0 * mottle - 1.0);
    return uneven * (eyepiece->cup[channel] * beyond * side * steps +
                     eyepiece->barrel[channel] * (1.0 - beyond));
}

/* The rim just outside the stop, which catches light in arcs. */
static double rim_light(const tl_simulate_eyepiece *eyepiece, const eyepiece_view *v, int channel) {
    double off = (v->edge - 1.0) / GLINT_WIDTH_SHARE;
    double colour = eyepiece->field[channel] + eyepiece->barrel[channel];
    return eyepiece->glint * colour * v->patch * smooth_step(0.5 - 0.5 * v->towards) *
           exp(-0.5 * off * off);
}

tl_simulate_surround tl_simulate_eyepiece_at(const tl_simulate_eyepiece *eyepiece,
                                             const tl_simulate_place *place, double mottle,
                                             int channel, double x, double y) {
    eyepiece_view v = view(eyepiece, place, mottle, x, y);
    double slope = 1.0 - FIELD_SLOPE * v.towards * fmin(v.distance / eyepiece->stop_sr, 1.0);
    return (tl_simulate_surround){
        .outside = cup_light(eyepiece, &v, mottle, channel) + rim_light(eyepiece, &v, channel),
        .inside = eyepiece->field[channel] * slope * (0.4 + 1.2 * v.patch),
        .field_share = 1.0 - smooth_step(v.edge + 0.5),
    };
}
