/*
 * make accuracy: draws the scenes of fixtures/scenes, measures them and compares with the truth.
 *
 *   tool_accuracy [SCENE.json ...]       default: every scene of fixtures/scenes, and the demo
 *
 * Per scene: the frames whose limbs are drawn, how many were measured, the errors of the circles
 * and of the separation, and whether the errors given are true (error / sigma of width 1). A
 * frame is wrong when it is called measured and is off by more than 5 sigma and 0.01 solar radii.
 * Below it, for scenes with one clock, the whole chain on the series: clock and contacts.
 */
#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "truth.h"
#include "twolimb/analyse.h"
#include "twolimb/simulate.h"

/* What went well or not in one scene; sums over its measured frames. */
typedef struct tally {
    size_t drawn, measured, wrong, refused_rightly, refusals_due;
    size_t count; /* of the arrays */
    double error[TRUTH_ROWS_MAX], normalised[TRUTH_ROWS_MAX];
    double centre2, radius2;
    double worst;
    char worst_file[128];
} tally;

static void compare(const truth_row *truth, const tl_limb *limb, tally *t) {
    bool due = strcmp(truth->expected, "measured") == 0;
    bool measured = limb->status == TL_LIMB_MEASURED;
    t->drawn += due;
    t->refusals_due += strcmp(truth->expected, "refused") == 0;
    t->refused_rightly += strcmp(truth->expected, "refused") == 0 && !measured;
    if (!measured) {
        if (due)
            printf("      not measured: %s (%s)\n", truth->file, limb->reason);
        return;
    }
    if (!due) {
        t->wrong += strcmp(truth->expected, "refused") == 0;
        printf("      measured, expected %s: %s\n", truth->expected, truth->file);
        return;
    }
    double error = limb->separation_sr - truth->separation_sr;
    double normalised = error / limb->separation_sigma_sr;
    t->measured++;
    if (fabs(normalised) > 5 && fabs(error) > 0.01) {
        t->wrong++;
        printf("      WRONG: %s separation off by %+.5f, %.1f sigma\n", truth->file, error,
               normalised);
    }
    if (fabs(error) > fabs(t->worst)) {
        t->worst = error;
        snprintf(t->worst_file, sizeof t->worst_file, "%.127s", truth->file);
    }
    double dx = limb->circle[TL_SUN_X] - truth->circle[TL_SUN_X];
    double dy = limb->circle[TL_SUN_Y] - truth->circle[TL_SUN_Y];
    double dr = limb->circle[TL_SUN_R] - truth->circle[TL_SUN_R];
    t->centre2 += 0.5 * (dx * dx + dy * dy);
    t->radius2 += dr * dr;
    t->error[t->count] = fabs(error);
    t->normalised[t->count++] = fabs(normalised);
}

/* Median of absolute values; for a Gaussian of width 1 it is 0.6745. */
static double median(double *value, size_t count) {
    gsl_sort(value, 1, count);
    return gsl_stats_median_from_sorted_data(value, 1, count);
}

static void print_tally(const char *scene, tally *t) {
    printf("%-12s %5zu %5zu %4zu %3zu/%-3zu", scene, t->drawn, t->measured, t->wrong,
           t->refused_rightly, t->refusals_due);
    if (t->count > 0) {
        double n = (double)t->count, sum = 0;
        for (size_t i = 0; i < t->count; i++)
            sum += t->error[i] * t->error[i];
        double rms = sqrt(sum / n);
        printf("  %7.3f %7.3f  %8.1e %8.1e  %6.2f  %+.1e %s", sqrt(t->centre2 / n),
               sqrt(t->radius2 / n), rms, median(t->error, t->count),
               median(t->normalised, t->count) / 0.6745, t->worst, t->worst_file);
    }
    printf("\n");
}

/* A number inside two nested objects or arrays of truth.json; NAN if it is not there. */
static double json_number(const cJSON *object, const char *name) {
    const cJSON *item = cJSON_GetObjectItem(object, name);
    return cJSON_IsNumber(item) ? item->valuedouble : NAN;
}

/* Do all sets of the scene share the clock of the first? */
static bool one_clock(const cJSON *sets) {
    const cJSON *first = cJSON_GetArrayItem(sets, 0), *set;
    cJSON_ArrayForEach(set, sets) {
        if (json_number(set, "offset_s") != json_number(first, "offset_s") ||
            json_number(set, "zone_minutes") != json_number(first, "zone_minutes"))
            return false;
    }
    return first != NULL;
}

static void print_contact(const cJSON *truth, const tl_track *track, int which) {
    const cJSON *contact =
        cJSON_GetObjectItem(cJSON_GetObjectItem(truth, "contacts"), tl_contact_name[which]);
    const cJSON *utc = cJSON_GetObjectItem(contact, "utc");
    const tl_track_contact *found = &track->contact[which];
    if (!cJSON_IsString(utc) || !found->measured || !track->clock.solved)
        printf("  %s not measured", tl_contact_name[which]);
    else
        printf("  %s %+.2f +- %.2f s", tl_contact_name[which],
               found->measured_utc_s - truth_time(utc->valuestring), found->utc_sigma_s);
}

