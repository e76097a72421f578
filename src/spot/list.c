/*
 * list.c - sunspots from a user's table.
 */
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base_internal.h"
#include "spot/place_internal.h"

/* The Sun's mean radius, Auwers 1891, as in tl_sky_options. */
static const double mean_radius_arcsec = 959.63;
/* What a list seldom says: common practice, no source. A small spot's penumbra, known by half;
 * a size given, by a fifth; a place, to half a degree, which is the last digit of most lists. */
static const double usual_radius_arcsec = 10.0, usual_sigma_deg = 0.5;
static const double unsaid_radius_share = 0.5, said_radius_share = 0.2;
/* The largest groups reach some 100 arcsec: common practice, no source. Nothing is known exactly.
 */
static const double least_radius_arcsec = 0.1, most_radius_arcsec = 200.0;
static const double least_sigma_deg = 0.001, most_sigma_deg = 90.0;

enum {
    COLUMN_NAME,
    COLUMN_TIME,
    COLUMN_LATITUDE,
    COLUMN_CARRINGTON,
    COLUMN_LONGITUDE,
    COLUMN_PLACE,
    COLUMN_RADIUS,
    COLUMN_SIGMA,
    COLUMN_KINDS
};
static const char *const column_name[COLUMN_KINDS] = {
    "name",          "time",  "latitude_deg",  "carrington_deg",
    "longitude_deg", "place", "radius_arcsec", "sigma_deg"};

typedef struct reading {
    tl_spot_list list;
    size_t room;
    int column[COLUMN_KINDS];
} reading;

static bool read_header(const tl_base_row *row, int column[COLUMN_KINDS]) {
    for (int kind = 0; kind < COLUMN_KINDS; kind++) {
        column[kind] = tl_base_column(row, column_name[kind]);
        if (column[kind] == TL_BASE_COLUMN_TWICE)
            return false;
    }
    const bool by_degrees = column[COLUMN_LATITUDE] >= 0 &&
                            (column[COLUMN_CARRINGTON] >= 0 || column[COLUMN_LONGITUDE] >= 0);
    return column[COLUMN_NAME] >= 0 && column[COLUMN_TIME] >= 0 &&
           (by_degrees || column[COLUMN_PLACE] >= 0);
}

/* A date, or a date and time to the minute or nearer, in UTC unless it says otherwise. */
static bool parse_time(const char *text, double *t_utc_s) {
    double t_s, unit_s;
    int hour, minute, zone_minutes = 0;
    const char *p = text;
    if (!tl_base_read_moment(&p, &t_s, &unit_s)) {
        p = text;
        if (!tl_base_read_date(&p, '-', &t_s))
            return false;
        if (*p == '\0') {
            *t_utc_s = t_s;
            return true;
        }
        if (*p != 'T' && *p != ' ')
            return false;
        p++;
        if (!tl_base_read_digits(&p, 2, &hour) || *p++ != ':' ||
            !tl_base_read_digits(&p, 2, &minute) || hour > 23 || minute > 59)
            return false;
        t_s += hour * 3600.0 + minute * 60.0;
    }
    tl_base_read_zone(&p, &zone_minutes);
    if (*p != '\0')
        return false;
    *t_utc_s = t_s - zone_minutes * 60.0;
    return true;
}

/* A number from `least` to `most`; an empty cell leaves `*value` alone. */
static bool parse_number(const char *text, double least, double most, double *value) {
    double read;
    if (*text == '\0')
        return true;
    if (!tl_base_read_decimal(&text, &read) || *text != '\0' || read < least || read > most)
        return false;
    *value = read;
    return true;
}

/* One of two letters, then a number: "N14". `first` is the positive one. */
static bool read_half(const char **text, const char *first, const char *second, double *degrees) {
    const bool positive = **text != '\0' && strchr(first, **text) != NULL;
    if (!positive && (**text == '\0' || strchr(second, **text) == NULL))
        return false;
    ++*text;
    double size;
    if (**text == '-' || **text == '+' || !tl_base_read_decimal(text, &size))
        return false;
    *degrees = positive ? size : -size;
    return true;
}

/* "N14W24", "N14.5 W24.3": latitude and longitude from the central meridian. */
static bool parse_place(const char *text, double *latitude_deg, double *longitude_deg) {
    double latitude, longitude;
    if (!read_half(&text, "Nn", "Ss", &latitude))
        return false;
    text += strspn(text, " ");
    if (!read_half(&text, "Ww", "Ee", &longitude) || *text != '\0' || fabs(latitude) > 90.0 ||
        fabs(longitude) > 180.0)
        return false;
    *latitude_deg = latitude;
    *longitude_deg = longitude;
    return true;
}

/* A place on the Sun as a row gives it. */
typedef struct row_place {
    double latitude_deg, longitude_deg;
    bool carrington; /* the longitude is Carrington's, else from the central meridian */
} row_place;

/* One way of giving the place in each row, though rows may differ. */
static bool read_place(const tl_base_row *row, const int column[COLUMN_KINDS], row_place *place) {
    const char *latitude = tl_base_cell(row, column[COLUMN_LATITUDE]);
    const char *carrington = tl_base_cell(row, column[COLUMN_CARRINGTON]);
    const char *longitude = tl_base_cell(row, column[COLUMN_LONGITUDE]);
    const char *short_form = tl_base_cell(row, column[COLUMN_PLACE]);
    *place = (row_place){0.0, 0.0, *carrington != '\0'};
    if (*short_form != '\0')
        return *latitude == '\0' && *carrington == '\0' && *longitude == '\0' &&
               parse_place(short_form, &place->latitude_deg, &place->longitude_deg);
    if (*latitude == '\0' || (*carrington == '\0') == (*longitude == '\0') ||
        !parse_number(latitude, -90.0, 90.0, &place->latitude_deg))
        return false;
    return place->carrington ? parse_number(carrington, 0.0, 360.0, &place->longitude_deg)
                             : parse_number(longitude, -180.0, 180.0, &place->longitude_deg);
}

