/*
 * memory_fail.h - for the tests in which every allocation fails in turn.
 *
 * Each trial is a child process, so that a crash is one failed trial. Allocations of the project
 * itself come by the linker's --wrap (see the Makefile); those that libraries make for it, by a
 * malloc of this file's own that looks who called. AddressSanitizer brings its own malloc, so there
 * only the project's are made to fail; but there, leaks count too.
 */
#ifndef TWOLIMB_TESTS_MEMORY_FAIL_H
#define TWOLIMB_TESTS_MEMORY_FAIL_H

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <link.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include <gsl/gsl_min.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <gsl/gsl_rng.h>
#include <gsl/gsl_roots.h>
#include <gsl/gsl_spline.h>

#include "twolimb/simulate.h"

#if defined(__SANITIZE_ADDRESS__)
#include <sanitizer/lsan_interface.h>
#endif

/* ---- allocations that fail ---- */

static atomic_long allocations_left = -1; /* < 0: none fails */
static atomic_long allocations_seen;

/* Here a debugger sees the allocation that fails. */
static __attribute__((noinline)) bool refuse(void) {
    errno = ENOMEM;
    return true;
}

static bool refused(void) {
    atomic_fetch_add(&allocations_seen, 1);
    return atomic_load(&allocations_left) >= 0 && atomic_fetch_sub(&allocations_left, 1) == 0 &&
           refuse();
}

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);

void *__wrap_malloc(size_t size) {
    return refused() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size) {
    return refused() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size) {
    return refused() ? NULL : __real_realloc(old, size);
}

/* GSL is asked for its objects, not for memory: inside, it does not look whether it got any,
 * because its usual handler ends the program (gsl_multifit_nlinear_covar, to name one, follows a
 * NULL). So its own allocations never fail here, but every request of the project for an object
 * may. */
/* NOLINTBEGIN(bugprone-macro-parentheses): a type, and lists in parentheses of their own. */
#define FAIL_IN_TURN(type, name, parameters, arguments)                                            \
    type *__real_##name parameters;                                                                \
    type *__wrap_##name parameters;                                                                \
    type *__wrap_##name parameters {                                                               \
        return refused() ? NULL : __real_##name arguments;                                         \
    }
/* NOLINTEND(bugprone-macro-parentheses) */
FAIL_IN_TURN(gsl_matrix, gsl_matrix_alloc, (size_t n, size_t m), (n, m))
FAIL_IN_TURN(gsl_matrix, gsl_matrix_calloc, (size_t n, size_t m), (n, m))
FAIL_IN_TURN(gsl_vector, gsl_vector_alloc, (size_t n), (n))
FAIL_IN_TURN(gsl_vector, gsl_vector_calloc, (size_t n), (n))
FAIL_IN_TURN(gsl_rng, gsl_rng_alloc, (const gsl_rng_type *type), (type))
FAIL_IN_TURN(gsl_min_fminimizer, gsl_min_fminimizer_alloc, (const gsl_min_fminimizer_type *type),
             (type))
FAIL_IN_TURN(gsl_root_fsolver, gsl_root_fsolver_alloc, (const gsl_root_fsolver_type *type), (type))
FAIL_IN_TURN(gsl_spline, gsl_spline_alloc, (const gsl_interp_type *type, size_t n), (type, n))
FAIL_IN_TURN(gsl_multifit_linear_workspace, gsl_multifit_linear_alloc, (size_t n, size_t p), (n, p))
FAIL_IN_TURN(gsl_multifit_nlinear_workspace, gsl_multifit_nlinear_alloc,
             (const gsl_multifit_nlinear_type *type,
              const gsl_multifit_nlinear_parameters *parameters, size_t n, size_t p),
             (type, parameters, n, p))

