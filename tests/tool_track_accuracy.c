/*
 * make accuracy: 200 simulated series of each kind against their truth.
 *
 *   tool_track_accuracy FRAMES.csv [KIND/NUMBER]
 *
 * FRAMES.csv: what tool_accuracy --frames wrote; the circles of the series have the errors, and
 * the sigmas, of the frames in it. KIND/NUMBER: print that series whole, by the name under
 * which the tables list it.
 */
#include <stdio.h>
#include <stdlib.h>

#include "track_accuracy.h"

static bool read_show(const char *text, char kind[32], size_t *number) {
    return sscanf(text, "%31[^/]/%zu", kind, number) == 2;
}

int main(int argc, char **argv) {
    char kind[32];
    track_accuracy *a = calloc(1, sizeof *a);
    if (a == NULL) {
        return 71;
    }
    if (argc < 2 || argc > 3 || (argc == 3 && !read_show(argv[2], kind, &a->show))) {
        free(a);
        return 64;
    }
    a->show_kind = argc == 3 ? kind : NULL;
    setvbuf(stdout, NULL, _IOLBF, 0); /* a row at a time, also into a file */
    if (!pools_read(argv[1], a->pool)) {
        printf("%s: cannot be read, or has no frames of a kind that is needed.\n", argv[1]);
        free(a);
        return 66;
    }
    a->failed = !scenes_make(a->scene);
    printf("Series: %d of each kind, at random places and eclipses. The circles have errors and "
           "sigmas of drawn frames,\ntaken at random, whatever the phase:\n",
           TRIALS);
    pools_print(a->pool);
    printf("width: median of |error|/sigma as the sigma of a Gaussian; rms of error/sigma, clipped "
           "at 5; %% within 1 and 3 sigma;\n<-: not within 60 to 76 %% and 98.5 %%.\n");
    void (*const step[])(track_accuracy *) = {track_accuracy_clock, track_accuracy_zone,
                                              track_accuracy_holding, track_accuracy_undated,
                                              track_accuracy_wrong};
    for (size_t i = 0; !a->failed && i < sizeof step / sizeof step[0]; i++) {
        step[i](a);
    }
    bool failed = a->failed;
    scenes_free(a->scene);
    free(a);
    return failed ? 71 : 0;
}
