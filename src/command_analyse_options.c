/*
 * command_analyse_options.c - the options of "twolimb analyse", and their help.
 */
#include <errno.h>
#include <getopt.h>
#include <stdlib.h>
#include <string.h>

#include "command_analyse.h"

const char tl_command_analyse_help[] =
    "twolimb analyse PICTURES... [options]\n"
    "\n"
    "Measures the Sun and the Moon in every picture, finds when each was really taken, and\n"
    "writes a page, a talk, animations, plots and tables. PICTURES are JPEG, PNG, TIFF or HEIC\n"
    "files, or folders of them. Nothing is needed but the pictures if the camera recorded where\n"
    "it was.\n"
    "\n"
    "  -o, --output FOLDER       where the results go (twolimb-out in the current folder); an\n"
    "                            earlier result is replaced, any other folder is left alone\n"
    "  --site LAT,LON[,HEIGHT]   where the camera was: degrees, north and east positive, metres\n"
    "                            (as the pictures say)\n"
    "  --site unknown            estimate it, trusting the camera's clock; needs the zone\n"
    "  --zone +HH:MM             what the camera's clock was set to, as local time minus UTC\n"
    "                            (as the pictures say, else solved)\n"
    "  --date YYYY-MM-DD         the local day, if the camera's date is wrong or missing\n"
    "  --holding HOW             how the camera was held: free, fixed (on an equatorial mount),\n"
    "                            altaz, auto (decided by the data)\n"
    "  --mirror HOW              pictures mirrored, by a star diagonal or in projection: yes,\n"
    "                            no, auto (decided by the data)\n"
    "  --times FILE.csv          camera times that replace those in the pictures: columns file\n"
    "                            and time (2026-08-12T19:14:03.5), perhaps sigma_s and zone;\n"
    "                            the folder before the name where two have the same\n"
    "  --spots FILE.csv          sunspots known beforehand, as \"twolimb predict\" takes them: "
    "names\n"
    "                            for those found, times for those not found\n"
    "  --exclude FILE            a picture that is measured and shown but takes no part in clock "
    "and\n"
    "                            path: its name, or path; as often as needed\n"
    "  -r, --recursive           look into the folders in folders too, not through links\n"
    "  --keep-copies             use every file; without this, of the same picture saved twice\n"
    "                            only the better one takes part\n"
    "  --jobs N                  pictures worked on at once (one per processor)\n"
    "  --tables-only             write no pages, plots and pictures: only series.csv, frames.csv,\n"
    "                            spots.csv and sequence.json\n"
    "  --quiet                   print errors only\n"
    "  -h, --help                this text\n"
    "\n"
    "Of a folder the files ending in jpg, jpeg, jpe, png, tif, tiff, heic, heif, hif or avif\n"
    "are taken, in the order of their names; what twolimb itself wrote is not.\n"
    "Times come from the table, else from EXIF, else from the file names.\n"
    "\n"
    "Stopped with Ctrl-C it leaves nothing half-made, and an earlier result as it was.\n"
    "\n"
    "Exit status: 0 all pictures measured; 1 some; 2 none; 64 wrong use; 65 FILE.csv breaks its\n"
    "rules; 66 an input is missing, or a folder without pictures; 71 no memory; 73 the output\n"
    "cannot be created; 74 it cannot be written to its end.\n"
    "\n"
    "CAUTION. The Sun blinds without warning or pain. Put the filter on the FRONT of the\n"
    "optics, made for the purpose and firmly held; never use one at the eyepiece. For eyes:\n"
    "viewers to ISO 12312-2, never behind a telescope. Never leave a projecting telescope\n"
    "alone. Filters come off only inside totality. Follow local rules and qualified advice.\n";

enum { JOBS_MAX = 64 };

enum {
    OPTION_SITE = TL_OPTION_LONG,
    OPTION_ZONE,
    OPTION_DATE,
    OPTION_HOLDING,
    OPTION_MIRROR,
    OPTION_TIMES,
    OPTION_SPOTS,
    OPTION_EXCLUDE,
    OPTION_KEEP,
    OPTION_JOBS,
    OPTION_TABLES_ONLY,
    OPTION_QUIET,
};

static const struct option long_options[] = {
    {"output", required_argument, NULL, 'o'},
    {"site", required_argument, NULL, OPTION_SITE},
    {"zone", required_argument, NULL, OPTION_ZONE},
    {"date", required_argument, NULL, OPTION_DATE},
    {"holding", required_argument, NULL, OPTION_HOLDING},
    {"mirror", required_argument, NULL, OPTION_MIRROR},
    {"times", required_argument, NULL, OPTION_TIMES},
    {"spots", required_argument, NULL, OPTION_SPOTS},
    {"exclude", required_argument, NULL, OPTION_EXCLUDE},
    {"recursive", no_argument, NULL, 'r'},
    {"keep-copies", no_argument, NULL, OPTION_KEEP},
    {"jobs", required_argument, NULL, OPTION_JOBS},
    {"tables-only", no_argument, NULL, OPTION_TABLES_ONLY},
    {"quiet", no_argument, NULL, OPTION_QUIET},
    {"help", no_argument, NULL, 'h'},
    {NULL, 0, NULL, 0},
};

/* The position of `text` among `words`; -1 if it is none of them. */
static int choose(const char *text, const char *const *words, int count) {
    for (int i = 0; i < count; i++)
        if (strcmp(text, words[i]) == 0)
            return i;
    return -1;
}

