/*
 * track_accuracy_pool.c - errors of real circles, from the table of tool_accuracy.
 *
 * A frame enters as it was measured, with its own disc: nothing is scaled to another size, for a
 * larger disc only makes that part of an error smaller which comes from the pixels.
 */
#include <stdio.h>
#include <stdlib.h>

#include "track_accuracy.h"

enum { KINDS_MAX = 5, LINE_SIZE = 2048, COLUMNS_MAX = 60 };

static const struct {
    const char *name, *kind[KINDS_MAX];
    double disc_min_px, disc_max_px;
} POOL[POOLS] = {
    [POOL_HAND] = {"hand", {"eyepiece", "evening", "phone", "large"}, 500.0, 2000.0},
    [POOL_ALL_HAND] = {"hand, all", {"eyepiece", "evening", "phone"}, 0.0, 2000.0},
    [POOL_DEMO] = {"demo", {"evening"}, 0.0, 2000.0},
    [POOL_MOUNT] = {"mount", {"clean", "long", "altaz"}, 500.0, 2000.0},
    [POOL_SMALL] = {"small", {"eyepiece", "phone", "small", "bite", "long"}, 200.0, 400.0},
};

/* The fields of a line, in place; quotes are taken off, what is in them is not divided. */
static size_t split(char *line, char *field[COLUMNS_MAX]) {
    size_t count = 0;
    char *to = line;
    bool quoted = false;
    field[count++] = to;
    for (const char *from = line; *from != '\0' && *from != '\n'; from++) {
        if (*from == '"') {
            quoted = !quoted;
        } else if (*from == ',' && !quoted) {
            *to++ = '\0';
            if (count == COLUMNS_MAX) {
                return count;
            }
            field[count++] = to;
        } else {
            *to++ = *from;
        }
    }
    *to = '\0';
    return count;
}

enum { KIND, EXPECTED, STATUS, RADIUS, ERROR, SIGMA, NEEDED };
static const char *const COLUMN[NEEDED] = {"kind",          "expected", "status",
                                           "true_sun_r_px", "error_sr", "sigma_sr"};

static bool find_columns(char *header, size_t column[NEEDED]) {
    char *field[COLUMNS_MAX];
    size_t count = split(header, field), found = 0;
    for (size_t k = 0; k < NEEDED; k++) {
        for (size_t i = 0; i < count; i++) {
            if (strcmp(field[i], COLUMN[k]) == 0) {
                column[k] = i;
                found++;
                break;
            }
        }
    }
    return found == NEEDED;
}

static bool belongs(pool_name name, const char *kind, double disc_px) {
    for (size_t i = 0; i < KINDS_MAX && POOL[name].kind[i] != NULL; i++) {
        if (strcmp(kind, POOL[name].kind[i]) == 0) {
            return disc_px >= POOL[name].disc_min_px && disc_px <= POOL[name].disc_max_px;
        }
    }
    return false;
}

static void add(const char *const value[NEEDED], error_pool pool[POOLS]) {
    if (strcmp(value[STATUS], "measured") != 0 || strcmp(value[EXPECTED], "measured") != 0) {
        return;
    }
    for (size_t k = 0; k < POOLS; k++) {
        error_pool *p = &pool[k];
        if (p->count < POOL_SIZE && belongs((pool_name)k, value[KIND], 2.0 * atof(value[RADIUS]))) {
            p->frame[p->count].error_sr = atof(value[ERROR]);
            p->frame[p->count++].sigma_sr = atof(value[SIGMA]);
        }
    }
}

bool pools_read(const char *path, error_pool pool[POOLS]) {
    char line[LINE_SIZE], *field[COLUMNS_MAX];
    size_t column[NEEDED] = {0};
    FILE *file = fopen(path, "r");
    bool whole =
        file != NULL && fgets(line, sizeof line, file) != NULL && find_columns(line, column);
    while (whole && fgets(line, sizeof line, file) != NULL) {
        size_t count = split(line, field);
        const char *value[NEEDED];
        for (size_t k = 0; k < NEEDED; k++) {
            value[k] = column[k] < count ? field[column[k]] : "";
        }
        add(value, pool);
    }
    if (file != NULL) {
        fclose(file);
    }
    for (size_t k = 0; k < POOLS; k++) {
        whole = whole && pool[k].count > 0;
    }
    return whole;
}

void pools_print(const error_pool pool[POOLS]) {
    for (size_t k = 0; k < POOLS; k++) {
        double sum = 0.0, error2 = 0.0, n = (double)pool[k].count;
        size_t one = 0, three = 0;
        for (size_t i = 0; i < pool[k].count; i++) {
            double error = pool[k].frame[i].error_sr, z = fabs(error) / pool[k].frame[i].sigma_sr;
            sum += error;
            error2 += error * error;
            one += z < 1.0 ? 1 : 0;
            three += z < 3.0 ? 1 : 0;
        }
        printf("    %-10s %4zu  %4.0f to %4.0f px  %.1e  %+.1e  %3.0f %3.0f  ", POOL[k].name,
               pool[k].count, POOL[k].disc_min_px, POOL[k].disc_max_px, sqrt(error2 / n), sum / n,
               100.0 * (double)one / n, 100.0 * (double)three / n);
        for (size_t i = 0; i < KINDS_MAX && POOL[k].kind[i] != NULL; i++) {
            printf(" %s", POOL[k].kind[i]);
        }
        printf("\n");
    }
}

circle_error pool_draw(const void *context, gsl_rng *rng) {
    const error_pool *pool = context;
    size_t along = gsl_rng_uniform_int(rng, pool->count);
    size_t across = gsl_rng_uniform_int(rng, pool->count);
    double sigma = pool->frame[along].sigma_sr;
    double side = gsl_rng_uniform(rng) < 0.5 ? -1.0 : 1.0;
    return (circle_error){.along_sr = pool->frame[along].error_sr,
                          .across_sr = side * sigma * pool->frame[across].error_sr /
                                       pool->frame[across].sigma_sr,
                          .sigma_sr = sigma};
}

circle_error pool_draw_gaussian(const void *context, gsl_rng *rng) {
    const error_pool *pool = context;
    circle_error e = {.sigma_sr = pool->frame[gsl_rng_uniform_int(rng, pool->count)].sigma_sr};
    e.along_sr = gsl_ran_gaussian(rng, e.sigma_sr);
    e.across_sr = gsl_ran_gaussian(rng, e.sigma_sr);
    return e;
}
