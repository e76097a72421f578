/*
 * spot_accuracy_scene.c - invented series: a real eclipse at a random place, random spots, and
 * pictures of a good camera or of a phone at the eyepiece.
 */
#include <math.h>
#include <stdarg.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "spot_accuracy.h"

enum { FRAMES = 8, TEXT_SIZE = 16384 };

const char *const spot_kind_name[SPOT_KINDS] = {"clean", "phone"};
const size_t spot_kind_series[SPOT_KINDS] = {60, 40};
const char *const spot_kind_story[SPOT_KINDS] = {
    "disc 900 to 1,040 px in 1,150 px, a quarter of the series reduced to 800 to 1,000 px; blur "
    "0.8 "
    "to 2 px, noise, granulation",
    "phone through haze and eyepiece: disc 500 to 900 px, blur 1.6 to 2.8 px, veil, ghosts, "
    "glints, "
    "tone curve, sharpening, JPEG 75 to 90, dust in two fifths of the series"};

/* Days of solar eclipses (NASA's five-millennium canon). */
static const char *const DAY[] = {"1999-08-11", "2001-06-21", "2005-10-03", "2006-03-29",
                                  "2012-05-20", "2014-10-23", "2015-03-20", "2017-08-21",
                                  "2019-07-02", "2021-06-10", "2023-10-14", "2024-04-08",
                                  "2026-08-12", "2027-08-02"};
enum { DAYS = sizeof DAY / sizeof DAY[0] };
static const double MAGNITUDE_LEAST = 0.3, MAGNITUDE_MOST = 1.0;
static const double ALTITUDE_LEAST = 8.0 * TL_DEG; /* below it the air does more than flatten */

/* A text that grows. */
typedef struct writer {
    char *text;
    size_t length;
    gsl_rng *rng;
} writer;

__attribute__((format(printf, 2, 3))) static void put(writer *w, const char *format, ...) {
    va_list values;
    va_start(values, format);
    size_t room = TEXT_SIZE - w->length;
    int length = vsnprintf(w->text + w->length, room, format, values);
    va_end(values);
    if (length > 0)
        w->length += (size_t)length < room ? (size_t)length : room - 1;
}

static double between(writer *w, double low, double high) {
    return low + (high - low) * gsl_rng_uniform(w->rng);
}

static bool chance(writer *w, double share) {
    return gsl_rng_uniform(w->rng) < share;
}

/* ---- the eclipse and its spots ---- */

static bool good_eclipse(const tl_site *site, double day_utc_s) {
    static const int CONTACT[] = {TL_C1, TL_MAX, TL_C4};
    tl_circumstances c;
    if (tl_sky_circumstances(site, day_utc_s, NULL, &c) != TL_OK || c.kind != TL_ECLIPSE_PARTIAL ||
        c.magnitude < MAGNITUDE_LEAST || c.magnitude > MAGNITUDE_MOST)
        return false;
    for (int i = 0; i < 3; i++)
        if (c.contact[CONTACT[i]].altitude_rad < ALTITUDE_LEAST)
            return false;
    return true;
}

static void put_eclipse(writer *w) {
    for (;;) {
        const char *day = DAY[gsl_rng_uniform_int(w->rng, DAYS)];
        double lat_deg = asin(between(w, -0.9, 0.95)) / TL_DEG, lon_deg = between(w, -180, 180);
        /* to the decimals that the scene has, so that what is checked is what is drawn */
        lat_deg = round(lat_deg * 1e4) / 1e4;
        lon_deg = round(lon_deg * 1e4) / 1e4;
        tl_site site = {TL_SITE_GIVEN, lat_deg * TL_DEG, lon_deg * TL_DEG, 100.0};
        double day_utc_s;
        if (tl_date_parse(day, &day_utc_s) != TL_OK || !good_eclipse(&site, day_utc_s))
            continue;
        put(w,
            "\"site\": {\"lat_deg\": %.4f, \"lon_deg\": %.4f, \"height_m\": 100}, \"day\": "
            "\"%s\",\n",
            lat_deg, lon_deg, day);
        return;
    }
}

typedef struct drawn_spot {
    double latitude_deg, longitude_deg, radius_deg, umbra;
} drawn_spot;

