/*
 * command_predict.c - twolimb predict: local circumstances for a place and a day.
 */
#include <ctype.h>
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "command.h"
#include "command_predict.h"

static const char help[] =
    "usage: twolimb predict --site LAT,LON[,HEIGHT] --date YYYY-MM-DD [--zone +HH:MM] [--json]\n"
    "                        [--spots FILE.csv]\n"
    "       twolimb predict --site LAT,LON[,HEIGHT] --next [N] [--date YYYY-MM-DD] [...]\n"
    "\n"
    "When the Moon touches, covers and leaves the Sun as seen from one place, 1950 to 2100.\n"
    "\n"
    "    --site LAT,LON[,HEIGHT]  degrees, north and east positive; metres (WGS84)\n"
    "    --date YYYY-MM-DD        the day at that place\n"
    "    --next [N]               list the next N eclipses (5) to be seen there, from that day\n"
    "                             or else from today on\n"
    "    --zone +HH:MM            show times in this zone too, and take the day in it\n"
    "    --spots FILE.csv         a list of sunspots: when the Moon covers and uncovers each, "
    "that\n"
    "                             day. Columns name, time (UTC) and place (N14W24), or\n"
    "                             latitude_deg with carrington_deg or longitude_deg; more\n"
    "                             in docs/predict.md\n"
    "    --sun-radius ARCSEC      the Sun's radius at 1 au: 959.63 (Auwers 1891), or 959.95\n"
    "                             (eclipse of 2017), which is nearer the truth for C2 and C3\n"
    "    --moon-k K               the Moon's radius in Earth's: 0.2725076 (mean limb), or\n"
    "                             0.272281 (valleys) for C2 and C3 of a total eclipse\n"
    "    --json                   for programs: times UTC, angles degrees\n"
    "    -h, --help               this text\n"
    "\n"
    "PA: from celestial north through east; from zenith: the same point, counted from the top.\n"
    "Altitudes are without refraction. Predicted contacts hold for a smooth lunar limb: its\n"
    "valleys and mountains move the real C2 and C3 by up to some seconds.\n"
    "Exit status: 0 an eclipse can be seen; 2 none; 64 wrong use.\n"
    "\n"
    "CAUTION. The Sun blinds without warning or pain. Filter on the FRONT of the optics, never\n"
    "one at the eyepiece; viewers to ISO 12312-2 for eyes; never leave a projecting telescope\n"
    "alone; filters off only inside totality. Follow local rules and qualified advice.\n";

enum {
    OPTION_SITE = TL_OPTION_LONG,
    OPTION_DATE,
    OPTION_NEXT,
    OPTION_ZONE,
    OPTION_SUN_RADIUS,
    OPTION_MOON_K,
    OPTION_SPOTS,
    OPTION_JSON
};
enum { NEXT_DEFAULT = 5, NEXT_MOST = 999 };

typedef struct predict_request {
    tl_prediction asked;
    bool has_site, has_date, json;
    const char *spots_path; /* or NULL */
    size_t next;            /* 0: not asked for */
} predict_request;

/* A whole number of eclipses, 1 to NEXT_MOST; 0 if it is not that. */
static size_t read_count(const char *value) {
    char *end = NULL;
    long count = strtol(value, &end, 10);
    return isdigit((unsigned char)value[0]) && *end == '\0' && count >= 1 && count <= NEXT_MOST
               ? (size_t)count
               : 0;
}

static bool read_number(const char *value, double low, double high, double *number) {
    char *end = NULL;
    double read = strtod(value, &end);
    if (end == value || *end != '\0' || !(read >= low && read <= high))
        return false;
    *number = read;
    return true;
}

