/*
 * spot_accuracy_table.c - the figures as a Markdown table, a column for each kind.
 */
#include <math.h>
#include <stdarg.h>

#include "spot_accuracy.h"

/* What is aimed at. */
static const double FOUND_LEAST[SPOT_KINDS] = {0.95, 0.85};
static const double FALSE_MOST = 1.0; /* per 100 frames */
static const double PLACE_ARCSEC = 1.5, PLACE_DEG = 0.3, TIME_S = 4.0;
static const double ONE_SIGMA_LEAST = 0.60, ONE_SIGMA_MOST = 0.76, THREE_SIGMA_LEAST = 0.99;

enum { CELL_SIZE = 96 };
typedef struct cell {
    char text[CELL_SIZE];
} cell;

__attribute__((format(printf, 1, 2))) static cell cell_make(const char *format, ...) {
    cell c;
    va_list values;
    va_start(values, format);
    vsnprintf(c.text, sizeof c.text, format, values);
    va_end(values);
    return c;
}

/* A figure that misses its target is marked. */
static cell judged(cell c, bool met) {
    if (!met) {
        size_t length = strlen(c.text);
        snprintf(c.text + length, sizeof c.text - length, " **missed**");
    }
    return c;
}

static cell share(size_t part, size_t whole, double least) {
    if (whole == 0)
        return cell_make("-");
    double s = (double)part / (double)whole;
    return judged(cell_make("%.1f %% of %zu", 100.0 * s, whole), s >= least);
}

static cell per_hundred(size_t count, const spot_tally *t, double most) {
    if (t->measured == 0)
        return cell_make("-");
    double rate = 100.0 * (double)count / (double)t->measured;
    return judged(cell_make("%.2f (%zu)", rate, count), rate <= most);
}

/* rms / median / 95 % / largest, in `unit`; judged by the rms. */
static cell spread(const spot_errors *errors, double unit, const char *name, double rms_most) {
    spot_figures f = spot_errors_figures(errors);
    if (f.count == 0)
        return cell_make("-");
    return judged(cell_make("%.3g / %.3g / %.3g / %.3g %s of %zu", f.rms * unit, f.median * unit,
                            f.p95 * unit, f.most * unit, name, f.count),
                  f.rms <= rms_most);
}

static cell honesty(const spot_errors *errors) {
    spot_figures f = spot_errors_figures(errors);
    if (f.with_sigma == 0)
        return cell_make("-");
    return judged(cell_make("%.1f / %.1f %% of %zu", 100.0 * f.one_sigma, 100.0 * f.three_sigma,
                            f.with_sigma),
                  f.one_sigma >= ONE_SIGMA_LEAST && f.one_sigma <= ONE_SIGMA_MOST &&
                      f.three_sigma >= THREE_SIGMA_LEAST);
}

static cell within(const spot_errors *errors, double most) {
    if (errors->count == 0)
        return cell_make("-");
    return cell_make("%.1f %% of %zu", 100.0 * spot_errors_share(errors, most), errors->count);
}

static cell answers(const size_t count[SPOT_ANSWERS]) {
    return cell_make("%zu / %zu / %zu", count[SPOT_RIGHT], count[SPOT_WRONG], count[SPOT_OPEN]);
}

/* ---- rows ---- */

typedef cell (*figure)(const spot_tally *t, spot_kind kind);

