/*
 * html_place.c - the estimated place: words, a table, and the line on a bare graticule.
 */
#include <math.h>

#include "report/html_internal.h"

/* The map, px. */
enum { WIDTH = 720, HEIGHT = 480, MARGIN = 64 };
/* Room around the line, as a share of its extent; and the least extent, in sigmas across. */
static const double ROOM = 0.25, LEAST_EXTENT = 6.0;
#define DEGREE_M 111195.0 /* of latitude, on a sphere of 6371.0 km */

/* Plate carree about the best place: true to scale there. */
typedef struct map {
    double lat0_rad, lon0_rad, east_scale; /* cos of the latitude in the middle */
    double south, north, west, east;       /* degrees; longitudes from lon0, in true length */
    double px;                             /* per degree of latitude */
} map;

static double east_of(const map *m, double lon_rad) {
    return tl_angle_signed(lon_rad - m->lon0_rad) / TL_DEG * m->east_scale;
}

static map frame_of(const tl_track_place *place) {
    map m = {.lat0_rad = place->lat_rad,
             .lon0_rad = place->lon_rad,
             .east_scale = fmax(0.05, cos(place->lat_rad))};
    const double least = 0.5 * LEAST_EXTENT * place->across_m / DEGREE_M;
    m.south = place->lat_rad / TL_DEG - least;
    m.north = place->lat_rad / TL_DEG + least;
    m.west = -least;
    m.east = least;
    for (size_t i = 0; i < place->point_count; i++) {
        const double lat = place->point[i].lat_rad / TL_DEG;
        const double east = east_of(&m, place->point[i].lon_rad);
        m.south = fmin(m.south, lat);
        m.north = fmax(m.north, lat);
        m.west = fmin(m.west, east);
        m.east = fmax(m.east, east);
    }
    m.px = fmin((WIDTH - 2.0 * MARGIN) / ((1.0 + 2.0 * ROOM) * (m.east - m.west)),
                (HEIGHT - 2.0 * MARGIN) / ((1.0 + 2.0 * ROOM) * (m.north - m.south)));
    /* What the drawing has room for beyond that is shown too. */
    const double lat = 0.5 * (m.south + m.north), east = 0.5 * (m.west + m.east);
    const double half_height = 0.5 * (HEIGHT - 2.0 * MARGIN) / m.px;
    const double half_width = 0.5 * (WIDTH - 2.0 * MARGIN) / m.px;
    m.south = lat - half_height;
    m.north = lat + half_height;
    m.west = east - half_width;
    m.east = east + half_width;
    return m;
}

static double x_of(const map *m, double east) {
    return MARGIN + (east - m->west) * m->px;
}

static double y_of(const map *m, double lat_deg) {
    return MARGIN + (m->north - lat_deg) * m->px;
}

static void add_attribute(tl_report_text *svg, const char *name, double value) {
    tl_report_text_addf(svg, " %s=\"", name);
    tl_report_add_fixed(svg, value, 1);
    tl_report_text_add(svg, "\"");
}

/* The step of a graticule with some five lines over the extent, degrees. */
static double step_for(double extent_deg, int *decimals) {
    static const struct {
        double step;
        int decimals;
    } known[] = {{0.005, 3}, {0.01, 2}, {0.02, 2}, {0.05, 2}, {0.1, 1}, {0.2, 1},
                 {0.5, 1},   {1.0, 0},  {2.0, 0},  {5.0, 0},  {10.0, 0}};
    enum { KNOWN = sizeof known / sizeof *known, LINES = 6 };
    size_t i = 0;
    while (i + 1 < KNOWN && extent_deg / known[i].step > LINES)
        i++;
    *decimals = known[i].decimals;
    return known[i].step;
}

static void add_line(tl_report_text *svg, double x1, double y1, double x2, double y2) {
    tl_report_text_add(svg, "<line");
    add_attribute(svg, "x1", x1);
    add_attribute(svg, "y1", y1);
    add_attribute(svg, "x2", x2);
    add_attribute(svg, "y2", y2);
    tl_report_text_add(svg, " stroke=\"#c9c4b8\"/>");
}

static void add_label(tl_report_text *svg, double x, double y, const char *anchor, double deg,
                      int decimals, const char *positive, const char *negative) {
    tl_report_text_add(svg, "<text");
    add_attribute(svg, "x", x);
    add_attribute(svg, "y", y);
    tl_report_text_addf(svg, " text-anchor=\"%s\">", anchor);
    tl_report_add_fixed(svg, fabs(deg), decimals);
    tl_report_text_addf(svg, "\u00b0 %s</text>", deg < 0.0 ? negative : positive);
}