/* Of the C library, the calls of the project that allocate. */
FAIL_IN_TURN(char, strdup, (const char *text), (text))
FAIL_IN_TURN(char, realpath, (const char *path, char *resolved), (path, resolved))
FAIL_IN_TURN(FILE, fopen, (const char *path, const char *mode), (path, mode))
FAIL_IN_TURN(FILE, open_memstream, (char **bytes, size_t *size), (bytes, size))
FAIL_IN_TURN(DIR, opendir, (const char *path), (path))
ssize_t __real_getline(char **line, size_t *room, FILE *stream);
ssize_t __wrap_getline(char **line, size_t *room, FILE *stream);
ssize_t __wrap_getline(char **line, size_t *room, FILE *stream) {
    return refused() ? -1 : __real_getline(line, room, stream);
}

#if !defined(__SANITIZE_ADDRESS__)

/* The libraries that answer a failed allocation in a way the program can hear. */
static const char *const hearing[] = {"/libjpeg.so", "/libpng16.so", "/libz.so",
                                      "/libexif.so", "/libgif.so",   "/libcjson.so"};
enum { RANGES_MAX = 32 };
static struct {
    uintptr_t start, end;
    bool silent; /* drops what it cannot grow without a word: libexif's table of entries */
} range[RANGES_MAX];
static int range_count; /* 0: none of theirs fails */

static int add_range(struct dl_phdr_info *info, size_t size, void *context) {
    (void)size;
    (void)context;
    for (size_t i = 0; i < sizeof hearing / sizeof hearing[0]; i++)
        for (int k = 0; strstr(info->dlpi_name, hearing[i]) != NULL && k < info->dlpi_phnum; k++) {
            const ElfW(Phdr) *part = &info->dlpi_phdr[k];
            if (part->p_type != PT_LOAD || (part->p_flags & PF_X) == 0)
                continue;
            assert_true(range_count < RANGES_MAX);
            range[range_count].start = info->dlpi_addr + part->p_vaddr;
            range[range_count].end = range[range_count].start + part->p_memsz;
            range[range_count].silent = strcmp(hearing[i], "/libexif.so") == 0;
            range_count++;
        }
    return 0;
}

static void find_libraries(void) {
    dl_iterate_phdr(add_range, NULL);
    assert_true(range_count > 0);
}

static bool refused_to(const void *caller, bool growing) {
    const uintptr_t at = (uintptr_t)caller;
    for (int i = 0; i < range_count; i++)
        if (at >= range[i].start && at < range[i].end)
            return !(growing && range[i].silent) && refused();
    return false;
}

/* glibc's own, which these take the place of. */
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);

void *malloc(size_t size) {
    return refused_to(__builtin_return_address(0), false) ? NULL : __libc_malloc(size);
}

void *calloc(size_t count, size_t size) {
    return refused_to(__builtin_return_address(0), false) ? NULL : __libc_calloc(count, size);
}

void *realloc(void *old, size_t size) {
    return refused_to(__builtin_return_address(0), old != NULL) ? NULL : __libc_realloc(old, size);
}

#else

static void find_libraries(void) {
}

#endif

/* ---- one trial, in a child ---- */

enum { PATH_SIZE = 300, CRASHED = 200, LEAKED = 201, SLOW_S = 100 };

static char folder[PATH_SIZE / 2]; /* everything these tests write */

static void path_of(const char *name, char path[PATH_SIZE]) {
    snprintf(path, PATH_SIZE, "%s/%s", folder, name);
}

static void redirect(int descriptor, const char *name) {
    char path[PATH_SIZE];
    path_of(name, path);
    const int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (file < 0 || dup2(file, descriptor) < 0)
        _exit(CRASHED);
    close(file);
}

/* Runs with failing allocations; its answer is the exit status of the child, below CRASHED. */
typedef int job(const void *context);

static int run_failing(job *run, const void *context, long n, long *seen) {
    redirect(STDOUT_FILENO, "stdout");
    redirect(STDERR_FILENO, "stderr");
    alarm(SLOW_S);
    atomic_store(&allocations_seen, 0);
    atomic_store(&allocations_left, n);
    int answer = run(context);
    atomic_store(&allocations_left, -1);
    *seen = atomic_load(&allocations_seen);
    fflush(NULL);
#if defined(__SANITIZE_ADDRESS__)
    if (__lsan_do_recoverable_leak_check())
        answer = LEAKED;
#endif
    return answer;
}

