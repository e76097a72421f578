/*
 * make bench, sky: processor time of one prediction beyond the start of the program, of a search
 * over 100 years at one place, of one instant and of one question to a table.
 *
 *   tool_sky_speed PROGRAM
 */
#define _XOPEN_SOURCE 700 /* getrusage */

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "twolimb/sky.h"

static const double limit_prediction_s = 0.020, limit_search_s = 3.0;

static double cpu_s(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double children_s(void) {
    struct rusage used;
    getrusage(RUSAGE_CHILDREN, &used);
    return (double)(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
           1e-6 * (double)(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
}

/* One run of the program with these arguments, NULL at their end; negative if it fails. */
static double process_s(char *const argv[]) {
    double start = children_s();
    pid_t child = fork();
    if (child == 0) {
        int nowhere = open("/dev/null", O_WRONLY);
        dup2(nowhere, STDOUT_FILENO);
        execv(argv[0], argv);
        _exit(127);
    }
    int status = 0;
    if (child < 0 || waitpid(child, &status, 0) != child || status != 0)
        return -1.0;
    return children_s() - start;
}

/* Search through 100 years from one place; the number of eclipses found goes to `count`. */
static double search_s(const tl_site *site, int *count) {
    double from_s = 0.0, to_s = 100.0 * 365.25 * TL_DAY_S, start = cpu_s();
    tl_circumstances eclipse;
    *count = 0;
    while (tl_sky_next_eclipse(site, from_s, NULL, &eclipse) == TL_OK) {
        from_s = eclipse.contact[TL_MAX].t_utc_s;
        if (from_s > to_s)
            break;
        ++*count;
    }
    return cpu_s() - start;
}

static double instant_s(const tl_site *site) {
    enum { TIMES = 200 };
    double start = cpu_s();
    tl_sky sky;
    for (int i = 0; i < TIMES; i++)
        tl_sky_at(site, i * 1e6, NULL, &sky);
    return (cpu_s() - start) / TIMES;
}

static double question_s(const tl_site *site) {
    enum { TIMES = 20000 };
    tl_sky_table *table = NULL;
    tl_sky sky;
    if (tl_sky_table_make(site, 0.0, TIMES, NULL, &table) != TL_OK)
        return -1.0;
    double start = cpu_s();
    for (int i = 0; i < TIMES; i++)
        tl_sky_table_at(table, i, &sky);
    double used = (cpu_s() - start) / TIMES;
    tl_sky_table_free(table);
    return used;
}

int main(int argc, char **argv) {
    if (argc != 2) {
        fprintf(stderr, "usage: tool_sky_speed PROGRAM\n");
        return 1;
    }
    const tl_site site = {TL_SITE_GIVEN, 52.0 * TL_DEG, 5.0 * TL_DEG, 0.0};
    char version[] = "--version", predict[] = "predict", at[] = "--site", place[] = "52,5",
         on[] = "--date", day[] = "1999-08-11";
    enum { RUNS = 20 };
    double begin = 0.0, whole = 0.0;
    for (int i = 0; i < RUNS; i++) {
        double one = process_s((char *[]){argv[1], version, NULL});
        double other = process_s((char *[]){argv[1], predict, at, place, on, day, NULL});
        if (one < 0.0 || other < 0.0) {
            fprintf(stderr, "tool_sky_speed: cannot run %s\n", argv[1]);
            return 1;
        }
        begin += one / RUNS;
        whole += other / RUNS;
    }
    double prediction = whole - begin;
    int count = 0;
    double search = search_s(&site, &count);
    printf("Sky, processor time:\n");
    printf("  one prediction                 %8.2f ms   limit %.0f\n", 1e3 * prediction,
           1e3 * limit_prediction_s);
    printf("    before it, the program's start %6.2f ms\n", 1e3 * begin);
    printf("  search through 100 years       %8.2f s    limit %.0f (%d eclipses)\n", search,
           limit_search_s, count);
    printf("  one instant                    %8.3f ms\n", 1e3 * instant_s(&site));
    printf("  one question to a table        %8.2f us\n", 1e6 * question_s(&site));
    return prediction > limit_prediction_s || search > limit_search_s;
}
