/*
 * make accuracy: draws the scenes of fixtures/scenes, measures them and compares with the truth.
 *
 *   tool_accuracy [--frames FILE.csv] [--keep FOLDER] [--circles-only] [SCENE.json ...]
 *
 * Without scenes: every one of fixtures/scenes, and the demo. Per scene and per kind of frame: the
 * frames whose limbs are drawn, how many were measured, the errors of the circles and of the
 * separation, and whether the errors given are true. For scenes with one clock also the whole
 * chain on the series.
 *   --frames FILE.csv  one row for each frame
 *   --keep FOLDER      draw the scenes into folders there, and draw again only those whose file is
 *                      newer than its pictures (empty it after a change of the renderer)
 *   --circles-only     leave out the series
 */
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "accuracy.h"
#include "scene_folder.h"
#include "twolimb/simulate.h"

enum { SCENES_MAX = 200 };

static struct {
    const char *frames, *keep;
    bool circles_only;
} asked;

static accuracy_row *row; /* of all scenes so far */
static size_t row_count;

static void measure_folder(const char *scene, const char *folder) {
    accuracy_row *first = row + row_count;
    size_t count = accuracy_measure(scene, folder, first, ACCURACY_FRAMES_MAX - row_count);
    row_count += count;
    accuracy_print_failures(first, count);
    accuracy_print_scene(first, count);
    if (!asked.circles_only)
        accuracy_print_series(folder);
}

/* Whether the pictures were drawn, whole, after the scene file was last changed. */
static bool is_current(const char *scene_path, const char *folder) {
    char truth[PATH_SIZE];
    struct stat scene, drawn;
    snprintf(truth, sizeof truth, "%.500s/truth.json", folder);
    return stat(scene_path, &scene) == 0 && stat(truth, &drawn) == 0 &&
           drawn.st_mtime > scene.st_mtime;
}

static bool has_bounds(const char *folder) {
    char path[PATH_SIZE];
    struct stat info;
    snprintf(path, sizeof path, "%.500s/bounds.csv", folder);
    return stat(path, &info) == 0;
}

static int measure_scene(const char *path) {
    char scratch[] = "/tmp/twolimb-accuracy-XXXXXX", folder[PATH_SIZE];
    char message[TL_SIMULATE_MESSAGE_SIZE], name[ACCURACY_NAME_SIZE];
    const char *slash = strrchr(path, '/'), *base = asked.keep;
    snprintf(name, sizeof name, "%s", slash ? slash + 1 : path);
    name[strcspn(name, ".")] = '\0';
    if (base)
        mkdir(base, 0777); /* may be there; if it cannot be, drawing says so */
    else if (!(base = mkdtemp(scratch)))
        return 1;
    snprintf(folder, sizeof folder, "%.500s/%s", base, name);
    int failed = 0;
    if (!is_current(path, folder)) {
        remove_folder(folder);
        failed = tl_simulate(path, folder, message) != TL_OK;
    }
    /* only the clean frames have nothing in them that the bound does not know of */
    if (!failed && strncmp(name, "clean", 5) == 0 && !has_bounds(folder) &&
        !accuracy_bounds_make(path, folder))
        printf("      the bounds cannot be worked out\n");
    if (failed)
        printf("%s: %s\n", path, message);
    else
        measure_folder(name, folder);
    if (!asked.keep) {
        remove_folder(folder);
        remove(scratch);
    }
    return failed;
}

static int compare_names(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* Every scene file of a folder, in order of name. */
static int measure_all(const char *folder) {
    char *name[SCENES_MAX];
    size_t count = 0;
    int failed = 0;
    DIR *dir = opendir(folder);
    for (struct dirent *entry; dir && count < SCENES_MAX && (entry = readdir(dir));)
        if (strstr(entry->d_name, ".json"))
            name[count++] = strdup(entry->d_name);
    if (dir)
        closedir(dir);
    qsort(name, count, sizeof *name, compare_names);
    for (size_t i = 0; i < count; i++) {
        char path[PATH_SIZE];
        snprintf(path, sizeof path, "%s/%s", folder, name[i]);
        failed |= measure_scene(path);
        free(name[i]);
    }
    return failed || count == 0;
}

static bool read_options(int argc, char **argv) {
    static const struct option options[] = {{"frames", required_argument, NULL, 'f'},
                                            {"keep", required_argument, NULL, 'k'},
                                            {"circles-only", no_argument, NULL, 'c'},
                                            {NULL, 0, NULL, 0}};
    for (int c; (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        if (c == 'f')
            asked.frames = optarg;
        else if (c == 'k')
            asked.keep = optarg;
        else if (c == 'c')
            asked.circles_only = true;
        else
            return false;
    }
    return true;
}

int main(int argc, char **argv) {
    int failed = 0;
    if (!read_options(argc, argv))
        return 64;
    row = calloc(ACCURACY_FRAMES_MAX, sizeof *row);
    if (!row)
        return 71;
    setvbuf(stdout, NULL, _IOLBF, 0); /* a row at a time, also into a file */
    accuracy_print_legend();
    if (optind < argc) {
        for (int i = optind; i < argc; i++)
            failed |= measure_scene(argv[i]);
    } else {
        failed = measure_all("fixtures/scenes");
        measure_folder("demo", "fixtures/demo");
    }
    printf("\nBy kind of frame:\n");
    accuracy_print_kinds(row, row_count);
    accuracy_print_bounds(row, row_count);
    if (asked.frames && !accuracy_write_csv(asked.frames, row, row_count)) {
        printf("%s: cannot be written.\n", asked.frames);
        failed = 1;
    }
    free(row);
    return failed;
}
