/*
 * command_memory.c - how the C library handles memory that is freed.
 */
#include <stdlib.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif

#include "command.h"

void tl_command_keep_memory(void) {
#ifdef __GLIBC__
    enum { LARGE = 32 << 20, KEPT = 128 << 20 }; /* bytes: our own choice, 43 MB a picture */
    mallopt(M_MMAP_THRESHOLD, LARGE);
    mallopt(M_TRIM_THRESHOLD, KEPT);
#endif
}
