/*
 * path_legend.c - what the marks mean, and where their directions come from.
 */
#include "report/path_internal.h"

enum { MARGIN = TL_REPORT_PEN_MARGIN, KEY_WIDTH = 44 }; /* px */

static void key_dot(const tl_report_pen *p, bool outlier) {
    if (p->draw)
        tl_report_draw_dot(p->cr, MARGIN + 15.0, p->y, outlier);
}

static void key_path(const tl_report_pen *p) {
    if (!p->draw)
        return;
    tl_report_set_colour(p->cr, TL_REPORT_INK, 1.0);
    cairo_set_line_width(p->cr, 1.5);
    cairo_move_to(p->cr, MARGIN, p->y);
    cairo_line_to(p->cr, MARGIN + 30.0, p->y);
    cairo_move_to(p->cr, MARGIN + 15.0, p->y - 6.0);
    cairo_line_to(p->cr, MARGIN + 15.0, p->y + 6.0);
    cairo_stroke(p->cr);
}

static void key_moon(const tl_report_pen *p, int contact) {
    if (!p->draw)
        return;
    cairo_move_to(p->cr, MARGIN, p->y);
    cairo_line_to(p->cr, MARGIN + 30.0, p->y);
    tl_report_stroke_moon(p->cr, contact);
}

static void key_zenith(const tl_report_pen *p) {
    if (!p->draw)
        return;
    tl_report_set_colour(p->cr, TL_REPORT_QUIET, 1.0);
    tl_report_draw_arrow(p->cr, MARGIN, p->y, MARGIN + 30.0, p->y);
}

static void add_points(tl_report_pen *p, const tl_report_path *path) {
    size_t outliers = 0;
    for (size_t i = 0; i < path->measured_count; i++)
        outliers += path->measured[i].outlier;
    if (path->measured_count > outliers) {
        key_dot(p, false);
        tl_report_pen_wrapped(
            p,
            !path->on_sky || path->direction_measured
                ? "the Moon\u2019s centre, measured in one of your pictures"
                : "the Moon\u2019s centre: its distance from the Sun\u2019s centre is "
                  "measured, its direction the almanac\u2019s",
            KEY_WIDTH);
    }
    if (outliers > 0) {
        key_dot(p, true);
        tl_report_pen_wrapped(p, "measured, but left out of the fit", KEY_WIDTH);
    }
}

static void add_spots(tl_report_pen *p, const tl_report_path *path) {
    size_t listed = 0;
    for (size_t k = 0; k < path->spot_count; k++)
        listed += !path->spot[k].spot->in_pictures;
    if (path->spot_count > listed) {
        if (p->draw)
            tl_report_draw_spot(p->cr, MARGIN + 15.0, p->y, 4.0, false);
        tl_report_pen_line(
            p, "sunspots at maximum, by your pictures; small ones larger than they are", KEY_WIDTH);
    }
    if (listed > 0) {
        if (p->draw)
            tl_report_draw_spot(p->cr, MARGIN + 15.0, p->y, 4.0, true);
        tl_report_pen_line(p, "sunspots of your list that are not in the pictures", KEY_WIDTH);
    }
    if (path->crossing_count == 0)
        return;
    if (p->draw) {
        tl_report_draw_crossing(p->cr, MARGIN + 7.0, p->y, false);
        tl_report_draw_crossing(p->cr, MARGIN + 24.0, p->y, true);
    }
    tl_report_pen_wrapped(
        p,
        path->spot_count > TL_REPORT_CROSSING_SPOTS
            ? "the Moon\u2019s centre when its limb reaches the spot of that letter "
              "(filled) and lets it go (hollow); of six spots, the page has all"
            : "the Moon\u2019s centre when its limb reaches the spot of that letter "
              "(filled) and lets it go (hollow)",
        KEY_WIDTH);
}

static void add_outlines(tl_report_pen *p, const tl_report_path *path) {
    static const struct {
        int contact;
        const char *meaning;
    } outline[] = {{TL_C1, "the Moon at first contact (C1)"},
                   {TL_MAX, "the Moon at maximum"},
                   {TL_C4, "the Moon at last contact (C4)"}};
    for (int i = 0; i < 3; i++) {
        if (!path->has_contact[outline[i].contact])
            continue;
        key_moon(p, outline[i].contact);
        tl_report_pen_line(p, outline[i].meaning, KEY_WIDTH);
    }
}

static const char *caption(const tl_report_path *path) {
    if (path->line_count == 0)
        return "The pictures do not give a path: see the page for what is missing.";
    if (!path->on_sky)
        return "Without a place and true times the direction of the Moon\u2019s path is not "
               "known. It is drawn flat, from right to left and below the Sun\u2019s centre; the "
               "distances are "
               "measured.";
    if (path->measured_count == 0)
        return "North is up and east is left. No measured picture could be placed.";
    if (path->turned_by_spots && path->direction_followed)
        return "North is up and east is left. The distances from the Sun\u2019s centre are "
               "measured. So are the directions of the pictures whose sunspots, or whose mount, "
               "tell how they were turned; those of the others are the almanac\u2019s.";
    if (path->turned_by_spots)
        return "North is up and east is left. Distances and directions are measured; the sunspots, "
               "or the mount, tell how the pictures were turned.";
    if (path->direction_measured && path->direction_followed)
        return "North is up and east is left. The distances from the Sun\u2019s centre are "
               "measured. "
               "So are the directions of the pictures that share one turn, which the almanac "
               "gives; "
               "those of the others are the almanac\u2019s.";
    if (path->direction_measured)
        return "North is up and east is left. All pictures share one turn, which the almanac "
               "gives; by it the directions of the measured points are measured as well.";
    return "North is up and east is left. The pictures share no turn that is known, so only the "
           "distance from the Sun\u2019s centre tests the almanac, not the place along the circle "
           "around it.";
}

double tl_report_draw_legend(cairo_t *cr, const tl_report_path *path,
                             const tl_report_legend *legend) {
    tl_report_pen p = {cr, legend->top, legend->width, legend->draw};
    add_points(&p, path);
    if (path->line_count > 1) {
        char meaning[128];
        snprintf(meaning, sizeof meaning, "%s; a tick every %d minutes, %s",
                 path->on_sky ? "path of the Moon\u2019s centre from the almanac"
                              : "path fitted to your pictures",
                 legend->tick_minutes, path->on_sky ? "UTC" : "by the camera\u2019s clock");
        key_path(&p);
        tl_report_pen_wrapped(&p, meaning, KEY_WIDTH);
    }
    add_outlines(&p, path);
    add_spots(&p, path);
    if (path->has_zenith) {
        key_zenith(&p);
        tl_report_pen_line(&p, "towards the zenith at maximum", KEY_WIDTH);
    }
    p.y += 8.0;
    tl_report_pen_wrapped(&p, caption(path), 0.0);
    return p.y;
}