/* The whole chain on one folder: error of the clock and of the contacts, with their sigma. */
static void measure_series(const char *folder) {
    char path[512];
    const char *bad = NULL;
    tl_file_list files = {0};
    tl_sequence sequence = {0};
    tl_analyse_options options = {.track.sky = tl_sky_options_default()};
    snprintf(path, sizeof path, "%.400s/truth.json", folder);
    cJSON *truth = truth_json(path);
    const cJSON *sets = cJSON_GetObjectItem(truth, "sets");
    const cJSON *site = cJSON_GetObjectItem(truth, "site");
    if (truth && one_clock(sets) && tl_file_list_make(&folder, 1, &bad, &files) == TL_OK) {
        const cJSON *set = cJSON_GetArrayItem(sets, 0);
        options.track.site =
            (tl_site){TL_SITE_GIVEN, json_number(site, "lat_deg") * TL_DEG,
                      json_number(site, "lon_deg") * TL_DEG, json_number(site, "height_m")};
        if (tl_analyse(&files, &options, &sequence) == TL_OK) {
            const tl_clock *clock = &sequence.track.clock;
            double wanted = json_number(set, "offset_s") + 60 * json_number(set, "zone_minutes");
            if (clock->solved)
                printf("      series: clock %+.2f +- %.2f s",
                       clock->offset_s + 60 * clock->zone_minutes - wanted, clock->sigma_s);
            else
                printf("      series: clock not solved");
            print_contact(truth, &sequence.track, TL_C1);
            print_contact(truth, &sequence.track, TL_C4);
            printf("\n");
        }
        tl_sequence_free(&sequence);
    }
    tl_file_list_free(&files);
    cJSON_Delete(truth);
}

static void measure_folder(const char *scene, const char *folder) {
    static truth_row truth[TRUTH_ROWS_MAX];
    tally *t = calloc(1, sizeof *t);
    size_t rows = truth_read(folder, truth);
    for (size_t i = 0; t && i < rows; i++) {
        char path[1024];
        tl_image image = {0};
        tl_frame_info info = {0};
        tl_limb limb = {0};
        snprintf(path, sizeof path, "%.800s/%.127s", folder, truth[i].file);
        if (tl_frame_read(path, &image, &info) != TL_OK ||
            tl_limb_find(&image, &truth[i].prior, &limb) != TL_OK) {
            printf("      cannot be read: %s\n", path);
            continue;
        }
        compare(&truth[i], &limb, t);
        tl_limb_free(&limb);
        tl_image_free(&image);
    }
    if (t)
        print_tally(scene, t);
    free(t);
    measure_series(folder);
}

static void remove_folder(const char *folder) {
    DIR *dir = opendir(folder);
    for (struct dirent *entry; dir && (entry = readdir(dir));) {
        char path[1024];
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        remove(path);
    }
    if (dir)
        closedir(dir);
    remove(folder);
}

static int measure_scene(const char *path) {
    char scratch[] = "/tmp/twolimb-accuracy-XXXXXX", folder[64];
    char message[TL_SIMULATE_MESSAGE_SIZE], name[64];
    const char *slash = strrchr(path, '/');
    snprintf(name, sizeof name, "%s", slash ? slash + 1 : path);
    name[strcspn(name, ".")] = '\0';
    if (!mkdtemp(scratch))
        return 1;
    snprintf(folder, sizeof folder, "%s/out", scratch);
    int failed = tl_simulate(path, folder, message) != TL_OK;
    if (failed)
        printf("%s: %s\n", path, message);
    else
        measure_folder(name, folder);
    remove_folder(folder);
    remove(scratch);
    return failed;
}

static int compare_names(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* Every scene file of a folder, in order of name. */
static int measure_all(const char *folder) {
    enum { MOST = 100 };
    char *name[MOST];
    size_t count = 0;
    int failed = 0;
    DIR *dir = opendir(folder);
    for (struct dirent *entry; dir && count < MOST && (entry = readdir(dir));)
        if (strstr(entry->d_name, ".json"))
            name[count++] = strdup(entry->d_name);
    if (dir)
        closedir(dir);
    qsort(name, count, sizeof *name, compare_names);
    for (size_t i = 0; i < count; i++) {
        char path[512];
        snprintf(path, sizeof path, "%s/%s", folder, name[i]);
        failed |= measure_scene(path);
        free(name[i]);
    }
    return failed || count == 0;
}

int main(int argc, char **argv) {
    int failed = 0;
    setvbuf(stdout, NULL, _IOLBF, 0); /* a row at a time, also into a file */
    printf("Circles, each frame by itself, with the almanac's ratio and flattening as prior.\n"
           "px: rms of the Sun's centre (per axis) and radius; sr: solar radii.\n\n"
           "%-12s %5s %5s %4s %7s  %7s %7s  %8s %8s  %6s  %s\n",
           "scene", "drawn", "meas.", "bad", "refused", "centre", "radius", "rms sr", "median",
           "err/sg", "worst separation");
    if (argc > 1) {
        for (int i = 1; i < argc; i++)
            failed |= measure_scene(argv[i]);
    } else {
        failed = measure_all("fixtures/scenes");
        measure_folder("demo", "fixtures/demo");
    }
    return failed;
}