static int read_option(int option, const char *value, predict_request *request) {
    tl_prediction *asked = &request->asked;
    switch (option) {
    case OPTION_SITE:
        if (tl_site_parse(value, &asked->site) != TL_OK)
            return tl_command_fail(TL_EXIT_USAGE,
                                   "--site \"%s\" is not a place; write latitude,longitude in "
                                   "degrees, north and east positive, such as 48.2,-16.4 or "
                                   "48.2,-16.4,350 with a height in metres.",
                                   value);
        request->has_site = true;
        return TL_EXIT_FINE;
    case OPTION_DATE:
        if (tl_date_parse(value, &asked->date_s) != TL_OK)
            return tl_command_fail(TL_EXIT_USAGE,
                                   "--date \"%s\" is not a day; write YYYY-MM-DD, such as "
                                   "2026-08-12.",
                                   value);
        request->has_date = true;
        return TL_EXIT_FINE;
    case OPTION_NEXT:
        request->next = value != NULL ? read_count(value) : NEXT_DEFAULT;
        return request->next != 0 ? TL_EXIT_FINE
                                  : tl_command_fail(TL_EXIT_USAGE,
                                                    "--next \"%s\" is not a number of eclipses, 1 "
                                                    "to %d.",
                                                    value, NEXT_MOST);
    case OPTION_ZONE:
        if (tl_zone_parse(value, &asked->zone_minutes) != TL_OK)
            return tl_command_fail(TL_EXIT_USAGE,
                                   "--zone \"%s\" is not a zone; write hours and minutes ahead of "
                                   "UTC, such as +02:00 or -05:00.",
                                   value);
        asked->zone_given = true;
        return TL_EXIT_FINE;
    case OPTION_SPOTS:
        request->spots_path = value;
        return TL_EXIT_FINE;
    case OPTION_SUN_RADIUS:
        return read_number(value, 900.0, 1000.0, &asked->options.sun_radius_arcsec)
                   ? TL_EXIT_FINE
                   : tl_command_fail(
                         TL_EXIT_USAGE,
                         "--sun-radius \"%s\" is not the Sun's radius; write seconds of "
                         "arc at 1 au, such as 959.63 or 959.95.",
                         value);
    case OPTION_MOON_K:
        return read_number(value, 0.26, 0.28, &asked->options.moon_k)
                   ? TL_EXIT_FINE
                   : tl_command_fail(
                         TL_EXIT_USAGE,
                         "--moon-k \"%s\" is not the Moon's radius; write it in Earth's "
                         "equatorial radii, such as 0.2725076 or 0.272281.",
                         value);
    default:
        request->json = true;
        return TL_EXIT_FINE;
    }
}

/* Fill the request, or print help; `done` says that the command is over. */
static int read_arguments(int argc, char **argv, predict_request *request, bool *done) {
    static const struct option options[] = {
        {"site", required_argument, NULL, OPTION_SITE},
        {"date", required_argument, NULL, OPTION_DATE},
        {"next", optional_argument, NULL, OPTION_NEXT},
        {"zone", required_argument, NULL, OPTION_ZONE},
        {"sun-radius", required_argument, NULL, OPTION_SUN_RADIUS},
        {"moon-k", required_argument, NULL, OPTION_MOON_K},
        {"spots", required_argument, NULL, OPTION_SPOTS},
        {"json", no_argument, NULL, OPTION_JSON},
        {"help", no_argument, NULL, 'h'},
        {NULL, 0, NULL, 0},
    };
    opterr = 0;
    optind = 1;
    *done = true;
    for (int c = getopt_long(argc, argv, ":h", options, NULL); c != -1;
         c = getopt_long(argc, argv, ":h", options, NULL)) {
        if (c == 'h') {
            fputs(help, stdout);
            return tl_command_finish(TL_EXIT_FINE);
        }
        if (c == '?' || c == ':')
            return tl_command_bad_option(c, argv);
        /* getopt takes the number of an option that may go without one only after a '='. */
        const char *value = optarg;
        if (c == OPTION_NEXT && value == NULL && optind < argc && argv[optind][0] != '-')
            value = argv[optind++];
        int status = read_option(c, value, request);
        if (status != TL_EXIT_FINE)
            return status;
    }
    if (optind < argc)
        return tl_command_fail(TL_EXIT_USAGE,
                               "predict has no use for \"%s\"; see twolimb predict --help.",
                               argv[optind]);
    if (!request->has_site)
        return tl_command_fail(TL_EXIT_USAGE, "predict needs a place: --site LAT,LON in degrees, "
                                              "north and east positive.");
    if (!request->has_date && request->next == 0)
        return tl_command_fail(TL_EXIT_USAGE,
                               "predict needs a day: --date YYYY-MM-DD, or --next for the next "
                               "eclipses there.");
    if (request->spots_path != NULL && request->next != 0)
        return tl_command_fail(TL_EXIT_USAGE, "--spots holds for one day; give that with --date, "
                                              "without --next.");
    *done = false;
    return TL_EXIT_FINE;
}

static double start_of_day(double t_s) {
    return floor(t_s / TL_DAY_S) * TL_DAY_S;
}

void tl_predict_day_text(double t_s, char text[TL_PREDICT_DAY_SIZE]) {
    char moment[TL_TIME_TEXT_SIZE];
    tl_time_text(t_s, 0, "", moment);
    memcpy(text, moment, TL_PREDICT_DAY_SIZE - 1);
    text[TL_PREDICT_DAY_SIZE - 1] = '\0';
}

double tl_predict_day(const tl_prediction *prediction, double t_utc_s) {
    return start_of_day(t_utc_s + (prediction->zone_given ? prediction->zone_minutes * 60.0 : 0.0));
}

/*
 * Whether an instant lies on the day asked for. Without a zone both the UTC day
 * and the day by local mean solar time will do: the user may have meant either.
 */
static bool on_the_day(const tl_prediction *prediction, double t_utc_s) {
    double solar_s = prediction->site.lon_rad / (2.0 * TL_PI) * TL_DAY_S;
    if (tl_predict_day(prediction, t_utc_s) == prediction->date_s)
        return true;
    return !prediction->zone_given && start_of_day(t_utc_s + solar_s) == prediction->date_s;
}