/* Apart by at least twice the sum of their radii on the Sun. */
static bool is_free(const drawn_spot *spot, const drawn_spot *other) {
    double a = spot->latitude_deg * TL_DEG, b = other->latitude_deg * TL_DEG;
    double across = (spot->longitude_deg - other->longitude_deg) * TL_DEG;
    double apart = acos(fmin(sin(a) * sin(b) + cos(a) * cos(b) * cos(across), 1.0)) / TL_DEG;
    return apart >= 2.0 * (spot->radius_deg + other->radius_deg);
}

static drawn_spot random_spot(writer *w) {
    double umbra_arcsec = between(w, 5.0, 25.0); /* its diameter */
    drawn_spot s = {.latitude_deg = between(w, 5.0, 35.0), .umbra = between(w, 0.40, 0.45)};
    if (chance(w, 0.5))
        s.latitude_deg = -s.latitude_deg;
    s.longitude_deg = between(w, -75.0, 75.0);
    s.radius_deg = 0.5 * umbra_arcsec / s.umbra / SPOT_SUN_ARCSEC / TL_DEG;
    return s;
}

static void put_spots(writer *w) {
    drawn_spot spot[SPOT_TRUE_MAX];
    size_t count = gsl_rng_uniform_int(w->rng, SPOT_TRUE_MAX + 1);
    for (size_t i = 0; i < count;) {
        spot[i] = random_spot(w);
        bool room = true;
        for (size_t k = 0; k < i; k++)
            room = room && is_free(&spot[i], &spot[k]);
        i += room ? 1 : 0;
    }
    put(w, "\"spots\": [");
    for (size_t i = 0; i < count; i++)
        put(w,
            "%s\n  {\"latitude_deg\": %.4f, \"longitude_deg\": %.4f, \"radius_deg\": %.5f, "
            "\"umbra\": %.4f}",
            i > 0 ? "," : "", spot[i].latitude_deg, spot[i].longitude_deg, spot[i].radius_deg,
            spot[i].umbra);
    put(w, "],\n");
}

/* ---- the camera ---- */

static void put_camera(writer *w, int quality) {
    put(w, "  \"quality\": %d, \"holding\": \"free\", \"mirrored\": %s,\n", quality,
        chance(w, 0.5) ? "true" : "false");
    put(w,
        "  \"clock\": {\"offset_s\": %.1f, \"zone\": \"%+03d:00\", \"write_zone\": true, "
        "\"write_subsec\": %s},\n",
        between(w, -60.0, 60.0), (int)gsl_rng_uniform_int(w->rng, 20) - 10,
        chance(w, 0.5) ? "true" : "false");
}

/* The frames: each its own scale and framing, and what only some of them have. */
static void put_frames(writer *w, double radius_px, double scatter, double middle_x,
                       double middle_y, double shift_px, double blur_px, void (*more)(writer *w)) {
    put(w,
        "\"sets\": [{\"prefix\": \"f_\", \"start\": \"C1-60\", \"stop\": \"C4\", \"count\": %d, "
        "\"jitter_s\": 60, \"frames\": [\n",
        FRAMES);
    for (int i = 0; i < FRAMES; i++) {
        put(w, "  {\"sun_r_px\": %.2f, \"sun_x_px\": %.2f, \"sun_y_px\": %.2f, \"blur_px\": %.3f",
            radius_px * between(w, 1.0 - scatter, 1.0 + scatter),
            middle_x + between(w, -shift_px, shift_px), middle_y + between(w, -shift_px, shift_px),
            fmax(blur_px * between(w, 0.85, 1.15), 0.7));
        if (more != NULL)
            more(w);
        put(w, "}%s\n", i + 1 < FRAMES ? "," : "");
    }
    put(w, "]}]\n");
}

