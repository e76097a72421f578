/*
 * fuzz.h - what the fuzzing harnesses share: bytes as a file, and what must hold of a result.
 *
 * A harness is one program around LLVMFuzzerTestOneInput (libFuzzer, LLVM 14). It goes through the
 * same functions as the program does, so what it finds a user could meet. `make fuzz` runs them.
 */
#ifndef TWOLIMB_FUZZ_H
#define TWOLIMB_FUZZ_H

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "twolimb/frame.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* What must always hold. The fuzzer keeps the input that ends here. */
#define MUST(condition)                                                                            \
    do {                                                                                           \
        if (!(condition)) {                                                                        \
            fprintf(stderr, "%s:%d: does not hold: %s\n", __FILE__, __LINE__, #condition);         \
            abort();                                                                               \
        }                                                                                          \
    } while (0)

/* A file in memory alone, with a path to open it by. */
typedef struct fuzz_file {
    int descriptor;
    char path[40];
} fuzz_file;

static inline fuzz_file fuzz_file_make(const uint8_t *data, size_t size) {
    fuzz_file file = {.descriptor = memfd_create("fuzz", 0)};
    MUST(file.descriptor >= 0);
    MUST(write(file.descriptor, data, size) == (ssize_t)size);
    snprintf(file.path, sizeof file.path, "/proc/self/fd/%d", file.descriptor);
    return file;
}

static inline void fuzz_file_end(const fuzz_file *file) {
    close(file->descriptor);
}

/* The bytes as a string; free(). */
static inline char *fuzz_string(const uint8_t *data, size_t size) {
    char *text = malloc(size + 1);
    MUST(text != NULL);
    memcpy(text, data, size);
    text[size] = '\0';
    return text;
}

/* The years 1..9999, as seconds from 1970: what the library's dates can be
 * (date -u -d 0001-01-01 +%s and 9999-12-31, GNU coreutils), and a day for zones and exposures. */
static inline void must_be_instant(double t_s) {
    MUST(t_s >= -62135596800.0 - 86400.0 && t_s <= 253402300799.0 + 86400.0);
}

static inline void must_be_zone(bool known, int minutes) {
    MUST(known ? abs(minutes) <= 14 * 60 : minutes == 0);
}

static inline void must_be_camera_time(const tl_camera_time *time) {
    if (time->source == TL_TIME_NONE)
        return;
    must_be_instant(time->t_camera_s);
    MUST(isfinite(time->sigma_s) && time->sigma_s >= 0.0);
    must_be_zone(time->zone_known, time->zone_minutes);
}

static inline void must_be_site(const tl_site *site) {
    MUST(fabs(site->lat_rad) <= TL_PI / 2.0 && fabs(site->lon_rad) <= TL_PI);
    MUST(site->height_m >= -500.0 && site->height_m <= 9000.0);
}

static inline void must_be_printable(const char text[TL_CAMERA_TEXT_SIZE]) {
    const char *end = memchr(text, '\0', TL_CAMERA_TEXT_SIZE);
    MUST(end != NULL);
    for (const char *p = text; p < end; p++)
        MUST(*p >= ' ' && *p <= '~');
}

static inline void must_be_info(const tl_frame_info *info) {
    must_be_camera_time(&info->time);
    must_be_site(&info->site);
    if (info->has_gps_time)
        must_be_instant(info->gps_t_utc_s);
    MUST(info->orientation >= 1 && info->orientation <= 8);
    must_be_printable(info->make);
    must_be_printable(info->model);
    must_be_printable(info->serial);
    MUST(info->f_number >= 0.0 && isfinite(info->f_number));
    MUST(info->exposure_s >= 0.0 && isfinite(info->exposure_s));
    MUST(info->iso >= 0.0 && isfinite(info->iso));
    MUST(info->focal_length_mm >= 0.0 && isfinite(info->focal_length_mm));
}

#endif