/* When most of the Sun is seen covered: maximum, or the sunrise or sunset that cuts it off. */
tl_status tl_predict_greatest(tl_prediction *prediction) {
    const tl_circumstances *eclipse = &prediction->circumstances;
    const tl_contact *max = &eclipse->contact[TL_MAX];
    const struct {
        bool usable;
        double t_utc_s;
    } candidate[] = {{max->sun_up, max->t_utc_s},
                     {!max->sun_up && eclipse->has_sunrise, eclipse->sunrise_utc_s},
                     {!max->sun_up && eclipse->has_sunset, eclipse->sunset_utc_s}};
    prediction->greatest.magnitude = -1.0;
    for (size_t i = 0; i < sizeof candidate / sizeof candidate[0]; i++) {
        tl_sky sky;
        if (!candidate[i].usable)
            continue;
        tl_status status =
            tl_sky_at(&prediction->site, candidate[i].t_utc_s, &prediction->options, &sky);
        if (status != TL_OK)
            return status;
        if (sky.magnitude > prediction->greatest.magnitude) {
            prediction->greatest = sky;
            prediction->greatest_s = candidate[i].t_utc_s;
        }
    }
    return TL_OK;
}

/* The eclipse of another day. One the evening before or the morning after is the nearest. */
static tl_status find_nearest(const tl_circumstances *beside, tl_prediction *prediction) {
    if (beside != NULL) {
        prediction->nearest = *beside;
        prediction->has_nearest = true;
        return TL_OK;
    }
    double day_s = 0.0;
    tl_status status =
        tl_sky_nearest_eclipse(&prediction->site, prediction->date_s, &prediction->options, &day_s);
    if (status == TL_OK)
        status = tl_sky_circumstances(&prediction->site, day_s, &prediction->options,
                                      &prediction->nearest);
    prediction->has_nearest = status == TL_OK;
    return status == TL_ERR_NO_ECLIPSE ? TL_OK : status;
}

static tl_status predict(tl_prediction *prediction) {
    const tl_site *site = &prediction->site;
    tl_sky noon;
    tl_status status =
        tl_sky_at(site, prediction->date_s + TL_DAY_S / 2.0, &prediction->options, &noon);
    if (status != TL_OK)
        return status;
    prediction->deltat_s = noon.deltat_s;
    tl_circumstances eclipse;
    status = tl_sky_circumstances(site, prediction->date_s, &prediction->options, &eclipse);
    if (status == TL_ERR_NO_ECLIPSE)
        return find_nearest(NULL, prediction);
    if (status != TL_OK)
        return status;
    bool seen = tl_sky_eclipse_seen(&eclipse);
    if (!on_the_day(prediction, eclipse.contact[TL_MAX].t_utc_s))
        return find_nearest(seen ? &eclipse : NULL, prediction);
    prediction->circumstances = eclipse;
    prediction->visible = seen;
    prediction->below_horizon = !seen;
    return seen ? tl_predict_greatest(prediction) : find_nearest(NULL, prediction);
}

/* Predict and print; `any` tells whether there is an eclipse to be seen. `spots`: NULL or a list.
 */
static tl_status answer(predict_request *request, const tl_spot_list *spots, bool *any) {
    tl_prediction *asked = &request->asked;
    if (request->next > 0) {
        if (!request->has_date)
            asked->date_s = tl_predict_day(asked, (double)time(NULL));
        size_t found = 0;
        tl_status status = tl_predict_next(asked, request->next, request->json, &found);
        *any = found > 0;
        return status;
    }
    tl_status status = predict(asked);
    *any = asked->visible;
    asked->has_spots = spots != NULL;
    if (status == TL_OK && asked->has_spots && asked->visible)
        status = tl_predict_spots(spots, asked);
    if (status == TL_OK && request->json)
        return tl_predict_print_json(asked);
    if (status == TL_OK)
        tl_predict_print_text(asked);
    return status;
}

int tl_command_predict(int argc, char **argv) {
    predict_request request = {.asked.options = tl_sky_options_default()};
    bool done = false, any = false;
    int exit_status = read_arguments(argc, argv, &request, &done);
    if (done)
        return exit_status;
    tl_spot_list list = {NULL, 0};
    const bool has_spots = request.spots_path != NULL;
    if (has_spots) {
        exit_status = tl_command_read_spots(request.spots_path, &list);
        if (exit_status != TL_EXIT_FINE)
            return exit_status;
    }
    tl_status status = answer(&request, has_spots ? &list : NULL, &any);
    tl_spot_list_free(&list);
    free(request.asked.spot);
    if (status != TL_OK)
        return tl_command_fail_status(status, "predict");
    return tl_command_finish(any ? TL_EXIT_FINE : TL_EXIT_NOTHING);
}
