/* Root and minimum of a function of the tabulated sky, by Brent's methods (GSL). */
#include "sky/sky_internal.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_min.h>
#include <gsl/gsl_roots.h>

/* Contacts are wanted to 0.2 s; a millisecond is printed. */
static const double root_tolerance_s = 1e-5;
/* A minimum is no sharper than the square root of the rounding: about 1e-3 s. */
static const double minimum_tolerance_s = 1e-3;
enum { MAX_STEPS = 100 };

typedef struct request {
    const tl_sky_table *table;
    double (*value)(const tl_sky *);
    double origin_s; /* times are counted from here, to keep their digits */
} request;

static double evaluate(double t_s, void *context) {
    const request *asked = context;
    tl_sky sky;
    if (tl_sky_table_at(asked->table, asked->origin_s + t_s, &sky) != TL_OK)
        return GSL_NAN;
    return asked->value(&sky);
}

tl_status tl_sky_root(const tl_sky_table *table, double (*value)(const tl_sky *), double from_s,
                      double to_s, double *t_utc_s) {
    request asked = {table, value, from_s};
    gsl_function function = {evaluate, &asked};
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    if (solver == NULL)
        return TL_ERR_MEMORY;
    int code = gsl_root_fsolver_set(solver, &function, 0.0, to_s - from_s);
    bool done = false;
    for (int i = 0; i < MAX_STEPS && code == GSL_SUCCESS && !done; i++) {
        code = gsl_root_fsolver_iterate(solver);
        done = gsl_root_test_interval(gsl_root_fsolver_x_lower(solver),
                                      gsl_root_fsolver_x_upper(solver), root_tolerance_s,
                                      0.0) == GSL_SUCCESS;
    }
    double found = gsl_root_fsolver_root(solver);
    gsl_root_fsolver_free(solver);
    if (!done)
        return TL_ERR_NO_FIT;
    *t_utc_s = from_s + found;
    return TL_OK;
}

tl_status tl_sky_minimum(const tl_sky_table *table, double (*value)(const tl_sky *), double from_s,
                         double guess_s, double to_s, double *t_utc_s) {
    request asked = {table, value, from_s};
    gsl_function function = {evaluate, &asked};
    gsl_min_fminimizer *solver = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
    if (solver == NULL)
        return TL_ERR_MEMORY;
    int code = gsl_min_fminimizer_set(solver, &function, guess_s - from_s, 0.0, to_s - from_s);
    bool done = false;
    for (int i = 0; i < MAX_STEPS && code == GSL_SUCCESS && !done; i++) {
        code = gsl_min_fminimizer_iterate(solver);
        done = gsl_min_test_interval(gsl_min_fminimizer_x_lower(solver),
                                     gsl_min_fminimizer_x_upper(solver), minimum_tolerance_s,
                                     0.0) == GSL_SUCCESS;
    }
    double found = gsl_min_fminimizer_x_minimum(solver);
    gsl_min_fminimizer_free(solver);
    if (!done)
        return TL_ERR_NO_FIT;
    *t_utc_s = from_s + found;
    return TL_OK;
}
