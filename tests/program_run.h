/*
 * program_run.h - the built program in a folder of its own: started, stopped, and what it left.
 *
 * The program is $TWOLIMB_BUILD/twolimb, by default build/twolimb.
 */
#ifndef TWOLIMB_TESTS_PROGRAM_RUN_H
#define TWOLIMB_TESTS_PROGRAM_RUN_H

#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <time.h>

#include "picture.h"

enum { RUN_OUTPUT_SIZE = 65536 };

static scratch run_home;                 /* the working folder of every run */
static char run_output[RUN_OUTPUT_SIZE]; /* of the last run that was waited for, both streams */
static char run_program[PATH_SIZE];

static inline void run_setup(void) {
    const char *build = getenv("TWOLIMB_BUILD");
    char here[PATH_SIZE / 2];
    assert_non_null(getcwd(here, sizeof here));
    const bool absolute = build != NULL && build[0] == '/';
    snprintf(run_program, sizeof run_program, "%s%s%s/twolimb", absolute ? "" : here,
             absolute ? "" : "/", build != NULL ? build : "build");
    scratch_make(&run_home);
}

static inline void home_path(const char *name, char path[PATH_SIZE]) {
    scratch_path(&run_home, name, path);
}

static inline void home_put(const char *name, const void *bytes, size_t size) {
    char path[PATH_SIZE];
    home_path(name, path);
    write_file(path, bytes, size);
}

static inline void home_folder(const char *name) {
    char path[PATH_SIZE];
    home_path(name, path);
    assert_int_equal(mkdir(path, 0755), 0);
}

static inline void home_remove(const char *name) {
    char path[PATH_SIZE];
    home_path(name, path);
    remove_tree(path);
}

static inline bool home_has(const char *name) {
    char path[PATH_SIZE];
    struct stat about;
    home_path(name, path);
    return lstat(path, &about) == 0;
}

/* A command of the shell in the home, "$PROGRAM" being the program; started, its output going to
 * the file "output" there. */
static inline pid_t run_start(const char *command) {
    char path[PATH_SIZE];
    home_path("output", path);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        /* Tests started in the background of a script, or to outlive their terminal, ignore these.
         */
        signal(SIGINT, SIG_DFL);
        signal(SIGHUP, SIG_DFL);
        const int to = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666);
        const bool ready = to >= 0 && dup2(to, STDOUT_FILENO) >= 0 &&
                           dup2(to, STDERR_FILENO) >= 0 && chdir(run_home.folder) == 0 &&
                           setenv("PROGRAM", run_program, 1) == 0;
        if (ready)
            execl("/bin/sh", "sh", "-c", command, (char *)NULL);
        _exit(127);
    }
    return child;
}

/* Wait for its end; the status of waitpid. */
static inline int run_wait(pid_t child) {
    char path[PATH_SIZE];
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    home_path("output", path);
    FILE *file = fopen(path, "r");
    run_output[0] = '\0';
    if (file != NULL) {
        run_output[fread(run_output, 1, RUN_OUTPUT_SIZE - 1, file)] = '\0';
        fclose(file);
    }
    unlink(path);
    return status;
}

/* Run it to its end; the exit status. */
static inline int run_shell(const char *command) {
    const int status = run_wait(run_start(command));
    if (!WIFEXITED(status))
        fail_msg("%s did not exit: %d\n%s", command, status, run_output);
    return WEXITSTATUS(status);
}

static inline void run_pause_ms(long ms) {
    const struct timespec pause = {.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000L};
    nanosleep(&pause, NULL);
}

/* The name of an entry of the home that begins so, has `within` in it, and has an entry itself if
 * `filled`; false if there is none. */
static inline bool run_find(const char *start, const char *within, bool filled,
                            char name[PATH_SIZE]) {
    const char *path = run_home.folder;
    char below[PATH_SIZE];
    bool found = false;
    DIR *dir = opendir(path);
    assert_non_null(dir);
    for (const struct dirent *e = readdir(dir); e != NULL && !found; e = readdir(dir)) {
        if (strncmp(e->d_name, start, strlen(start)) != 0 || strstr(e->d_name, within) == NULL)
            continue;
        path_join(path, e->d_name, below);
        DIR *inner = filled ? opendir(below) : NULL;
        size_t entries = 0;
        while (inner != NULL && readdir(inner) != NULL)
            entries++;
        if (inner != NULL)
            closedir(inner);
        found = !filled || entries > 2; /* . and .. */
        if (found)
            snprintf(name, PATH_SIZE, "%.255s", e->d_name);
    }
    closedir(dir);
    return found;
}

/* What of the files below a folder is to be the same. */
typedef enum run_sameness { SAME_BYTES, SAME_BYTES_AND_TIMES } run_sameness;

/* FNV-1a of 64 bits over that of all files, in any order. */
static inline uint64_t run_hash(const char *folder, run_sameness same) {
    uint64_t sum = 0;
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    for (const struct dirent *e = readdir(dir); e != NULL; e = readdir(dir)) {
        char path[PATH_SIZE];
        struct stat about;
        uint64_t h = 14695981039346656037u;
        if (strcmp(e->d_name, ".") == 0 || strcmp(e->d_name, "..") == 0)
            continue;
        path_join(folder, e->d_name, path);
        for (const char *c = e->d_name; *c != '\0'; c++)
            h = (h ^ (unsigned char)*c) * 1099511628211u;
        assert_int_equal(lstat(path, &about), 0);
        if (S_ISDIR(about.st_mode)) {
            h = (h ^ run_hash(path, same)) * 1099511628211u;
        } else if (S_ISREG(about.st_mode)) {
            FILE *file = fopen(path, "rb");
            assert_non_null(file);
            for (int c = fgetc(file); c != EOF; c = fgetc(file))
                h = (h ^ (uint64_t)c) * 1099511628211u;
            fclose(file);
            if (same == SAME_BYTES_AND_TIMES)
                h = (h ^ (uint64_t)about.st_mtim.tv_sec ^ (uint64_t)about.st_mtim.tv_nsec) *
                    1099511628211u;
        }
        sum += h;
    }
    closedir(dir);
    return sum;
}

static inline uint64_t home_hash(const char *folder, run_sameness same) {
    char path[PATH_SIZE];
    home_path(folder, path);
    return run_hash(path, same);
}

/* The Sun with the Moon before it, `step` of its way on. */
static inline void home_put_eclipse(const char *name, double step) {
    const double sun[3] = {300.0, 250.0, 150.0}, moon[3] = {420.0 - 10.0 * step, 250.0, 152.0};
    const blob picture = jpeg_eclipse(sun, moon);
    home_put(name, picture.bytes, picture.size);
    free(picture.bytes);
}

#endif