static cell row_series(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return cell_make("%zu / %zu / %zu", t->series, t->frames, t->measured);
}
static cell row_failed(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return judged(cell_make("%zu", t->failed), t->failed == 0);
}
static cell row_found_large(const spot_tally *t, spot_kind kind) {
    return share(t->found[SPOT_LARGE], t->due[SPOT_LARGE], FOUND_LEAST[kind]);
}
static cell row_found_small(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return share(t->found[SPOT_SMALL], t->due[SPOT_SMALL], 0.0);
}
static cell row_marked_large(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return share(t->marked[SPOT_LARGE], t->due[SPOT_LARGE], 0.0);
}
static cell row_marked_small(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return share(t->marked[SPOT_SMALL], t->due[SPOT_SMALL], 0.0);
}
static cell row_false_marks(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return per_hundred(t->false_marks, t, FALSE_MOST);
}
static cell row_false_spots(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return per_hundred(t->false_spots, t, FALSE_MOST);
}
static cell row_dust_as_spot(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return per_hundred(t->dust_as_spot, t, HUGE_VAL);
}
static cell row_dust_known(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return share(t->dust_known, t->dust_due, 0.0);
}
static cell row_spots_as_dust(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return per_hundred(t->spots_as_dust, t, HUGE_VAL);
}
static cell row_unplaced(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return per_hundred(t->unplaced, t, HUGE_VAL);
}
static cell row_unplaced_spots(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return per_hundred(t->unplaced_spots, t, HUGE_VAL);
}
static cell row_two_names(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return cell_make("%zu / %zu of %zu", t->two_names, t->mixed, t->listed);
}
static cell row_picture(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_PICTURE], 1.0, "arcsec", PLACE_ARCSEC);
}
static cell row_disc(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_DISC], 1.0, "arcsec", PLACE_ARCSEC);
}
static cell row_latitude(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_LATITUDE], 1.0, "deg", PLACE_DEG);
}
static cell row_longitude(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_LONGITUDE], 1.0, "deg", PLACE_DEG);
}
static cell row_latitude_within(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return within(&t->errors[SPOT_ERROR_LATITUDE], PLACE_DEG);
}
static cell row_longitude_within(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return within(&t->errors[SPOT_ERROR_LONGITUDE], PLACE_DEG);
}
static cell row_latitude_honest(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return honesty(&t->errors[SPOT_ERROR_LATITUDE]);
}
static cell row_longitude_honest(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return honesty(&t->errors[SPOT_ERROR_LONGITUDE]);
}
static cell row_radius(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_RADIUS], 100.0, "%", HUGE_VAL);
}
static cell row_radius_honest(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return honesty(&t->errors[SPOT_ERROR_RADIUS]);
}
static cell row_area(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_AREA], 100.0, "%", HUGE_VAL);
}
static cell row_area_honest(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return honesty(&t->errors[SPOT_ERROR_AREA]);
}
static cell row_centre(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_CENTRE], 1.0, "s", TIME_S);
}
static cell row_centre_honest(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return honesty(&t->errors[SPOT_ERROR_CENTRE]);
}
static cell row_touch(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_TOUCH], 1.0, "s", HUGE_VAL);
}
static cell row_touch_honest(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return honesty(&t->errors[SPOT_ERROR_TOUCH]);
}
static cell row_covers(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return share(t->covers_right, t->covers_due, 0.0);
}
static cell row_misses(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return share(t->misses_right, t->misses_due, 0.0);
}
static cell row_unsure(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return cell_make("%zu", t->unsure);
}
static cell row_states(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return share(t->states_right, t->states_due, 0.0);
}
static cell row_turn(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_TURN], 1.0, "deg", HUGE_VAL);
}
static cell row_turn_honest(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return honesty(&t->errors[SPOT_ERROR_TURN]);
}
static cell row_moon_turn(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return spread(&t->errors[SPOT_ERROR_MOON_TURN], 1.0, "deg", HUGE_VAL);
}
static cell row_moon_turn_honest(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return honesty(&t->errors[SPOT_ERROR_MOON_TURN]);
}
static cell row_hand(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return cell_make("%zu of %zu", t->hand_wrong, t->hand_due);
}
static cell row_mirror(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return answers(t->mirror);
}
static cell row_mirror_alone(const spot_tally *t, spot_kind kind) {
    (void)kind;
    return answers(t->mirror_alone);
}

