/*
 * accuracy_csv.c - one row for each frame.
 */
#include "accuracy.h"

static const char header[] =
    "scene,kind,file,expected,status,wrong,reason,separation_sr,ratio,true_sun_r_px,true_blur_px,"
    "error_sr,sigma_sr,z,sun_dx_px,sun_dy_px,sun_dr_px,moon_dx_px,moon_dy_px,moon_dr_px,"
    "blur_px,channel,ratio_raw,ratio_raw_sigma,edge_shift_px,clipped_edge,clipped_share,"
    "residual_px,flattening,arc_sun_deg,arc_moon_deg,sky_level,disc_level,bound_sr,bound_luminance_"
    "sr\n";

/* The reason as a quoted field; quotes inside are doubled (RFC 4180). */
static void write_reason(FILE *file, const char *reason) {
    fputc('"', file);
    for (; *reason; reason++) {
        if (*reason == '"')
            fputc('"', file);
        fputc(*reason, file);
    }
    fputc('"', file);
}

static void write_row(FILE *file, const accuracy_row *row) {
    const tl_limb *limb = &row->limb;
    const truth_row *truth = &row->truth;
    fprintf(file, "%s,%s,%s,%s,%s,%d,", row->scene, row->kind, truth->file, truth->expected,
            tl_limb_status_name(limb->status), row->wrong);
    write_reason(file, limb->reason);
    fprintf(file, ",%.7f,%.6f,%.3f,%.3f", truth->separation_sr, truth->prior.ratio,
            truth->circle[TL_SUN_R], truth->blur_px);
    if (limb->status == TL_LIMB_MEASURED) {
        fprintf(file, ",%+.7f,%.7f,%+.3f", row->error_sr, limb->separation_sigma_sr, row->z);
        for (int i = 0; i < TL_LIMB_PARAMS; i++)
            fprintf(file, ",%+.4f", row->circle_error_px[i]);
    } else {
        fprintf(file, ",,,,,,,,,");
    }
    fprintf(file, ",%.3f,%s,%.5f,%.5f,%+.4f,%.3f,%.3f,%.4f,%.5f,%.1f,%.1f,%.5f,%.5f,",
            limb->blur_px, limb->channel, limb->ratio_raw, limb->ratio_raw_sigma,
            limb->edge_shift_px, limb->clipped_edge, limb->clipped_share, limb->residual_px,
            limb->flattening, limb->arc_sun_rad / TL_DEG, limb->arc_moon_rad / TL_DEG,
            limb->sky_level, limb->disc_level);
    if (row->bound[ACCURACY_ALL].separation_sr > 0.0)
        fprintf(file, "%.8f,%.8f", row->bound[ACCURACY_ALL].separation_sr,
                row->bound[ACCURACY_LUMINANCE].separation_sr);
    else
        fputc(',', file);
    fputc('\n', file);
}

bool accuracy_write_csv(const char *path, const accuracy_row *row, size_t count) {
    FILE *file = fopen(path, "w");
    if (!file)
        return false;
    fputs(header, file);
    for (size_t i = 0; i < count; i++)
        write_row(file, &row[i]);
    bool written = !ferror(file);
    return fclose(file) == 0 && written;
}