static int read_site(const char *text, tl_analyse_request *r) {
    r->analyse.track.find_site = strcmp(text, "unknown") == 0;
    if (r->analyse.track.find_site) {
        r->analyse.track.site = (tl_site){.source = TL_SITE_NONE};
        return TL_EXIT_FINE;
    }
    if (tl_site_parse(text, &r->analyse.track.site) == TL_OK)
        return TL_EXIT_FINE;
    return tl_command_fail(TL_EXIT_USAGE,
                           "--site \"%s\" is not a place; write LAT,LON or LAT,LON,HEIGHT in "
                           "degrees and metres, like 41.0,-83.4,250, or unknown.",
                           text);
}

static int read_zone(const char *text, tl_analyse_request *r) {
    if (tl_zone_parse(text, &r->analyse.track.zone_minutes) != TL_OK)
        return tl_command_fail(TL_EXIT_USAGE,
                               "--zone \"%s\" is not a zone; write +HH:MM or -HH:MM, like +02:00, "
                               "with daylight saving.",
                               text);
    r->analyse.track.zone_given = true;
    return TL_EXIT_FINE;
}

static int read_date(const char *text, tl_analyse_request *r) {
    if (tl_date_parse(text, &r->analyse.track.date_utc_s) != TL_OK)
        return tl_command_fail(
            TL_EXIT_USAGE, "--date \"%s\" is not a day; write YYYY-MM-DD, like 2026-08-12.", text);
    r->analyse.track.date_given = true;
    return TL_EXIT_FINE;
}

static int read_holding(const char *text, tl_analyse_request *r) {
    const int chosen = choose(text, tl_holding_name, 4);
    if (chosen < 0)
        return tl_command_fail(TL_EXIT_USAGE,
                               "--holding \"%s\" is not known; choose auto, free, fixed or altaz.",
                               text);
    r->analyse.track.holding = (tl_holding)chosen;
    return TL_EXIT_FINE;
}

static int read_mirror(const char *text, tl_analyse_request *r) {
    static const char *const words[] = {"auto", "yes", "no"};
    static const tl_mirror meaning[] = {TL_MIRROR_AUTO, TL_MIRROR_YES, TL_MIRROR_NO};
    const int chosen = choose(text, words, 3);
    if (chosen < 0)
        return tl_command_fail(TL_EXIT_USAGE,
                               "--mirror \"%s\" is not known; choose auto, yes or no.", text);
    r->analyse.track.mirror = meaning[chosen];
    return TL_EXIT_FINE;
}

static int read_jobs(const char *text, tl_analyse_request *r) {
    char *end;
    errno = 0;
    const long jobs = strtol(text, &end, 10);
    if (end == text || *end != '\0' || errno != 0 || jobs < 1 || jobs > JOBS_MAX)
        return tl_command_fail(TL_EXIT_USAGE,
                               "--jobs \"%s\" is not a number from 1 to %d; leave it out for one "
                               "per processor.",
                               text, JOBS_MAX);
    r->analyse.jobs = (int)jobs;
    return TL_EXIT_FINE;
}

static int read_folder(const char *text, tl_analyse_request *r) {
    if (*text == '\0')
        return tl_command_fail(TL_EXIT_USAGE, "-o needs the name of a folder; leave it out for "
                                              "twolimb-out in the current folder.");
    r->folder = text;
    return TL_EXIT_FINE;
}

static int read_option(int option, const char *value, char **argv, tl_analyse_request *r) {
    switch (option) {
    case 'o':
        return read_folder(value, r);
    case OPTION_SITE:
        return read_site(value, r);
    case OPTION_ZONE:
        return read_zone(value, r);
    case OPTION_DATE:
        return read_date(value, r);
    case OPTION_HOLDING:
        return read_holding(value, r);
    case OPTION_MIRROR:
        return read_mirror(value, r);
    case OPTION_JOBS:
        return read_jobs(value, r);
    case OPTION_TIMES:
        r->times_path = r->analyse.times_name = value;
        return TL_EXIT_FINE;
    case OPTION_SPOTS:
        r->spots_path = r->analyse.spots_name = value;
        return TL_EXIT_FINE;
    case OPTION_EXCLUDE:
        r->exclude[r->analyse.exclude_count++] = value;
        return TL_EXIT_FINE;
    case OPTION_TABLES_ONLY:
        r->scope = TL_REPORT_TABLES;
        return TL_EXIT_FINE;
    case 'r':
        r->walk.recursive = true;
        return TL_EXIT_FINE;
    case OPTION_KEEP:
        r->analyse.keep_copies = true;
        return TL_EXIT_FINE;
    case OPTION_QUIET:
        r->quiet = true;
        return TL_EXIT_FINE;
    case 'h':
        r->help = true;
        return TL_EXIT_FINE;
    default:
        return tl_command_bad_option(option, argv);
    }
}

int tl_command_read_analyse(int argc, char **argv, tl_analyse_request *r) {
    int option;
    opterr = 0;
    while ((option = getopt_long(argc, argv, ":o:rh", long_options, NULL)) != -1) {
        const int exit_status = read_option(option, optarg, argv, r);
        if (exit_status != TL_EXIT_FINE || r->help)
            return exit_status;
    }
    r->pictures = (const char *const *)(argv + optind);
    r->picture_count = (size_t)(argc - optind);
    if (r->picture_count == 0)
        return tl_command_fail(TL_EXIT_USAGE, "There are no pictures to work on; name them, or the "
                                              "folder they are in, after \"analyse\".");
    return TL_EXIT_FINE;
}