/* The n-th allocation (n < 0: none) fails while `run` runs. Its answer, LEAKED or CRASHED; `*seen`:
 * allocations made. */
static int trial(job *run, const void *context, long n, long *seen) {
    int channel[2];
    if (n >= 0 && getenv("TWOLIMB_HERE") != NULL)
        exit(run_failing(run, context, n, seen));
    assert_int_equal(pipe(channel), 0);
    fflush(NULL);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        long count = 0;
        const int answer = run_failing(run, context, n, &count);
        const ssize_t written = write(channel[1], &count, sizeof count);
        _exit(written == (ssize_t)sizeof count ? answer : CRASHED);
    }
    close(channel[1]);
    *seen = 0;
    const ssize_t got = read(channel[0], seen, sizeof *seen);
    close(channel[0]);
    int how;
    assert_int_equal(waitpid(child, &how, 0), child);
    return got == (ssize_t)sizeof *seen && WIFEXITED(how) ? WEXITSTATUS(how) : CRASHED;
}

/* Where trials start and how far apart they are. TWOLIMB_FAIL=FROM in the environment: every
 * allocation from that one; with TWOLIMB_HERE=1 as well: that one alone, in this process, for a
 * debugger to stop in refuse(). A prime stride meets the places of a loop in turn. */
static long first_trial(void) {
    const char *from = getenv("TWOLIMB_FAIL");
    return from != NULL ? atol(from) : 0;
}

static long next_trial(long n, long stride) {
    return getenv("TWOLIMB_FAIL") != NULL ? n + 1 : n + stride;
}

/* Print what went wrong, with what the child said of it. */
static void complain(const char *what, long n, long of, int answer) {
    char path[PATH_SIZE], text[2000];
    path_of("stderr", path);
    FILE *file = fopen(path, "r");
    const size_t size = file != NULL ? fread(text, 1, sizeof text - 1, file) : 0;
    text[size] = '\0';
    if (file != NULL)
        fclose(file);
    print_error("allocation %ld of %ld: %s (%d)\n%s", n, of, what, answer, text);
}

static void remove_tree(const char *path) {
    struct dirent **entry;
    const int count = scandir(path, &entry, NULL, NULL);
    for (int i = 0; i < count; i++) {
        char inside[2 * PATH_SIZE];
        snprintf(inside, sizeof inside, "%.*s/%s", PATH_SIZE, path, entry[i]->d_name);
        if (strcmp(entry[i]->d_name, ".") != 0 && strcmp(entry[i]->d_name, "..") != 0 &&
            unlink(inside) != 0)
            remove_tree(inside);
        free(entry[i]);
    }
    if (count >= 0)
        free(entry);
    rmdir(path);
}

/* ---- an invented series ---- */

/* As small as can be measured. */
static const char scene_text[] =
    "{\"site\": {\"lat_deg\": 62.0, \"lon_deg\": -6.8}, \"day\": \"2026-08-12\",\n"
    " \"spots\": [{\"latitude_deg\": 14, \"longitude_deg\": -24, \"radius_deg\": 4}],\n"
    " \"defaults\": {\"width\": 100, \"height\": 96, \"sun_r_px\": 40, \"blur_px\": 1.2,\n"
    "   \"noise\": {\"full_well_e\": 30000}, \"clock\": {\"zone\": \"+01:00\"}, \"gps\": true},\n"
    " \"sets\": [{\"start\": \"C1+1200\", \"stop\": \"C4-1200\", \"count\": 3}]}\n";
static char pictures_path[PATH_SIZE];

static void write_text(const char *name, const char *text, char path[PATH_SIZE]) {
    path_of(name, path);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static void make_pictures(void) {
    char message[TL_SIMULATE_MESSAGE_SIZE], scene_path[PATH_SIZE];
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/twolimb-XXXXXX", base != NULL ? base : "/tmp");
    assert_non_null(mkdtemp(folder));
    write_text("scene.json", scene_text, scene_path);
    path_of("pictures", pictures_path);
    assert_int_equal(tl_simulate(scene_path, pictures_path, message), TL_OK);
    find_libraries();
}

#endif
