/*
 * html_spot_map.c - the Sun's disc, north up, with a heliographic grid and the spots.
 */
#include <math.h>
#include <stdlib.h>

#include "report/html_internal.h"
#include "report/spots_internal.h"

/* px of the map */
enum { WIDTH = 460, HEIGHT = 440, RADIUS = 172, LETTER = 15, GRID_STEP_DEG = 30 };
static const double MIDDLE_X = 214.0, MIDDLE_Y = 218.0;
static const double LEAST_RADIUS = 2.6; /* a spot must be seen */
static const double WIDTH_SHARE = 0.62; /* of a letter, of its height; from memory */

static void add_attribute(tl_report_text *svg, const char *name, double value) {
    tl_report_text_addf(svg, " %s=\"", name);
    tl_report_add_fixed(svg, value, 1);
    tl_report_text_add(svg, "\"");
}

static double map_x(double east_sr) {
    return MIDDLE_X - RADIUS * east_sr;
}

static double map_y(double north_sr) {
    return MIDDLE_Y - RADIUS * north_sr;
}

/* Longitude from the central meridian. */
static bool grid_point(const tl_sky *sky, double latitude_rad, double longitude_rad, double *x,
                       double *y) {
    double east, north;
    if (!tl_spot_project(sky, latitude_rad, tl_angle_positive(sky->l0_rad + longitude_rad), &east,
                         &north))
        return false;
    *x = map_x(east);
    *y = map_y(north);
    return true;
}

/* A parallel, or a meridian: the first angle stays, the other runs from -range to range. */
static void add_curve(tl_report_text *svg, const tl_sky *sky, bool parallel, double fixed_deg,
                      const char *class_name) {
    const int range_deg = parallel ? 180 : 90, step_deg = 3;
    bool drawing = false;
    tl_report_text_addf(svg, "<path class=\"%s\" d=\"", class_name);
    for (int deg = -range_deg; deg <= range_deg; deg += step_deg) {
        double x, y;
        const double latitude = parallel ? fixed_deg : deg, longitude = parallel ? deg : fixed_deg;
        const bool seen = grid_point(sky, latitude * TL_DEG, longitude * TL_DEG, &x, &y);
        if (seen) {
            tl_report_text_add(svg, drawing ? "L" : "M");
            tl_report_add_fixed(svg, x, 1);
            tl_report_text_add(svg, " ");
            tl_report_add_fixed(svg, y, 1);
        }
        drawing = seen;
    }
    tl_report_text_add(svg, "\"/>");
}

static void add_grid(tl_report_text *svg, const tl_sky *sky) {
    for (int deg = -60; deg <= 60; deg += GRID_STEP_DEG)
        add_curve(svg, sky, true, deg, deg == 0 ? "grid main" : "grid");
    for (int deg = -90; deg <= 90; deg += GRID_STEP_DEG)
        add_curve(svg, sky, false, deg, deg == 0 ? "grid main" : "grid");
}

static void add_words(tl_report_text *svg, double x, double y, const char *anchor,
                      const char *words) {
    tl_report_text_add(svg, "<text");
    add_attribute(svg, "x", x);
    add_attribute(svg, "y", y);
    tl_report_text_addf(svg, " text-anchor=\"%s\">%s</text>", anchor, words);
}

/* Where a direction leaves the disc, and a little further. */
static void outside(double pa_rad, double out_px, double *x, double *y) {
    *x = MIDDLE_X - (RADIUS + out_px) * sin(pa_rad);
    *y = MIDDLE_Y - (RADIUS + out_px) * cos(pa_rad);
}

static void add_names(tl_report_text *svg, const tl_sky *sky) {
    const double half_capital = 4.5;
    double x, y;
    outside(0.0, 13.0, &x, &y);
    add_words(svg, x, y + half_capital, "middle", "N");
    outside(TL_PI / 2.0, 13.0, &x, &y);
    add_words(svg, x, y + half_capital, "middle", "E");
    outside(sky->p_rad + 1.5 * TL_PI, 5.0, &x, &y);
    add_words(svg, x, y + half_capital, "start", "equator");
    const double south_rad = sky->p_rad + TL_PI, upright = 0.1;
    outside(south_rad, 14.0, &x, &y);
    add_words(svg, x, y + half_capital,
              fabs(sin(south_rad)) < upright ? "middle"
              : sin(south_rad) > 0.0         ? "end"
                                             : "start",
              "central meridian");
}

