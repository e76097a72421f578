/*
 * make accuracy: simulated series with sunspots, analysed and held against their truth.
 *
 *   tool_spot_accuracy [--series N] [--keep FOLDER] [--each] [KIND[/NUMBER]]
 *
 * KIND ("clean", "phone"): only that one; KIND/NUMBER ("phone/7"): only that series.
 *   --series N     the first N of each kind
 *   --keep FOLDER  keep the pictures there, and draw again only series whose scene has changed
 *                  (empty it after a change of the renderer)
 *   --each         a line for each series
 */
#include <getopt.h>
#include <sys/stat.h>

#include "scene_folder.h"
#include "spot_accuracy.h"
#include "twolimb/analyse.h"
#include "twolimb/simulate.h"

enum { SERIES_MAX = 200 };

static struct {
    const char *keep;
    size_t series;
    bool each, one;
    char kind[32];
    size_t number;
} asked = {.series = SERIES_MAX};

/* One series to be run, and what came of it. */
typedef struct job {
    spot_kind kind;
    size_t number;
    spot_tally tally;
} job;

typedef struct work {
    job *list;
    size_t count;
    const char *base; /* folder of the series' folders */
} work;

static bool write_text(const char *path, const char *text) {
    FILE *file = fopen(path, "w");
    bool good = file != NULL && fputs(text, file) >= 0;
    return file != NULL && fclose(file) == 0 && good;
}

/* Whether the pictures there are those of this very scene. */
static bool is_drawn(const char *scene_path, const char *folder, const char *scene) {
    char truth[PATH_SIZE];
    struct stat info;
    snprintf(truth, sizeof truth, "%.500s/truth_spots.csv", folder);
    char *kept = truth_text(scene_path);
    bool same = kept != NULL && strcmp(kept, scene) == 0 && stat(truth, &info) == 0;
    free(kept);
    return same;
}

static bool draw(const job *j, const char *scene_path, const char *folder) {
    char message[TL_SIMULATE_MESSAGE_SIZE];
    char *scene = spot_scene_text(j->kind, j->number);
    bool drawn = scene != NULL && is_drawn(scene_path, folder, scene);
    if (scene != NULL && !drawn) {
        remove_folder(folder);
        drawn = write_text(scene_path, scene);
        if (drawn && tl_simulate(scene_path, folder, message) != TL_OK) {
            printf("%s %zu: %s\n", spot_kind_name[j->kind], j->number, message);
            drawn = false;
        }
    }
    free(scene);
    return drawn;
}

/* Pictures that have lost their times get them from a table, as a user would give them. */
static bool write_times(const spot_truth *truth, const char *path) {
    FILE *file = fopen(path, "w");
    if (file == NULL)
        return false;
    fprintf(file, "file,time\n");
    for (size_t i = 0; i < truth->frame_count; i++) {
        char text[TL_TIME_TEXT_SIZE];
        tl_time_text(truth->frame[i].true_utc_s + truth->clock_offset_s, 0, "Z", text);
        fprintf(file, "%s,%s\n", truth->frame[i].file, text);
    }
    return fclose(file) == 0;
}

/* The mirror by the Moon's path alone: the track anew, with nothing from the spots in it. */
static tl_mirror mirror_without_spots(const tl_sequence *sequence) {
    tl_track_frame_in *in = calloc(sequence->count + 1, sizeof *in);
    tl_track track = {0};
    tl_mirror mirror = TL_MIRROR_AUTO;
    for (size_t i = 0; in != NULL && i < sequence->count; i++) {
        const tl_sequence_frame *frame = &sequence->frame[i];
        const tl_camera_time *time = &frame->info.time;
        const tl_limb *limb = &frame->limb;
        in[i] = (tl_track_frame_in){.camera = frame->camera,
                                    .timed = time->source != TL_TIME_NONE,
                                    .t_camera_s = time->t_camera_s,
                                    .t_sigma_s = time->sigma_s,
                                    .zone_known = time->zone_known,
                                    .zone_minutes = time->zone_minutes,
                                    .measured = limb->status == TL_LIMB_MEASURED,
                                    .separation_sr = limb->separation_sr,
                                    .separation_sigma_sr = limb->separation_sigma_sr,
                                    .offset_x_sr = limb->offset_x_sr,
                                    .offset_y_sr = limb->offset_y_sr,
                                    .offset_xx = limb->offset_xx,
                                    .offset_xy = limb->offset_xy,
                                    .offset_yy = limb->offset_yy,
                                    .ratio_raw = limb->ratio_raw,
                                    .ratio_raw_sigma = limb->ratio_raw_sigma};
    }
    if (in != NULL && tl_track_solve(in, sequence->count, &sequence->options, &track) == TL_OK) {
        mirror = tl_track_main(&track)->mirrored;
        tl_track_free(&track);
    }
    free(in);
    return mirror;
}