static void put_clean(writer *w) {
    put(w,
        "\"defaults\": {\n  \"width\": 1150, \"height\": 1150, \"exposure\": %.2f, "
        "\"colour\": [1, %.2f, %.2f], \"background\": %.3f,\n",
        between(w, 0.5, 0.8), between(w, 0.5, 0.95), between(w, 0.2, 0.8), between(w, 0.0, 0.02));
    put(w,
        "  \"noise\": {\"full_well_e\": %.0f, \"read_e\": 20}, \"granulation\": {\"rms\": %.3f, "
        "\"cell_arcsec\": %.2f},\n",
        between(w, 5000.0, 30000.0), between(w, 0.03, 0.05), between(w, 1.0, 2.0));
    if (chance(w, 0.3))
        put(w, "  \"hot_pixels\": {\"count\": 40}, \"dead_pixels\": {\"count\": 40},\n");
    if (chance(w, 0.25))
        put(w, "  \"copy\": {\"long_side_px\": %d, \"quality\": %d},\n",
            800 + (int)gsl_rng_uniform_int(w->rng, 201), 85 + (int)gsl_rng_uniform_int(w->rng, 8));
    put_camera(w, 90 + (int)gsl_rng_uniform_int(w->rng, 6));
    put(w, "  \"sun_r_px\": 500},\n");
    put_frames(w, between(w, 475.0, 497.0), 0.045, 574.5, 574.5, 30.0, between(w, 0.8, 2.0), NULL);
}

/* ---- phones, after the scenes that are kept in fixtures ---- */

static void phone_extras(writer *w) {
    put(w, ", \"exposure\": %.2f", between(w, 0.6, 1.05));
    if (chance(w, 0.3))
        put(w, ", \"shade\": {\"amount\": %.2f, \"direction_deg\": %.0f}", between(w, 0.15, 0.4),
            between(w, -180.0, 180.0));
    if (chance(w, 0.4))
        put(w,
            ", \"haze\": {\"depth\": %.2f, \"scale_sr\": %.2f, \"patchiness\": %.2f, \"light\": "
            "[0.05, 0.022, 0.006]}",
            between(w, 0.3, 0.8), between(w, 1.0, 2.0), between(w, 0.4, 0.85));
}

static void eyepiece_extras(writer *w) {
    phone_extras(w);
    if (chance(w, 0.3))
        put(w,
            ", \"ghosts\": [{\"x_sr\": %.2f, \"y_sr\": %.2f, \"share\": %.3f, \"blur_sr\": 0.05, "
            "\"upside_down\": true}]",
            between(w, -1.0, 1.0), between(w, -1.0, 1.0), between(w, 0.03, 0.06));
    if (chance(w, 0.4))
        put(w,
            ", \"reflections\": [{\"x_sr\": %.2f, \"y_sr\": %.2f, \"long_sr\": %.2f, \"short_sr\": "
            "%.2f, \"turn_deg\": %.0f, \"softness\": %.2f, \"light\": [0.05, 0.08, 0.4]}]",
            between(w, -1.3, 1.3), between(w, -1.3, 1.3), between(w, 0.3, 1.0),
            between(w, 0.1, 0.4), between(w, 0.0, 180.0), between(w, 0.7, 1.0));
}

static void put_demo_eyepiece(writer *w) {
    put(w,
        "  \"colour\": [1.0, %.2f, 0.02], \"halo\": {\"share\": %.2f, \"radius_sr\": 1.8}, "
        "\"bloom\": {\"share\": 0.06, \"radius_px\": 4},\n"
        "  \"noise\": {\"full_well_e\": 30000, \"read_e\": 25, \"grain_px\": 1.3},\n"
        "  \"eyepiece\": {\"x_sr\": 0.1, \"y_sr\": -0.1, \"stop_sr\": 2.05, \"stop_soft_sr\": "
        "0.035, \"cup_sr\": 2.5, \"cup_soft_sr\": 0.9, \"field\": [0.03, 0.016, 0.009], "
        "\"barrel\": [0.006, 0.006, 0.008], \"cup\": [0.07, 0.11, 0.2], \"lit_deg\": 110, "
        "\"lit_share\": 0.6, \"glint\": 2.0, \"leak\": 0.35},\n",
        between(w, 0.22, 0.42), between(w, 0.1, 0.25));
}