#define HONEST "60 to 76 / 99 %"
static const struct {
    const char *name, *target;
    figure make;
} ROW[] = {
    {"series / frames / frames with circles", "", row_series},
    {"series that could not be drawn or analysed", "0", row_failed},
    {"**found**: spots in frames, umbra over 8 arcsec", "95 %, phone 85 %", row_found_large},
    {"the same, umbra 5 to 8 arcsec", "", row_found_small},
    {"seen as a dark mark, umbra over 8 arcsec", "", row_marked_large},
    {"seen as a dark mark, umbra 5 to 8 arcsec", "", row_marked_small},
    {"**false**: marks taken for a spot, per 100 frames", "1", row_false_marks},
    {"spots of the list that are none, per 100 frames", "1", row_false_spots},
    {"dust taken for a spot, per 100 frames", "", row_dust_as_spot},
    {"dust in sight, taken for dust", "", row_dust_known},
    {"marks of spots taken for dust, per 100 frames", "", row_spots_as_dust},
    {"other marks left unplaced, per 100 frames", "", row_unplaced},
    {"marks of spots left unplaced, per 100 frames", "", row_unplaced_spots},
    {"spots with two names / names of two spots", "", row_two_names},
    {"**place** in the picture: rms / median / 95 % / largest", "rms 1.5 arcsec", row_picture},
    {"place on the disc, by the circle measured", "rms 1.5 arcsec", row_disc},
    {"**latitude**, within 60 deg of the centre", "rms 0.3 deg", row_latitude},
    {"of these within 0.3 deg", "", row_latitude_within},
    {"within 1 / 3 sigma", HONEST, row_latitude_honest},
    {"**longitude**, the same", "rms 0.3 deg", row_longitude},
    {"of these within 0.3 deg", "", row_longitude_within},
    {"within 1 / 3 sigma", HONEST, row_longitude_honest},
    {"**radius**", "", row_radius},
    {"within 1 / 3 sigma", HONEST, row_radius_honest},
    {"**area**", "", row_area},
    {"within 1 / 3 sigma", HONEST, row_area_honest},
    {"**covered and uncovered**: time of the centre", "rms 4 s", row_centre},
    {"within 1 / 3 sigma", HONEST, row_centre_honest},
    {"times of first and last touch", "", row_touch},
    {"within 1 / 3 sigma", HONEST, row_touch_honest},
    {"covered spots said to be covered", "", row_covers},
    {"spots never covered said not to be", "", row_misses},
    {"of all these said to be unsure", "", row_unsure},
    {"visible, on limb, covered: right in a frame", "", row_states},
    {"**turn** of a frame by its spots", "", row_turn},
    {"within 1 / 3 sigma", HONEST, row_turn_honest},
    {"turn of the same frames by their Moons alone", "", row_moon_turn},
    {"within 1 / 3 sigma", HONEST, row_moon_turn_honest},
    {"turns by spots with the wrong hand", "", row_hand},
    {"**mirror** of series right / wrong / open, with spots", "", row_mirror},
    {"without spots", "", row_mirror_alone},
};

void spot_table_print(const spot_tally tally[SPOT_KINDS]) {
    printf("\nSunspots in simulated series:\n\n");
    for (int k = 0; k < SPOT_KINDS; k++)
        if (tally[k].series > 0)
            printf("- %s: %s.\n", spot_kind_name[k], spot_kind_story[k]);
    printf(
        "\nTo be found is a spot that is fully visible, 0.03 solar radii or more from both limbs "
        "and within 75 deg\nof the centre, in a frame that has circles. The times of touches "
        "are those of ragged borders.\n\n| | target |");
    for (int k = 0; k < SPOT_KINDS; k++)
        if (tally[k].series > 0)
            printf(" %s |", spot_kind_name[k]);
    printf("\n|---|---|");
    for (int k = 0; k < SPOT_KINDS; k++)
        if (tally[k].series > 0)
            printf("---|");
    printf("\n");
    for (size_t i = 0; i < sizeof ROW / sizeof ROW[0]; i++) {
        printf("| %s | %s |", ROW[i].name, ROW[i].target);
        for (int k = 0; k < SPOT_KINDS; k++)
            if (tally[k].series > 0)
                printf(" %s |", ROW[i].make(&tally[k], (spot_kind)k).text);
        printf("\n");
    }
}

void spot_series_print(spot_kind kind, size_t number, const spot_tally *t) {
    spot_figures time = spot_errors_figures(&t->errors[SPOT_ERROR_CENTRE]);
    spot_figures latitude = spot_errors_figures(&t->errors[SPOT_ERROR_LATITUDE]);
    printf("%s %2zu: %s%zu of %zu frames, found %zu of %zu and %zu of %zu, false %zu (list %zu of "
           "%zu), unplaced %zu and %zu, latitude %.2f deg, times %.1f s, mirror %s, mixed %zu\n",
           spot_kind_name[kind], number, t->failed > 0 ? "FAILED " : "", t->measured, t->frames,
           t->found[SPOT_LARGE], t->due[SPOT_LARGE], t->found[SPOT_SMALL], t->due[SPOT_SMALL],
           t->false_marks, t->false_spots, t->listed, t->unplaced, t->unplaced_spots, latitude.rms,
           time.rms,
           t->mirror[SPOT_RIGHT] > 0   ? "right"
           : t->mirror[SPOT_WRONG] > 0 ? "wrong"
                                       : "open",
           t->mixed + t->two_names);
}
