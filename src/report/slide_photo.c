/*
 * slide_photo.c - photographs on a slide, which of them, and the numbers that go with them.
 */
#include <math.h>

#include "report/talk_internal.h"

/* What the picture would show, as far as it is known. */
static void draw_instead(tl_report_slide_pen *pen, const tl_report_plate *plate, tl_report_up up,
                         double scale, double x, double y) {
    double moon_x, moon_y, ratio;
    cairo_save(pen->cr);
    tl_report_add_circle(pen->cr, x, y, scale);
    cairo_clip(pen->cr);
    tl_report_draw_disc(pen->cr, TL_REPORT_TONE_SUN, x, y, scale);
    if (tl_report_plate_moon(pen->source, plate, up, &moon_x, &moon_y, &ratio))
        tl_report_draw_disc(pen->cr, TL_REPORT_TONE_MOON, x + scale * moon_x, y + scale * moon_y,
                            scale * ratio);
    cairo_restore(pen->cr);
    cairo_new_path(pen->cr);
}

void tl_report_slide_plate(tl_report_slide_pen *pen, const tl_report_plate *plate, tl_report_up up,
                           double reach_sr, double left, double top, double side) {
    const tl_report_plate_look look = {up, (int)lround(side), reach_sr, false};
    /* An SVG holds the JPEG; pixels have no use for it. */
    const bool jpeg = cairo_surface_get_type(cairo_get_target(pen->cr)) == CAIRO_SURFACE_TYPE_SVG;
    cairo_surface_t *surface = NULL;
    const tl_status status = tl_report_plate_surface(pen->source, plate, &look, jpeg, &surface);
    pen->failed = pen->failed || status == TL_ERR_MEMORY;
    if (surface) {
        tl_report_draw_surface(pen->cr, surface, CAIRO_FILTER_FAST, round(left), round(top),
                               look.side_px, look.side_px);
        cairo_surface_destroy(surface);
    } else {
        draw_instead(pen, plate, up, 0.5 * side / reach_sr, left + 0.5 * side, top + 0.5 * side);
    }
}

static const tl_limb *limb_of(const tl_report_source *source, const tl_report_plate *plate) {
    return &source->sequence->frame[plate->frame].limb;
}

const tl_report_plate *tl_report_plate_deepest(const tl_report_source *source) {
    const tl_report_plate *best = NULL;
    for (size_t k = 0; k < source->plates.count; k++) {
        const tl_report_plate *plate = &source->plates.item[k];
        if (limb_of(source, plate)->status != TL_LIMB_MEASURED)
            continue;
        if (!best || (best->doubtful && !plate->doubtful) ||
            (best->doubtful == plate->doubtful &&
             limb_of(source, plate)->separation_sr < limb_of(source, best)->separation_sr))
            best = plate;
    }
    return best;
}

const tl_report_plate *tl_report_plate_first(const tl_report_source *source) {
    const tl_report_plate *best = NULL;
    for (size_t k = 0; k < source->plates.count; k++) {
        const tl_report_plate *plate = &source->plates.item[k];
        if (limb_of(source, plate)->status == TL_LIMB_MEASURED &&
            (!best || (best->doubtful && !plate->doubtful)))
            best = plate;
    }
    return best;
}

void tl_report_add_plate_time(const tl_report_source *source, const tl_report_plate *plate,
                              tl_report_text *words) {
    if (!plate->timed) {
        tl_report_text_add(words, "no time");
        return;
    }
    tl_report_add_time_of_day(words, plate->t_s);
    if (source->plates.utc)
        tl_report_text_add(words, "\u00a0UTC");
}

bool tl_report_depth_of(const tl_report_source *source, tl_report_depth *depth) {
    const tl_track *track = &source->sequence->track;
    const tl_report_plate *plate = tl_report_plate_deepest(source);
    const bool central =
        fabs(track->smallest_sr) <= fabs(1.0 - track->ratio) ||
        (track->has_circumstances && track->circumstances.kind > TL_ECLIPSE_PARTIAL);
    if (track->has_smallest && track->ratio > 0.0 && !central) {
        *depth = (tl_report_depth){fabs(track->smallest_sr), track->smallest_sigma_sr, track->ratio,
                                   false};
        return true;
    }
    if (!plate)
        return false;
    const tl_limb *limb = limb_of(source, plate);
    double x, y, ratio;
    if (!tl_report_plate_moon(source, plate, TL_REPORT_NORTH_UP, &x, &y, &ratio))
        return false;
    *depth = (tl_report_depth){limb->separation_sr, limb->separation_sigma_sr, ratio, true};
    return true;
}

void tl_report_add_share(const tl_report_depth *depth, double share, tl_report_text *words) {
    /* The magnitude moves half as fast as the centres, the area not much faster. */
    const double sigma_percent = 0.5 * 100.0 * depth->separation_sigma_sr;
    tl_report_add_fixed(words, 100.0 * share, tl_report_decimals(sigma_percent, 1));
    tl_report_text_add(words, "\u00a0%");
}

bool tl_report_add_contact(const tl_report_source *source, int which, bool unit,
                           tl_report_text *words) {
    const tl_track *track = &source->sequence->track;
    const tl_track_contact *contact = &track->contact[which];
    const bool utc = tl_track_main(track)->clock.solved;
    const double sigma_s = tl_report_contact_sigma(track, which);
    const int decimals = tl_report_decimals(sigma_s, 1);
    if (!contact->measured)
        return false;
    if (utc)
        tl_report_add_clock(words, contact->measured_utc_s, decimals, source->facts.day_s);
    else
        tl_report_add_clock(words, contact->measured_camera_s, decimals,
                            floor(source->facts.first_camera_s / TL_DAY_S) * TL_DAY_S);
    tl_report_text_add(words, "\u00a0\u00b1\u00a0");
    tl_report_add_sigma(words, sigma_s, decimals);
    if (unit)
        tl_report_text_add(words, utc ? "\u00a0s UTC" : "\u00a0s by the camera\u2019s clock");
    return true;
}

bool tl_report_add_almanac(const tl_report_source *source, int which, tl_report_text *words) {
    const tl_track *track = &source->sequence->track;
    const tl_track_contact *contact = &track->contact[which];
    if (!contact->predicted)
        return false;
    tl_report_add_clock(
        words, contact->predicted_utc_s,
        contact->measured ? tl_report_decimals(tl_report_contact_sigma(track, which), 1) : 0,
        source->facts.day_s);
    tl_report_text_add(words, "\u00a0UTC");
    return true;
}
