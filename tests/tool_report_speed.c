/*
 * make bench: what the report alone takes once a series has been analysed: wall and processor time,
 * memory, and the bytes of what it wrote.
 *
 *   tool_report_speed FOLDER LAT LON OUT [FRAMES]
 *
 * With FRAMES the folder's pictures are taken again and again up to that number. Memory is the most
 * that a process holds which has the analysed series and writes the report.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "twolimb/analyse.h"

static double now_s(clockid_t clock) {
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* The list's files, over and over. */
static bool repeat(tl_file_list *files, size_t count) {
    char **path = calloc(count, sizeof *path);
    for (size_t i = 0; path && i < count; i++)
        path[i] = strdup(files->path[i % files->count]);
    if (!path)
        return false;
    tl_file_list_free(files);
    *files = (tl_file_list){.path = path, .count = count};
    return true;
}

static double megabytes(const char *folder, const char *name) {
    char path[4096];
    struct stat info;
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return stat(path, &info) == 0 ? 1e-6 * (double)info.st_size : 0.0;
}

/* In a process of its own, whose memory starts with that of the series. */
static int write_and_tell(const tl_sequence *sequence, const char *out) {
    const double wall = now_s(CLOCK_MONOTONIC), cpu = now_s(CLOCK_PROCESS_CPUTIME_ID);
    struct rusage before, after;
    getrusage(RUSAGE_SELF, &before);
    const tl_status status = tl_report_write(sequence, out, TL_REPORT_WHOLE, 0);
    getrusage(RUSAGE_SELF, &after);
    if (status != TL_OK) {
        fprintf(stderr, "%s\n", tl_status_text(status));
        return 1;
    }
    printf("report of %zu frames, of which %zu measured\n", sequence->count,
           tl_sequence_count(sequence, TL_LIMB_MEASURED));
    printf("  wall time       %6.2f s\n", now_s(CLOCK_MONOTONIC) - wall);
    printf("  processor time  %6.2f s\n", now_s(CLOCK_PROCESS_CPUTIME_ID) - cpu);
    printf("  memory          %6.0f MB, %.0f MB of it the series\n", 1e-3 * (double)after.ru_maxrss,
           1e-3 * (double)before.ru_maxrss);
    printf("  report.html     %6.2f MB\n", megabytes(out, "report.html"));
    printf("  talk.html       %6.2f MB\n", megabytes(out, "talk.html"));
    printf("  moving.gif      %6.2f MB\n", megabytes(out, "moving.gif"));
    return 0;
}

int main(int argc, char **argv) {
    if (argc < 5) {
        fprintf(stderr, "tool_report_speed FOLDER LAT LON OUT [FRAMES]\n");
        return 1;
    }
    const char *argument = argv[1], *bad = NULL;
    tl_file_list files = {0};
    tl_sequence sequence;
    if (tl_file_list_make(&argument, 1, &bad, &files) != TL_OK || files.count == 0 ||
        (argc > 5 && !repeat(&files, (size_t)atol(argv[5]))))
        return 1;
    tl_analyse_options options = {.keep_copies = true};
    options.track.site = (tl_site){.lat_rad = atof(argv[2]) * TL_DEG,
                                   .lon_rad = atof(argv[3]) * TL_DEG,
                                   .source = TL_SITE_GIVEN};
    const tl_status status = tl_analyse(&files, &options, &sequence);
    tl_file_list_free(&files);
    if (status != TL_OK)
        return 1;
    fflush(stdout);
    const pid_t child = fork();
    if (child == 0)
        exit(write_and_tell(&sequence, argv[4]));
    int state = 1;
    if (child > 0)
        waitpid(child, &state, 0);
    tl_sequence_free(&sequence);
    return state == 0 ? 0 : 1;
}
