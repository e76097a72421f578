/*
 * make accuracy: 200 simulated series of each kind against their truth.
 *
 *   tool_track_accuracy [--gaussian] FRAMES.csv [KIND[/NUMBER]]
 *
 * FRAMES.csv: what tool_accuracy --frames wrote; the circles of the series have the errors, and
 * the sigmas, of the frames in it. --gaussian: the sigmas only, with errors that follow from them:
 * what is wrong then is the track stage's own. KIND ("hand"):
 * only that one; the names are in the steps' files. KIND/NUMBER ("hand/17"): only that series,
 * printed whole.
 */
#include <stdio.h>
#include <stdlib.h>

#include "track_accuracy.h"

static void print_legend(const track_accuracy *a) {
    printf(
        "\nSeries: %d of each kind, at random places and eclipses. Their circles have the errors "
        "and sigmas of drawn\nframes, taken at random whatever the phase. Taken from: frames, "
        "their discs, error of the separation (sr: rms, mean),\n%% within 1 and 3 sigma, kinds "
        "of frames:\n",
        TRIALS);
    pools_print(a->pool);
    printf("width: median of |error|/sigma as the sigma of a Gaussian; rms of error/sigma, clipped "
           "at 5; %% within 1 and 3 sigma;\n<-: not within 60 to 76 %% and 98.5 %%; (series) to be "
           "printed whole by KIND/NUMBER.\n");
}

/* False: wrong use. */
static bool read_options(int argc, char **argv, track_accuracy *a, const char **frames) {
    static char kind[32];
    int next = 1;
    a->draw = pool_draw;
    if (next < argc && strcmp(argv[next], "--gaussian") == 0) {
        a->draw = pool_draw_gaussian;
        next++;
    }
    if (next < argc) {
        *frames = argv[next++];
    }
    if (next < argc) {
        a->show_one = sscanf(argv[next++], "%31[^/]/%zu", kind, &a->show) == 2;
        a->only = kind;
    }
    return *frames != NULL && next == argc && a->show < TRIALS;
}

int main(int argc, char **argv) {
    const char *frames = NULL;
    track_accuracy *a = calloc(1, sizeof *a);
    if (a == NULL) {
        return 71;
    }
    if (!read_options(argc, argv, a, &frames)) {
        free(a);
        return 64;
    }
    setvbuf(stdout, NULL, _IOLBF, 0); /* a row at a time, also into a file */
    if (!pools_read(frames, a->pool)) {
        printf("%s: cannot be read, or has no frames of a kind that is needed.\n", frames);
        free(a);
        return 66;
    }
    a->failed = !scenes_make(a->scene);
    if (a->only == NULL) {
        print_legend(a);
    }
    void (*const step[])(track_accuracy *) = {track_accuracy_clock,   track_accuracy_zone,
                                              track_accuracy_holding, track_accuracy_compass,
                                              track_accuracy_undated, track_accuracy_wrong};
    for (size_t i = 0; !a->failed && i < sizeof step / sizeof step[0]; i++) {
        step[i](a);
    }
    bool failed = a->failed;
    scenes_free(a->scene);
    free(a);
    return failed ? 71 : 0;
}
