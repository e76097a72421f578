/*
 * analyse_same_bytes.c - files that are the same byte for byte: found before any is decoded.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "analyse_steps.h"
#include "frame/frame_internal.h"

enum { BLOCK = 65536, HEAD = 4096 };

/* A file and what tells it from others, as far as that had to be found out. */
typedef struct file {
    size_t frame;
    off_t size;
    uint64_t head, all; /* hashes of its beginning and of the whole */
    int rank;           /* excluded; then how much of a time it has without EXIF: the more, the
                           rather it stands for all */
} file;

/* FNV-1a (Fowler, Noll, Vo; offset basis and prime of the 64-bit form). 0: it cannot be read. */
static uint64_t hash_file(const char *path, size_t most) {
    static const uint64_t BASIS = 14695981039346656037u, PRIME = 1099511628211u;
    unsigned char *block = malloc(BLOCK);
    FILE *stream = block != NULL ? fopen(path, "rb") : NULL;
    uint64_t h = stream != NULL ? BASIS : 0;
    for (size_t n; stream != NULL && most > 0; most -= n) {
        n = fread(block, 1, most < BLOCK ? most : BLOCK, stream);
        for (size_t i = 0; i < n; i++)
            h = (h ^ block[i]) * PRIME;
        if (n == 0)
            break;
    }
    if (stream != NULL)
        fclose(stream);
    free(block);
    return h;
}

bool tl_analyse_is_same_file(const char *one, const char *other) {
    struct stat about_a, about_b;
    if (stat(one, &about_a) != 0 || stat(other, &about_b) != 0 || !S_ISREG(about_a.st_mode) ||
        !S_ISREG(about_b.st_mode) || about_a.st_size != about_b.st_size)
        return false;
    unsigned char *a = malloc(2 * BLOCK), *b = a != NULL ? a + BLOCK : NULL;
    FILE *in_a = a != NULL ? fopen(one, "rb") : NULL, *in_b = a != NULL ? fopen(other, "rb") : NULL;
    bool same = in_a != NULL && in_b != NULL;
    for (size_t n = 1; same && n > 0;) {
        n = fread(a, 1, BLOCK, in_a);
        same =
            fread(b, 1, BLOCK, in_b) == n && memcmp(a, b, n) == 0 && !ferror(in_a) && !ferror(in_b);
    }
    if (in_a != NULL)
        fclose(in_a);
    if (in_b != NULL)
        fclose(in_b);
    free(a);
    return same;
}

static int by_content(const void *one, const void *other) {
    const file *a = one, *b = other;
    if (a->size != b->size)
        return a->size < b->size ? -1 : 1;
    if (a->head != b->head)
        return a->head < b->head ? -1 : 1;
    if (a->all != b->all)
        return a->all < b->all ? -1 : 1;
    if (a->rank != b->rank)
        return a->rank > b->rank ? -1 : 1;
    return (a->frame > b->frame) - (a->frame < b->frame);
}

typedef struct hashing {
    const tl_sequence *sequence;
    file *file;
    size_t count;
    bool whole; /* else the beginning */
} hashing;

static bool alike(const file *a, const file *b) {
    return a->size == b->size && a->head == b->head && a->all == b->all;
}

/* Only what is like its neighbour so far can have the same bytes. */
static void hash_one(void *context, size_t i) {
    const hashing *h = context;
    file *f = &h->file[i];
    const char *path = h->sequence->frame[f->frame].path;
    if (h->whole)
        f->all = hash_file(path, SIZE_MAX);
    else
        f->head = hash_file(path, HEAD);
}

/* The files that have one like them, to the front; sorted. */
static size_t keep_alike(file *f, size_t count) {
    size_t kept = 0;
    qsort(f, count, sizeof *f, by_content);
    for (size_t i = 0, end; i < count; i = end) {
        for (end = i + 1; end < count && alike(&f[i], &f[end]);)
            end++;
        for (size_t k = i; k < end && end > i + 1; k++)
            f[kept++] = f[k];
    }
    return kept;
}

/* One that is excluded, so that its picture has no say through a copy of it. Then, without EXIF
 * read yet: a time of the user's, then one in the name; then the shorter name, for a copy has
 * something added to it. */
static int rank_of(const tl_times *times, const tl_sequence_frame *frame) {
    tl_camera_time time;
    const char *path = frame->path;
    const size_t length = strlen(tl_frame_base_name(path));
    const int brief = length < 256 ? 256 - (int)length : 0;
    if (frame->excluded)
        return 2048 + brief;
    if (times != NULL && tl_times_find(times, path, &time))
        return 1024 + brief;
    return (tl_frame_time_from_name(path, &time) ? 512 : 0) + brief;
}

tl_status tl_analyse_same_bytes(const tl_times *times, int jobs, tl_sequence *sequence) {
    file *f = calloc(sequence->count > 0 ? sequence->count : 1, sizeof *f);
    if (f == NULL)
        return TL_ERR_MEMORY;
    size_t count = 0;
    for (size_t i = 0; i < sequence->count; i++) {
        const char *path = sequence->frame[i].path;
        struct stat about;
        if (stat(path, &about) == 0 && S_ISREG(about.st_mode) && about.st_size > 0)
            f[count++] = (file){
                .frame = i, .size = about.st_size, .rank = rank_of(times, &sequence->frame[i])};
    }
    count = keep_alike(f, count);
    for (int whole = 0; whole < 2; whole++) {
        hashing h = {sequence, f, count, whole};
        tl_parallel(count, jobs, hash_one, &h);
        count = keep_alike(f, count);
    }
    for (size_t i = 1, first = 0; i < count; i++) {
        tl_sequence_frame *frame = &sequence->frame[f[i].frame];
        if (f[i].all == 0 || !alike(&f[first], &f[i]) ||
            /* equal hashes are only a hint */
            !tl_analyse_is_same_file(sequence->frame[f[first].frame].path, frame->path)) {
            first = i;
            continue;
        }
        frame->is_copy = true;
        frame->copy_of = f[first].frame;
    }
    free(f);
    return TL_OK;
}