static tl_status add(reading *r, const tl_spot *spot) {
    if (r->list.count == r->room) {
        const size_t room = r->room > 0 ? 2 * r->room : 16;
        tl_spot *grown = realloc(r->list.spot, room * sizeof *grown);
        if (grown == NULL)
            return TL_ERR_MEMORY;
        r->list.spot = grown;
        r->room = room;
    }
    r->list.spot[r->list.count++] = *spot;
    return TL_OK;
}

/* The spot at its own time, seen from the Earth's centre: from a site a place differs by the
 * Sun's parallax, 0.0024 degrees. */
static tl_status place_spot(const row_place *place, double t_utc_s, tl_spot *spot) {
    tl_sky sky;
    const tl_status status = tl_sky_at_geocentre(t_utc_s, NULL, &sky);
    if (status != TL_OK)
        return status;
    spot->epoch_utc_s = t_utc_s;
    spot->latitude_rad = place->latitude_deg * TL_DEG;
    spot->carrington_rad = place->longitude_deg * TL_DEG + (place->carrington ? 0.0 : sky.l0_rad);
    tl_spot_point(&sky, spot->latitude_rad, spot->carrington_rad, &spot->east_sr, &spot->north_sr);
    tl_spot_at(spot, t_utc_s, &sky, spot);
    return TL_OK;
}

/* Bytes of the UTF-8 sequence at `text` (RFC 3629, section 4); 0: none, or a control character. */
static size_t letter_bytes(const unsigned char *text) {
    const unsigned char lead = text[0];
    if (lead < 0x80)
        return iscntrl(lead) ? 0 : 1;
    const size_t bytes = lead >= 0xC2 && lead < 0xE0    ? 2
                         : (lead & 0xF0) == 0xE0        ? 3
                         : lead >= 0xF0 && lead <= 0xF4 ? 4
                                                        : 0;
    for (size_t i = 1; i < bytes; i++)
        if ((text[i] & 0xC0) != 0x80)
            return 0;
    const bool too_long = (lead == 0xE0 && text[1] < 0xA0) || (lead == 0xF0 && text[1] < 0x90);
    const bool surrogate = lead == 0xED && text[1] >= 0xA0;
    const bool beyond = lead == 0xF4 && text[1] >= 0x90;
    const bool control = lead == 0xC2 && text[1] < 0xA0;
    return too_long || surrogate || beyond || control ? 0 : bytes;
}

/* Short enough, not empty, and without what would upset a terminal or a reader of JSON. */
static bool valid_name(const char *name) {
    const unsigned char *text = (const unsigned char *)name;
    while (*text != '\0') {
        const size_t bytes = letter_bytes(text);
        if (bytes == 0)
            return false;
        text += bytes;
    }
    return *name != '\0' && strlen(name) < TL_SPOT_NAME_SIZE;
}

static tl_status read_row(void *context, const tl_base_row *row, bool header) {
    reading *r = context;
    if (header)
        return read_header(row, r->column) ? TL_OK : TL_ERR_FORMAT;
    const char *name = tl_base_cell(row, r->column[COLUMN_NAME]);
    const char *radius = tl_base_cell(row, r->column[COLUMN_RADIUS]);
    double t_utc_s, radius_arcsec = usual_radius_arcsec, sigma_deg = usual_sigma_deg;
    row_place place;
    if (!valid_name(name) || !parse_time(tl_base_cell(row, r->column[COLUMN_TIME]), &t_utc_s) ||
        !read_place(row, r->column, &place) ||
        !parse_number(radius, least_radius_arcsec, most_radius_arcsec, &radius_arcsec) ||
        !parse_number(tl_base_cell(row, r->column[COLUMN_SIGMA]), least_sigma_deg, most_sigma_deg,
                      &sigma_deg))
        return TL_ERR_FORMAT;
    tl_spot spot = {.from_list = true};
    strcpy(spot.name, name);
    spot.radius_sr = radius_arcsec / mean_radius_arcsec;
    spot.radius_sigma_sr =
        spot.radius_sr * (*radius != '\0' ? said_radius_share : unsaid_radius_share);
    spot.latitude_sigma_rad = spot.longitude_sigma_rad = sigma_deg * TL_DEG;
    const tl_status status = place_spot(&place, t_utc_s, &spot);
    return status == TL_OK ? add(r, &spot) : status;
}

tl_status tl_spot_list_read(const char *path, int *line, tl_spot_list *list) {
    reading r = {0};
    const tl_status status = tl_base_read_rows(path, line, read_row, &r);
    if (status == TL_OK)
        *list = r.list;
    else
        tl_spot_list_free(&r.list);
    return status;
}

void tl_spot_list_free(tl_spot_list *list) {
    if (list == NULL)
        return;
    free(list->spot);
    *list = (tl_spot_list){0};
}

bool tl_spot_list_nearest(const tl_spot_list *list, size_t row, double t_utc_s) {
    const tl_spot *spot = &list->spot[row];
    const double apart_s = fabs(spot->epoch_utc_s - t_utc_s);
    for (size_t i = 0; i < list->count; i++) {
        const double other_s = fabs(list->spot[i].epoch_utc_s - t_utc_s);
        if (i != row && strcmp(list->spot[i].name, spot->name) == 0 &&
            (other_s < apart_s || (other_s <= apart_s && i < row)))
            return false;
    }
    return true;
}
