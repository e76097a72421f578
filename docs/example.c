/* Circles of every picture of a folder, by the library; once it is installed:
 *     cc -std=c17 example.c $(pkg-config --cflags --libs twolimb) -o example && ./example FOLDER */
#include <stdio.h>
#include <twolimb/analyse.h>

int main(int argc, char **argv) {
    const tl_analyse_options options = {.track.sky = tl_sky_options_default()};
    const char *bad = "";
    tl_file_list files = {0};
    tl_sequence series = {0};
    tl_status status =
        tl_file_list_make((const char *const *)argv + 1, (size_t)argc - 1, &bad, &files);
    if (status == TL_OK)
        status = tl_analyse(&files, &options, &series);
    for (size_t i = 0; i < series.count; i++) {
        const tl_limb *limb = &series.frame[i].limb;
        printf("%s: ", series.frame[i].path);
        if (limb->status == TL_LIMB_MEASURED)
            printf("%.4f +- %.4f solar radii\n", limb->separation_sr, limb->separation_sigma_sr);
        else
            printf("%s\n", limb->reason);
    }
    if (status != TL_OK)
        fprintf(stderr, "%s: %s\n", bad, tl_status_text(status));
    tl_sequence_free(&series);
    tl_file_list_free(&files);
    return status != TL_OK;
}
