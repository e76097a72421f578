/*
 * fuzz_icc.c - ICC profiles: the first byte chooses how many codes the table is for, as deep
 * pictures have more.
 */
#include "frame/frame_internal.h"
#include "fuzz.h"

static void check(const uint8_t *profile, size_t size, size_t count) {
    enum { UNTOUCHED = 0x5a5a };
    uint16_t *table = malloc(count * sizeof *table);
    MUST(table != NULL);
    for (size_t i = 0; i < count; i++)
        table[i] = UNTOUCHED;
    const bool understood = tl_frame_icc_table(profile, size, count, table);
    if (understood)
        MUST(table[0] < table[count - 1]);
    for (size_t i = 0; i < count; i++)
        MUST(understood || table[i] == UNTOUCHED);
    /* Where it is not, there is a curve all the same, from none to full. */
    const tl_frame_curve curve = {.profile = profile, .profile_size = size};
    tl_frame_curve_table(&curve, count, table);
    MUST(understood || (table[0] == 0 && table[count - 1] == 65535));
    free(table);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const size_t counts[] = {256, 1024, 4096, 65536};
    if (size > 0)
        check(data + 1, size - 1, counts[data[0] % 4]);
    return 0;
}