static bool analyse(const spot_truth *truth, const char *folder, const tl_times *times,
                    spot_tally *tally) {
    const char *bad;
    tl_file_list files = {0};
    tl_sequence sequence = {0};
    tl_analyse_options options = {.track.sky = tl_sky_options_default(), .jobs = 1, .times = times};
    options.track.site = truth->site;
    bool good = tl_file_list_make(&folder, 1, &bad, &files) == TL_OK &&
                tl_analyse(&files, &options, &sequence) == TL_OK;
    if (good) {
        spot_score(truth, &sequence, mirror_without_spots(&sequence), tally);
        tl_sequence_free(&sequence);
    }
    tl_file_list_free(&files);
    return good;
}

static bool run(const job *j, const char *base, spot_tally *tally) {
    char scene_path[PATH_SIZE], folder[PATH_SIZE], times_path[PATH_SIZE];
    spot_truth *truth = malloc(sizeof *truth);
    tl_times *times = NULL;
    int line;
    snprintf(folder, sizeof folder, "%.500s/%s_%02zu", base, spot_kind_name[j->kind], j->number);
    snprintf(scene_path, sizeof scene_path, "%.580s.json", folder);
    snprintf(times_path, sizeof times_path, "%.580s_times.csv", folder);
    bool good = truth != NULL && draw(j, scene_path, folder) &&
                spot_truth_read(scene_path, folder, truth) && write_times(truth, times_path);
    if (good && truth->is_copy)
        good = tl_times_read(times_path, &line, &times) == TL_OK;
    good = good && analyse(truth, folder, times, tally);
    tl_times_free(times);
    free(truth);
    if (!asked.keep) {
        remove_folder(folder);
        remove(scene_path);
        remove(times_path);
    }
    return good;
}

static void run_job(void *context, size_t i) {
    work *w = context;
    job *j = &w->list[i];
    if (!run(j, w->base, &j->tally)) {
        j->tally.series = 1;
        j->tally.failed = 1;
    }
    if (asked.each)
        spot_series_print(j->kind, j->number, &j->tally);
}

static void plan(work *w) {
    for (int k = 0; k < SPOT_KINDS; k++) {
        if (asked.kind[0] != '\0' && strcmp(asked.kind, spot_kind_name[k]) != 0)
            continue;
        for (size_t i = 0; i < spot_kind_series[k] && i < asked.series; i++)
            if (!asked.one || i == asked.number)
                w->list[w->count++] = (job){.kind = (spot_kind)k, .number = i};
    }
}

static bool read_options(int argc, char **argv) {
    static const struct option options[] = {{"series", required_argument, NULL, 's'},
                                            {"keep", required_argument, NULL, 'k'},
                                            {"each", no_argument, NULL, 'e'},
                                            {NULL, 0, NULL, 0}};
    for (int c; (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        if (c == 's')
            asked.series = strtoul(optarg, NULL, 10);
        else if (c == 'k')
            asked.keep = optarg;
        else if (c == 'e')
            asked.each = true;
        else
            return false;
    }
    if (optind < argc)
        asked.one = sscanf(argv[optind++], "%31[^/]/%zu", asked.kind, &asked.number) == 2;
    return optind == argc;
}

int main(int argc, char **argv) {
    static job list[SERIES_MAX];
    char scratch[] = "/tmp/twolimb-spots-XXXXXX";
    spot_tally tally[SPOT_KINDS] = {0};
    work w = {.list = list};
    if (!read_options(argc, argv))
        return 64;
    plan(&w);
    if (w.count == 0) {
        printf("There are no such series.\n");
        return 64;
    }
    if (asked.keep)
        mkdir(asked.keep, 0777); /* may be there; if it cannot be, drawing says so */
    w.base = asked.keep ? asked.keep : mkdtemp(scratch);
    if (w.base == NULL)
        return 73;
    setvbuf(stdout, NULL, _IOLBF, 0); /* a row at a time, also into a file */
    tl_parallel(w.count, 0, run_job, &w);
    bool failed = false;
    for (size_t i = 0; i < w.count; i++) {
        spot_tally_add(&list[i].tally, &tally[list[i].kind]);
        failed = failed || list[i].tally.failed > 0 || list[i].tally.no_memory;
        spot_tally_free(&list[i].tally);
    }
    spot_table_print(tally);
    for (int k = 0; k < SPOT_KINDS; k++)
        spot_tally_free(&tally[k]);
    if (!asked.keep)
        remove(w.base);
    return failed ? 1 : 0;
}
