/*
 * accuracy_table.c - tables of what was measured, kind by kind.
 */
#include <math.h>

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "accuracy.h"

enum { KINDS_MAX = 100 };

/* The median of |z| of a Gaussian of width 1: tables of the normal distribution. */
#define MEDIAN_OF_UNIT_GAUSSIAN 0.67449
/* Beyond it an error counts as this many sigmas in the rms, or one frame would be the row. */
#define Z_CLIP 5.0

/* Counts, and sums over frames in which limbs can be drawn and that were measured. */
typedef struct tally {
    size_t drawn, measured, wrong;
    size_t refused, refusals_due;
    size_t whole, whole_due; /* the Sun without the Moon */
    size_t either_measured, either;
    size_t within_1, within_3;
    double centre2, radius2, error2, z2;
    double error[ACCURACY_FRAMES_MAX], z[ACCURACY_FRAMES_MAX]; /* absolute, `measured` of them */
    const accuracy_row *worst;
} tally;

static void add_error(tally *t, const accuracy_row *row) {
    double dx = row->circle_error_px[TL_SUN_X], dy = row->circle_error_px[TL_SUN_Y];
    double dr = row->circle_error_px[TL_SUN_R], z = fabs(row->z);
    t->centre2 += 0.5 * (dx * dx + dy * dy);
    t->radius2 += dr * dr;
    t->error2 += row->error_sr * row->error_sr;
    t->z2 += fmin(z, Z_CLIP) * fmin(z, Z_CLIP);
    t->within_1 += z <= 1.0;
    t->within_3 += z <= 3.0;
    t->error[t->measured] = fabs(row->error_sr);
    t->z[t->measured++] = z;
    if (!t->worst || fabs(row->error_sr) > fabs(t->worst->error_sr))
        t->worst = row;
}

static void add(tally *t, const accuracy_row *row) {
    const char *expected = row->truth.expected;
    tl_limb_status status = row->limb.status;
    bool measured = status == TL_LIMB_MEASURED;
    t->wrong += row->wrong;
    if (strcmp(expected, "measured") == 0) {
        t->drawn++;
        if (measured)
            add_error(t, row);
    } else if (strcmp(expected, "sun-only") == 0) {
        t->whole_due++;
        t->whole += status == TL_LIMB_SUN_ONLY;
    } else if (strcmp(expected, "either") == 0) {
        t->either++;
        t->either_measured += measured;
    } else {
        t->refusals_due++;
        t->refused += status == TL_LIMB_NO_SUN || status == TL_LIMB_UNUSABLE;
    }
}

static double median(double *value, size_t count) {
    gsl_sort(value, 1, count);
    return gsl_stats_median_from_sorted_data(value, 1, count);
}

static void print_share(size_t part, size_t whole) {
    char text[24] = "";
    if (whole > 0)
        snprintf(text, sizeof text, "%zu/%zu", part, whole);
    printf(" %7s", text);
}

static void print_tally(const char *name, tally *t) {
    printf("%-12s %5zu %5zu %4zu", name, t->drawn, t->measured, t->wrong);
    print_share(t->refused, t->refusals_due);
    print_share(t->whole, t->whole_due);
    print_share(t->either_measured, t->either);
    if (t->measured > 0) {
        double n = (double)t->measured;
        printf("  %7.3f %7.3f  %8.1e %8.1e  %5.2f %5.2f  %4.0f %4.0f  %+.1e %s",
               sqrt(t->centre2 / n), sqrt(t->radius2 / n), sqrt(t->error2 / n),
               median(t->error, t->measured), median(t->z, t->measured) / MEDIAN_OF_UNIT_GAUSSIAN,
               sqrt(t->z2 / n), 100.0 * (double)t->within_1 / n, 100.0 * (double)t->within_3 / n,
               t->worst->error_sr, t->worst->truth.file);
    }
    printf("\n");
}

void accuracy_print_legend(void) {
    printf("Circles, each frame by itself, with the almanac's ratio and flattening as prior.\n"
           "drawn: frames in which limbs can be drawn; bad: measured and off by more than %.0f "
           "sigma and %.2f\nsolar radii, or measured where there is nothing to measure; refused, "
           "whole (no Moon): as due; either:\nmeasured among those a person would hesitate over. "
           "px: rms of the Sun's centre (per axis) and radius;\nsr: solar radii; error/sigma: "
           "median width, rms (clipped at %.0f), %% within 1 and 3 sigma.\n\n"
           "%-12s %5s %5s %4s %7s %7s %7s  %7s %7s  %8s %8s  %5s %5s  %4s %4s  %s\n",
           WRONG_SIGMAS, WRONG_SR, Z_CLIP, "", "drawn", "meas.", "bad", "refused", "whole",
           "either", "centre", "radius", "rms sr", "median", "width", "rms", "<1", "<3",
           "worst separation");
}

