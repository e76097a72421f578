/*
 * accuracy_measure.c - the frames of one folder through the finder, and their errors.
 */
#include <math.h>

#include "accuracy.h"

/* What the frame shows: its name up to the first '_'; without one, the scene. */
static void kind_of(const char *scene, const char *file, char kind[ACCURACY_NAME_SIZE]) {
    int length = (int)strcspn(file, "_");
    if (file[length] == '\0')
        snprintf(kind, ACCURACY_NAME_SIZE, "%.60s", scene);
    else
        snprintf(kind, ACCURACY_NAME_SIZE, "%.*s", length < 60 ? length : 60, file);
}

/* Half the longer axis of a circle of radius 1 after the air flattened it along the zenith and the
 * card stretched it: the larger singular value of the product of both maps. */
static double longer_axis(const truth_row *truth) {
    double a = truth->tilt_direction_deg * TL_DEG, c = cos(a), s = sin(a);
    double k = truth->tilt_stretch - 1.0, f = truth->prior.flattening - 1.0;
    double zx = truth->prior.zenith_x, zy = truth->prior.zenith_y;
    double card[2][2] = {{1 + k * c * c, k * c * s}, {k * c * s, 1 + k * s * s}};
    double air[2][2] = {{1 + f * zx * zx, f * zx * zy}, {f * zx * zy, 1 + f * zy * zy}};
    double m[2][2], frobenius = 0.0;
    for (int i = 0; i < 2; i++)
        for (int j = 0; j < 2; j++) {
            m[i][j] = card[i][0] * air[0][j] + card[i][1] * air[1][j];
            frobenius += m[i][j] * m[i][j];
        }
    double det = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    return sqrt(0.5 * (frobenius + sqrt(fmax(frobenius * frobenius - 4.0 * det * det, 0.0))));
}

static void compare(accuracy_row *row) {
    const truth_row *truth = &row->truth;
    const tl_limb *limb = &row->limb;
    if (limb->status != TL_LIMB_MEASURED)
        return;
    double longer = longer_axis(truth);
    for (int i = 0; i < TL_LIMB_PARAMS; i++) {
        bool radius = i == TL_SUN_R || i == TL_MOON_R;
        row->circle_error_px[i] = limb->circle[i] - truth->circle[i] * (radius ? longer : 1.0);
    }
    row->error_sr = limb->separation_sr - truth->separation_sr;
    row->z = row->error_sr / limb->separation_sigma_sr;
    bool nothing_to_measure =
        strcmp(truth->expected, "measured") != 0 && strcmp(truth->expected, "either") != 0;
    /* "not <=": an error that is no number is wrong as well */
    row->wrong = nothing_to_measure ||
                 (!(fabs(row->z) <= WRONG_SIGMAS) && !(fabs(row->error_sr) <= WRONG_SR));
}

typedef struct measuring {
    const char *folder;
    accuracy_row *row;
} measuring;

static void measure_job(void *context, size_t i) {
    const measuring *m = context;
    accuracy_row *row = &m->row[i];
    char path[1024];
    tl_image image = {0};
    tl_frame_info info = {0};
    tl_limb limb = {0};
    snprintf(path, sizeof path, "%.800s/%.127s", m->folder, row->truth.file);
    tl_status status = tl_frame_read(path, &image, &info);
    if (status == TL_OK)
        status = tl_limb_find(&image, &row->truth.prior, &limb);
    if (status != TL_OK)
        tl_limb_set_unreadable(&limb, tl_status_text(status));
    row->limb = limb;
    row->limb.edge = NULL;
    row->limb.edge_count = 0;
    tl_limb_free(&limb);
    tl_image_free(&image);
    compare(row);
}

size_t accuracy_measure(const char *scene, const char *folder, accuracy_row *row, size_t room) {
    static truth_row truth[TRUTH_ROWS_MAX];
    size_t count = truth_read(folder, truth);
    if (count > room)
        count = room;
    for (size_t i = 0; i < count; i++) {
        row[i] = (accuracy_row){.truth = truth[i]};
        snprintf(row[i].scene, sizeof row[i].scene, "%.60s", scene);
        kind_of(scene, truth[i].file, row[i].kind);
    }
    measuring m = {folder, row};
    tl_parallel(count, 0, measure_job, &m);
    accuracy_bounds_read(folder, row, count);
    return count;
}
