/*
 * heif_bits.c - the bits of a coded picture's header, from the highest of each byte on.
 */
#include "frame/heif_internal.h"

unsigned tl_heif_bit(tl_heif_bits *b) {
    const size_t byte = b->at / 8;
    const unsigned bit = byte < b->size ? b->bytes[byte] >> (7 - b->at % 8) & 1U : 0U;
    b->at++;
    return bit;
}

uint64_t tl_heif_number(tl_heif_bits *b, unsigned count) {
    uint64_t value = 0;
    for (unsigned i = 0; i < count; i++)
        value = value << 1 | tl_heif_bit(b);
    return value;
}

void tl_heif_skip(tl_heif_bits *b, size_t count) {
    b->at += count;
}