void accuracy_print_failures(const accuracy_row *row, size_t count) {
    for (size_t i = 0; i < count; i++) {
        const truth_row *truth = &row[i].truth;
        const tl_limb *limb = &row[i].limb;
        bool measured = limb->status == TL_LIMB_MEASURED;
        if (row[i].wrong && strcmp(truth->expected, "refused") != 0)
            printf("      WRONG: %s separation off by %+.5f, %.1f sigma\n", truth->file,
                   row[i].error_sr, row[i].z);
        else if (row[i].wrong)
            printf("      WRONG: %s measured, expected %s\n", truth->file, truth->expected);
        else if (!measured && strcmp(truth->expected, "measured") == 0)
            printf("      not measured: %s (%s)\n", truth->file, limb->reason);
        else if (limb->status != TL_LIMB_SUN_ONLY && strcmp(truth->expected, "sun-only") == 0)
            printf("      expected sun-only: %s (%s)\n", truth->file, limb->reason);
        else if (limb->status == TL_LIMB_SUN_ONLY && strcmp(truth->expected, "refused") == 0)
            printf("      sun-only, expected refused: %s\n", truth->file);
    }
}

static bool is_of(const accuracy_row *row, const char *kind) {
    return !kind || strcmp(row->kind, kind) == 0;
}

/* One line over the rows of a kind (NULL: all). */
static void print_line(const char *name, const char *kind, const accuracy_row *row, size_t count) {
    tally *t = calloc(1, sizeof *t);
    if (!t)
        return;
    for (size_t i = 0; i < count; i++)
        if (is_of(&row[i], kind))
            add(t, &row[i]);
    print_tally(name, t);
    free(t);
}

void accuracy_print_scene(const accuracy_row *row, size_t count) {
    if (count > 0)
        print_line(row[0].scene, NULL, row, count);
}

static int compare_names(const void *a, const void *b) {
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

void accuracy_print_kinds(const accuracy_row *row, size_t count) {
    const char *kind[KINDS_MAX];
    size_t kinds = 0;
    for (size_t i = 0; i < count; i++) {
        size_t k = 0;
        while (k < kinds && strcmp(kind[k], row[i].kind) != 0)
            k++;
        if (k == kinds && kinds < KINDS_MAX)
            kind[kinds++] = row[i].kind;
    }
    qsort(kind, kinds, sizeof *kind, compare_names);
    for (size_t k = 0; k < kinds; k++)
        print_line(kind[k], kind[k], row, count);
    print_line("everything", NULL, row, count);
    size_t drawn = 0, measured = 0;
    for (size_t i = 0; i < count; i++) {
        bool due = strcmp(row[i].truth.expected, "measured") == 0;
        drawn += due;
        measured += due && row[i].limb.status == TL_LIMB_MEASURED;
    }
    if (drawn > 0)
        printf("\n%zu of %zu frames in which limbs can be drawn were measured: %.1f %%.\n",
               measured, drawn, 100.0 * (double)measured / (double)drawn);
}

/* Squares of errors over bounds, summed over frames: separation, centre (per axis), radius. */
static void add_to_bounds(const accuracy_bound *bound, double separation, double centre,
                          double radius, double sum[3]) {
    double z = separation / bound->separation_sr, c = centre / bound->centre_px;
    double r = radius / bound->radius_px;
    sum[0] += z * z;
    sum[1] += c * c;
    sum[2] += r * r;
}

static void print_bounds(const char *what, const double sum[3], double n) {
    printf("    %-52s %6.2f %6.2f %6.2f\n", what, sqrt(sum[0] / n), sqrt(sum[1] / n),
           sqrt(sum[2] / n));
}

void accuracy_print_bounds(const accuracy_row *row, size_t count) {
    double found[ACCURACY_BOUNDS][3] = {0}, ideal[3] = {0}, n = 0;
    for (size_t i = 0; i < count; i++) {
        const accuracy_bound *bound = row[i].bound;
        const double *error = row[i].circle_error_px;
        if (row[i].limb.status != TL_LIMB_MEASURED || bound[0].separation_sr <= 0.0)
            continue;
        double centre = sqrt(0.5) * hypot(error[TL_SUN_X], error[TL_SUN_Y]);
        for (int k = 0; k < ACCURACY_BOUNDS; k++)
            add_to_bounds(&bound[k], row[i].error_sr, centre, error[TL_SUN_R], found[k]);
        bound = &row[i].bound[ACCURACY_LUMINANCE];
        add_to_bounds(bound, bound->ideal_sr, bound->ideal_centre_px, bound->ideal_radius_px,
                      ideal);
        n++;
    }
    if (n == 0)
        return;
    printf("\nErrors over Cramer-Rao bounds, rms over %.0f clean frames:        separ. centre "
           "radius\n",
           n);
    print_bounds("bound from all colours at full resolution", found[ACCURACY_ALL], n);
    print_bounds("bound from luminance", found[ACCURACY_LUMINANCE], n);
    print_bounds("ideal fit to the files, bound from luminance", ideal, n);
}
