/*
 * command_predict.c - twolimb predict: local circumstances for a place and a day.
 */
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "command.h"
#include "command_predict.h"

static const char help[] =
    "usage: twolimb predict --site LAT,LON[,HEIGHT] --date YYYY-MM-DD [--zone +HH:MM] [--json]\n"
    "\n"
    "When the Moon touches, covers and leaves the Sun as seen from one place, 1950 to 2100.\n"
    "\n"
    "    --site LAT,LON[,HEIGHT]  degrees, north and east positive; metres (WGS84)\n"
    "    --date YYYY-MM-DD        the day at that place\n"
    "    --zone +HH:MM            show times in this zone too, and take the day in it\n"
    "    --json                   for programs: times UTC, angles degrees\n"
    "    -h, --help               this text\n"
    "\n"
    "PA: from celestial north through east; from zenith: the same point, counted from the top.\n"
    "Altitudes are without refraction. Predicted contacts hold for a smooth lunar limb: its\n"
    "valleys and mountains move the real C2 and C3 by up to some seconds.\n"
    "Exit status: 0 an eclipse can be seen; 2 none that day; 64 wrong use.\n"
    "\n"
    "CAUTION. The Sun blinds without warning or pain. Filter on the FRONT of the optics, never\n"
    "one at the eyepiece; viewers to ISO 12312-2 for eyes; never leave a projecting telescope\n"
    "alone; filters off only inside totality. Follow local rules and qualified advice.\n";

enum { OPTION_SITE = TL_OPTION_LONG, OPTION_DATE, OPTION_ZONE, OPTION_JSON };

typedef struct predict_request {
    tl_prediction asked;
    bool has_site, has_date, json;
} predict_request;

static int read_option(int option, const char *value, predict_request *request) {
    switch (option) {
    case OPTION_SITE:
        if (tl_site_parse(value, &request->asked.site) != TL_OK)
            return tl_command_fail(TL_EXIT_USAGE,
                                   "--site \"%s\" is not a place; write latitude,longitude in "
                                   "degrees, north and east positive, such as 48.2,-16.4 or "
                                   "48.2,-16.4,350 with a height in metres.",
                                   value);
        request->has_site = true;
        return TL_EXIT_FINE;
    case OPTION_DATE:
        if (tl_date_parse(value, &request->asked.date_s) != TL_OK)
            return tl_command_fail(TL_EXIT_USAGE,
                                   "--date \"%s\" is not a day; write YYYY-MM-DD, such as "
                                   "2026-08-12.",
                                   value);
        request->has_date = true;
        return TL_EXIT_FINE;
    case OPTION_ZONE:
        if (tl_zone_parse(value, &request->asked.zone_minutes) != TL_OK)
            return tl_command_fail(TL_EXIT_USAGE,
                                   "--zone \"%s\" is not a zone; write hours and minutes ahead of "
                                   "UTC, such as +02:00 or -05:00.",
                                   value);
        request->asked.zone_given = true;
        return TL_EXIT_FINE;
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
        {"zone", required_argument, NULL, OPTION_ZONE},
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
        int status = read_option(c, optarg, request);
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
    if (!request->has_date)
        return tl_command_fail(TL_EXIT_USAGE, "predict needs a day: --date YYYY-MM-DD.");
    *done = false;
    return TL_EXIT_FINE;
}

static double start_of_day(double t_s) {
    return floor(t_s / TL_DAY_S) * TL_DAY_S;
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

static bool any_seen(const tl_circumstances *eclipse) {
    return eclipse->contact[TL_C1].sun_up || eclipse->contact[TL_C4].sun_up ||
           eclipse->has_sunrise || eclipse->has_sunset;
}

/* When most of the Sun is seen covered: maximum, or the sunrise or sunset that cuts it off. */
static tl_status find_greatest(tl_prediction *prediction) {
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
        tl_status status = tl_sky_at(&prediction->site, candidate[i].t_utc_s, NULL, &sky);
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
    tl_status status = tl_sky_nearest_eclipse(&prediction->site, prediction->date_s, NULL, &day_s);
    if (status == TL_OK)
        status = tl_sky_circumstances(&prediction->site, day_s, NULL, &prediction->nearest);
    prediction->has_nearest = status == TL_OK;
    return status == TL_ERR_NO_ECLIPSE ? TL_OK : status;
}

static tl_status predict(tl_prediction *prediction) {
    tl_sky noon;
    tl_status status =
        tl_sky_at(&prediction->site, prediction->date_s + TL_DAY_S / 2.0, NULL, &noon);
    if (status != TL_OK)
        return status;
    prediction->deltat_s = noon.deltat_s;
    tl_circumstances eclipse;
    status = tl_sky_circumstances(&prediction->site, prediction->date_s, NULL, &eclipse);
    if (status == TL_ERR_NO_ECLIPSE)
        return find_nearest(NULL, prediction);
    if (status != TL_OK)
        return status;
    bool seen = any_seen(&eclipse);
    if (!on_the_day(prediction, eclipse.contact[TL_MAX].t_utc_s))
        return find_nearest(seen ? &eclipse : NULL, prediction);
    prediction->circumstances = eclipse;
    prediction->visible = seen;
    prediction->below_horizon = !seen;
    return seen ? find_greatest(prediction) : find_nearest(NULL, prediction);
}

int tl_command_predict(int argc, char **argv) {
    predict_request request = {.json = false};
    bool done = false;
    int exit_status = read_arguments(argc, argv, &request, &done);
    if (done)
        return exit_status;
    tl_status status = predict(&request.asked);
    if (status == TL_OK && request.json)
        status = tl_predict_print_json(&request.asked);
    else if (status == TL_OK)
        tl_predict_print_text(&request.asked);
    if (status != TL_OK)
        return tl_command_fail_status(status, "predict");
    return tl_command_finish(request.asked.visible ? TL_EXIT_FINE : TL_EXIT_NOTHING);
}
