/*
 * random.c - repeatable random numbers, one stream for each use.
 */
#include "base/base_internal.h"
#include "simulate/simulate_internal.h"

/* The finaliser of SplitMix64 (Steele, Lea & Flood 2014, OOPSLA, fig. 13): spreads nearby
 * numbers over all 64 bits, so that neighbouring frames share nothing. */
static uint64_t mix(uint64_t z) {
    z += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

gsl_rng *tl_simulate_random(int seed, size_t number, tl_simulate_stream stream) {
    tl_base_quiet_libraries();
    gsl_rng *random = gsl_rng_alloc(gsl_rng_taus2);
    if (random == NULL)
        return NULL;
    uint64_t key = mix(mix(mix((uint64_t)seed) + (uint64_t)number) + (uint64_t)stream);
    gsl_rng_set(random, (unsigned long)(key & 0xffffffffu));
    return random;
}
