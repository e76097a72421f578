/*
 * parallel.c - one loop over several processors.
 */
#include <pthread.h>
#include <stdatomic.h>
#include <unistd.h>

#include "twolimb/base.h"

enum { THREADS_MAX = 64 };

typedef struct work {
    atomic_size_t next;
    size_t count;
    void (*job)(void *context, size_t i);
    void *context;
} work;

static void *run_jobs(void *argument) {
    work *w = argument;
    for (size_t i = atomic_fetch_add(&w->next, 1); i < w->count; i = atomic_fetch_add(&w->next, 1))
        w->job(w->context, i);
    return NULL;
}

void tl_parallel(size_t count, int threads, void (*job)(void *context, size_t i), void *context) {
    work w = {.count = count, .job = job, .context = context};
    atomic_init(&w.next, 0);
    const long wanted = threads > 0 ? threads : sysconf(_SC_NPROCESSORS_ONLN);
    pthread_t worker[THREADS_MAX - 1];
    size_t workers = 0;
    /* The caller works too, so what cannot be started is only slower. */
    while (workers + 1 < count && (long)workers + 1 < wanted && workers < THREADS_MAX - 1 &&
           pthread_create(&worker[workers], NULL, run_jobs, &w) == 0)
        workers++;
    run_jobs(&w);
    while (workers > 0)
        pthread_join(worker[--workers], NULL);
}