static void add_spot(tl_report_text *svg, const tl_spot *spot, const tl_report_label *label) {
    tl_report_text_addf(svg, "<circle class=\"%s\"", spot->in_pictures ? "spot" : "spot listed");
    add_attribute(svg, "cx", label->x);
    add_attribute(svg, "cy", label->y);
    add_attribute(svg, "r", label->radius);
    tl_report_text_add(svg, "/>");
    if (label->far) {
        tl_report_text_add(svg, "<path class=\"lead-line\" d=\"M");
        tl_report_add_fixed(svg, label->x, 1);
        tl_report_text_add(svg, " ");
        tl_report_add_fixed(svg, label->y, 1);
        tl_report_text_add(svg, "L");
        tl_report_add_fixed(svg, label->box.x, 1);
        tl_report_text_add(svg, " ");
        tl_report_add_fixed(svg, label->box.y, 1);
        tl_report_text_add(svg, "\"/>");
    }
}

static void add_letter(const tl_report_page *page, const tl_spot *spot,
                       const tl_report_label *label) {
    tl_report_text name = {0};
    tl_report_text_add(page->html, "<text class=\"letter\"");
    add_attribute(page->html, "x", label->box.x);
    add_attribute(page->html, "y", label->box.y + 0.35 * LETTER);
    tl_report_text_add(page->html, " text-anchor=\"middle\">");
    tl_report_add_spot_name(&name, spot);
    tl_report_html_words(page, &name);
    tl_report_text_add(page->html, "</text>");
}

static void add_spots(const tl_report_page *page) {
    const tl_spots *spots = &page->sequence->spots;
    tl_report_label *label = calloc(spots->count, sizeof *label);
    if (!label) {
        page->html->failed = true;
        return;
    }
    for (size_t s = 0; s < spots->count; s++) {
        const tl_spot *spot = &spots->spot[s];
        tl_report_text name = {0};
        tl_report_add_spot_letter(&name, spot);
        label[s] = (tl_report_label){.x = map_x(spot->east_sr),
                                     .y = map_y(spot->north_sr),
                                     .radius = fmax(LEAST_RADIUS, RADIUS * spot->radius_sr)};
        label[s].box.half_width = 0.5 * WIDTH_SHARE * LETTER * (double)name.length;
        label[s].box.half_height = 0.5 * LETTER;
        tl_report_text_free(&name);
    }
    tl_report_place_labels(label, spots->count, NULL, 0);
    for (size_t s = 0; s < spots->count; s++)
        add_spot(page->html, &spots->spot[s], &label[s]);
    for (size_t s = 0; s < spots->count; s++)
        add_letter(page, &spots->spot[s], &label[s]);
    free(label);
}

static void add_angle(tl_report_text *html, const char *name, double rad) {
    tl_report_text_add(html, name);
    tl_report_add_signed(html, rad / TL_DEG, 1);
    tl_report_text_add(html, "\u00b0");
}

static void add_caption(const tl_report_page *page, const tl_sky *sky) {
    tl_report_text *html = page->html;
    const double epoch_s = page->sequence->spots.spot[0].epoch_utc_s;
    tl_report_text_add(html, "<figcaption>At ");
    tl_report_add_clock(html, epoch_s, 0,
                        page->facts->has_day ? page->facts->day_s
                                             : floor(epoch_s / TL_DAY_S) * TL_DAY_S);
    tl_report_text_add(html, " UTC, celestial north up, east left. Grid every 30\u00b0; ");
    add_angle(html, "the axis stands at P ", sky->p_rad);
    add_angle(html, ", the disc\u2019s centre at latitude B\u2080 ", sky->b0_rad);
    tl_report_text_add(html, " and Carrington longitude L\u2080 ");
    tl_report_add_fixed(html, tl_angle_positive(sky->l0_rad) / TL_DEG, 1);
    tl_report_text_add(html, "\u00b0. Small spots are drawn larger than they are.</figcaption>");
}

void tl_report_html_spot_map(const tl_report_page *page) {
    tl_report_text *html = page->html;
    tl_sky sky;
    if (!tl_report_spot_sky(page->sequence, &sky))
        return;
    tl_report_text_addf(html,
                        "<figure class=\"map\"><svg viewBox=\"0 0 %d %d\" role=\"img\" "
                        "aria-label=\"Map of the Sun\u2019s disc with the spots; their places are "
                        "in the table\"><rect width=\"%d\" height=\"%d\" rx=\"6\" "
                        "class=\"paper\"/><circle class=\"disc\"",
                        WIDTH, HEIGHT, WIDTH, HEIGHT);
    add_attribute(html, "cx", MIDDLE_X);
    add_attribute(html, "cy", MIDDLE_Y);
    tl_report_text_addf(html, " r=\"%d\"/>", RADIUS);
    add_grid(html, &sky);
    add_names(html, &sky);
    add_spots(page);
    tl_report_text_add(html, "</svg>");
    add_caption(page, &sky);
    tl_report_text_add(html, "</figure>\n");
}