static void add_graticule(const map *m, tl_report_text *svg) {
    const double label_gap = 8.0, text_rise = 4.0;
    int decimals;
    double step = step_for(m->north - m->south, &decimals);
    for (double lat = ceil(m->south / step) * step; lat <= m->north; lat += step) {
        if (fabs(lat) > 90.0)
            continue;
        add_line(svg, MARGIN, y_of(m, lat), WIDTH - MARGIN, y_of(m, lat));
        add_label(svg, MARGIN - label_gap, y_of(m, lat) + text_rise, "end", lat, decimals, "N",
                  "S");
    }
    const double lon0 = m->lon0_rad / TL_DEG;
    const double from = lon0 + m->west / m->east_scale, to = lon0 + m->east / m->east_scale;
    step = step_for(to - from, &decimals);
    for (double lon = ceil(from / step) * step; lon <= to; lon += step) {
        const double x = x_of(m, (lon - lon0) * m->east_scale);
        add_line(svg, x, MARGIN, x, HEIGHT - MARGIN);
        add_label(svg, x, HEIGHT - MARGIN + 2.5 * label_gap, "middle",
                  tl_angle_signed(lon * TL_DEG) / TL_DEG, decimals, "E", "W");
    }
}

/* The line as broad as its sigma across, then the line itself, then the best place. */
static void add_valley(const map *m, const tl_track_place *place, tl_report_text *svg) {
    for (int pass = 0; pass < 2; pass++) {
        const double width = pass == 0 ? 2.0 * place->across_m / DEGREE_M * m->px : 1.6;
        tl_report_text_add(svg, "<polyline points=\"");
        for (size_t i = 0; i < place->point_count; i++) {
            tl_report_add_fixed(svg, x_of(m, east_of(m, place->point[i].lon_rad)), 1);
            tl_report_text_add(svg, ",");
            tl_report_add_fixed(svg, y_of(m, place->point[i].lat_rad / TL_DEG), 1);
            tl_report_text_add(svg, " ");
        }
        tl_report_text_add(svg, "\" fill=\"none\" stroke=\"#8a4300\" stroke-linejoin=\"round\"");
        tl_report_text_add(svg, pass == 0 ? " stroke-opacity=\"0.22\"" : "");
        add_attribute(svg, "stroke-width", width);
        tl_report_text_add(svg, "/>");
    }
    tl_report_text_add(svg, "<circle");
    add_attribute(svg, "cx", x_of(m, 0.0));
    add_attribute(svg, "cy", y_of(m, place->lat_rad / TL_DEG));
    tl_report_text_add(svg, " r=\"4.5\" fill=\"#8a4300\"/>");
}

static void add_map(const tl_report_page *page, const tl_track_place *place) {
    tl_report_text *html = page->html;
    const map m = frame_of(place);
    tl_report_text_addf(html,
                        "<div class=\"drawing\" style=\"margin-top:1rem\"><svg "
                        "xmlns=\"http://www.w3.org/2000/svg\" "
                        "viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"Map without coasts: the "
                        "estimated place and the line through it, as in the table\" "
                        "font-family=\"sans-serif\" font-size=\"12\" fill=\"#44484e\">"
                        "<rect width=\"%d\" height=\"%d\" fill=\"#fdfcf9\"/>",
                        WIDTH, HEIGHT, WIDTH, HEIGHT);
    add_graticule(&m, html);
    add_valley(&m, place, html);
    tl_report_text_add(html, "</svg></div>\n");
}

static void add_row(const tl_report_page *page, const tl_track_place *place) {
    tl_report_text words = {0};
    tl_report_text_add(page->html, "<tr><td>");
    tl_report_words_estimate(place, &words);
    tl_report_html_words(page, &words);
    tl_report_text_add(page->html, "</td><td>");
    tl_report_words_estimate_size(place, &words);
    tl_report_html_words(page, &words);
    tl_report_text_add(page->html, "</td><td class=\"n\">");
    tl_report_words_estimate_clock(place, &words);
    tl_report_html_words(page, &words);
    tl_report_text_add(page->html, "</td><td class=\"n\">");
    tl_report_add_fixed(page->html, place->chi2, 1);
    tl_report_text_add(page->html, "</td></tr>\n");
}

void tl_report_html_place(const tl_report_page *page) {
    const tl_track *track = &page->sequence->track;
    if (track->place_count == 0)
        return;
    tl_report_text_addf(
        page->html,
        "<section id=\"place\">\n<h2>Where the pictures were taken</h2>\n<p>Estimated from the "
        "separations, trusting the camera\u2019s clock to some two seconds and its zone. %s</p>\n",
        track->place_count > 1 ? "Two places, on either side of the shadow\u2019s path, fit about "
                                 "equally well."
                               : "");
    tl_report_html_scroll(page, "Places that fit");
    tl_report_text_add(page->html,
                       "<table>\n<thead><tr><th>Place</th><th>Size: 1 \u03c3, direction from north "
                       "through east</th><th class=\"n\">Moves, for 1 s of clock</th><th "
                       "class=\"n\">\u0394\u03c7\u00b2</th></tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < track->place_count; i++)
        add_row(page, &track->place[i]);
    tl_report_text_add(page->html, "</tbody></table></div>\n");
    for (size_t i = 0; i < track->place_count; i++)
        add_map(page, &track->place[i]);
    tl_report_text_add(
        page->html,
        "<p class=\"note\">The line runs through the places that fit within one \u03c3, as broad "
        "as the "
        "estimate is uncertain across it. The mountains at the Moon\u2019s edge and a height of "
        "some "
        "hundred metres are allowed for. A clock that is further off moves the place by what the "
        "table says; pictures stamped when they were saved, each late by its own amount, can move "
        "it further than its size, and with few pictures nothing here would show it.</p>\n"
        "</section>\n");
}