static void put_veil_eyepiece(writer *w) {
    put(w,
        "  \"colour\": [1.0, 0.6, 0.08], \"halo\": {\"share\": %.2f, \"radius_sr\": 1.0}, "
        "\"bloom\": {\"share\": 0.05, \"radius_px\": 3},\n"
        "  \"noise\": {\"full_well_e\": 20000, \"read_e\": 30, \"grain_px\": 1.1},\n"
        "  \"tone\": {\"knee\": 0.7, \"contrast\": 0.2}, \"sharpen\": {\"amount\": 0.4, "
        "\"radius_px\": 1.2},\n"
        "  \"eyepiece\": {\"x_sr\": 0.05, \"y_sr\": 0.2, \"stop_sr\": 1.75, \"stop_soft_sr\": "
        "0.05, \"cup_sr\": 2.1, \"cup_soft_sr\": 1.2, \"field\": [0.13, 0.1, 0.09], \"barrel\": "
        "[0.01, 0.015, 0.03], \"cup\": [0.02, 0.06, 0.2], \"lit_deg\": 100, \"lit_share\": 0.4, "
        "\"glint\": 1, \"leak\": 0.4},\n",
        between(w, 0.2, 0.3));
}

static void put_bare_phone(writer *w) {
    put(w,
        "  \"colour\": [1.0, 0.62, 0.2], \"halo\": {\"share\": %.2f, \"radius_sr\": 1.8},\n"
        "  \"noise\": {\"full_well_e\": 15000, \"read_e\": 30, \"grain_px\": 1.3},\n"
        "  \"sharpen\": {\"amount\": %.2f, \"radius_px\": %.2f},\n",
        between(w, 0.04, 0.12), between(w, 0.3, 1.2), between(w, 1.0, 1.5));
    if (chance(w, 0.5))
        put(w, "  \"tone\": {\"knee\": 0.6, \"contrast\": 0.5, \"gamma\": 0.9},\n");
    else
        put(w, "  \"distortion\": {\"share\": -0.003}, \"vignette\": {\"amount\": 0.3},\n");
}

/* On the lens or the sensor: it stays put while the Sun moves in the picture. */
static void put_dust(writer *w, double middle_x, double middle_y, double reach_px) {
    size_t count = 2 + gsl_rng_uniform_int(w->rng, 3);
    put(w, "  \"dust\": [");
    for (size_t i = 0; i < count; i++)
        put(w, "%s{\"x_px\": %.1f, \"y_px\": %.1f, \"radius_px\": %.1f, \"depth\": %.2f}",
            i > 0 ? ", " : "", middle_x + between(w, -reach_px, reach_px),
            middle_y + between(w, -reach_px, reach_px), between(w, 4.0, 9.0), between(w, 0.2, 0.5));
    put(w, "],\n");
}

static void put_phone(writer *w) {
    const double middle_x = 499.5, middle_y = 666.0, half_width = 490.0, scatter = 0.1;
    double radius_px = between(w, 278.0, 409.0); /* with its scatter 250 to 450 */
    size_t look = gsl_rng_uniform_int(w->rng, 3);
    put(w, "\"defaults\": {\n  \"width\": 1000, \"height\": 1333, \"sun_r_px\": 300, "
           "\"granulation\": {\"rms\": 0.04},\n");
    if (look == 0)
        put_demo_eyepiece(w);
    else if (look == 1)
        put_veil_eyepiece(w);
    else
        put_bare_phone(w);
    if (chance(w, 0.4))
        put_dust(w, middle_x, middle_y, 0.7 * radius_px);
    put_camera(w, 75 + (int)gsl_rng_uniform_int(w->rng, 16));
    put(w, "  \"exposure\": 0.8},\n");
    double room_px = half_width - (1.0 + scatter) * radius_px;
    put_frames(w, radius_px, scatter, middle_x, middle_y, fmin(room_px, 120.0),
               between(w, 1.8, 2.5), look < 2 ? eyepiece_extras : phone_extras);
}

char *spot_scene_text(spot_kind kind, size_t number) {
    writer w = {malloc(TEXT_SIZE), 0, gsl_rng_alloc(gsl_rng_taus)};
    if (w.text != NULL && w.rng != NULL) {
        gsl_rng_set(w.rng, 1000 * ((unsigned long)kind + 1) + number);
        put(&w, "{\"story\": \"Invented.\", \"seed\": %lu,\n",
            1000 * ((unsigned long)kind + 1) + number);
        put_eclipse(&w);
        put_spots(&w);
        if (kind == SPOT_CLEAN)
            put_clean(&w);
        else
            put_phone(&w);
        put(&w, "}\n");
    } else {
        free(w.text);
        w.text = NULL;
    }
    if (w.rng != NULL)
        gsl_rng_free(w.rng);
    return w.text;
}
