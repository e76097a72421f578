/*
 * heif_size_hevc.c - what the HEVC streams of a HEIC file ask the decoder to make room for.
 *
 * The box that states a picture's size and the sequence parameter set of its HEVC stream (Rec.
 * ITU-T H.265, 7.3.2.2) are two things. libheif 1.15 compares them after decoding, and the decoder
 * fills what is missing of 64,000 x 64,000 pixels of a file of a kilobyte for minutes.
 *
 * A parameter set is found by its NAL unit's header behind its length: two bytes in the box of the
 * decoder's configuration, four in the stream. No coded picture holds the bytes of the second, for
 * emulation prevention (7.4.2.3) lets no two zero bytes and a third below 4 stand in a NAL unit.
 */
#include <string.h>

#include "frame/heif_internal.h"

/* 7.3.1.2: type 33, layer 0, and a temporal layer that is not 0 for none. */
enum { SPS_FIRST = 33 << 1, SPS_SECOND_MAX = 7, NAL_HEADER_SIZE = 2 };
/* With the profile alone it is longer; fewer bytes are something else. */
enum { SPS_SIZE_MIN = 16 };
/* Bytes that reach beyond the two sizes: the profile takes 12, of each sublayer 12 more. */
enum { SPS_READ_MAX = 128 };

/* 9.2: as many zeros as there are bits after the one. */
static uint64_t read_exp_golomb(tl_heif_bits *b) {
    unsigned zeros = 0;
    uint64_t value = 1;
    while (zeros < 32 && tl_heif_bit(b) == 0)
        zeros++;
    for (unsigned i = 0; i < zeros; i++)
        value = value << 1 | tl_heif_bit(b);
    return value - 1;
}

/* 7.3.3, for `sublayers` beside the highest one. */
static void skip_profile_tier_level(tl_heif_bits *b, unsigned sublayers) {
    unsigned profile[8] = {0}, level[8] = {0};
    tl_heif_skip(b, 88 + 8);
    for (unsigned i = 0; i < sublayers; i++) {
        profile[i] = tl_heif_bit(b);
        level[i] = tl_heif_bit(b);
    }
    if (sublayers > 0)
        tl_heif_skip(b, 2 * (size_t)(8 - sublayers));
    for (unsigned i = 0; i < sublayers; i++)
        tl_heif_skip(b, (profile[i] ? 88U : 0U) + (level[i] ? 8U : 0U));
}

/* Without the two bytes of the NAL unit's header. */
static void read_sps(tl_heif_bits *b, uint64_t *width, uint64_t *height) {
    enum { CHROMA_444 = 3 };
    tl_heif_skip(b, 4);
    unsigned sublayers = 0;
    for (int i = 0; i < 3; i++)
        sublayers = sublayers << 1 | tl_heif_bit(b);
    tl_heif_skip(b, 1);
    skip_profile_tier_level(b, sublayers);
    read_exp_golomb(b); /* its own number */
    if (read_exp_golomb(b) == CHROMA_444)
        tl_heif_skip(b, 1);
    *width = read_exp_golomb(b);
    *height = read_exp_golomb(b);
}

/* The parameter set whose NAL unit begins at `nal`; false where it asks for too much. */
static bool is_modest(const unsigned char *nal, size_t size, uint64_t pixels_max) {
    unsigned char plain[SPS_READ_MAX];
    tl_heif_bits b = {plain, 0, 0};
    int zeros = 0;
    for (size_t i = NAL_HEADER_SIZE; i < size && b.size < sizeof plain; i++) {
        if (zeros >= 2 && nal[i] == 3) {
            zeros = 0;
            continue;
        }
        zeros = nal[i] == 0 ? zeros + 1 : 0;
        plain[b.size++] = nal[i];
    }
    uint64_t width = 0, height = 0;
    read_sps(&b, &width, &height);
    return tl_heif_is_within(width, height, pixels_max);
}

static bool begins_sps(const unsigned char *nal) {
    return nal[0] == SPS_FIRST && nal[1] > 0 && nal[1] <= SPS_SECOND_MAX;
}

static size_t length_at(const unsigned char *at) {
    return (size_t)at[0] << 8 | at[1];
}

/* ISO/IEC 14496-15, 8.3.3.1: 22 bytes, the number of arrays, and each with its NAL units. */
static bool configuration_is_modest(const unsigned char *at, const unsigned char *end,
                                    uint64_t pixels_max) {
    enum { FIXED_SIZE = 22 };
    if (end - at < FIXED_SIZE + 1)
        return true;
    int arrays = at[FIXED_SIZE];
    at += FIXED_SIZE + 1;
    for (; arrays > 0 && end - at >= 3; arrays--) {
        size_t units = length_at(at + 1);
        at += 3;
        for (; units > 0 && end - at >= 2; units--) {
            const size_t size = length_at(at);
            at += 2;
            if (size > (size_t)(end - at))
                return true; /* broken: the library says so */
            if (size >= SPS_SIZE_MIN && begins_sps(at) && !is_modest(at, size, pixels_max))
                return false;
            at += size;
        }
    }
    return true;
}

bool tl_heif_hevc_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max) {
    enum { LENGTH_SIZE = 4 };
    const unsigned char *const end = bytes + size;
    for (size_t i = 0; i + LENGTH_SIZE + NAL_HEADER_SIZE < size; i++) {
        const unsigned char *at = bytes + i;
        if (memcmp(at, "hvcC", 4) == 0 && !configuration_is_modest(at + 4, end, pixels_max))
            return false;
        if (at[0] != 0 || at[1] != 0 || at[2] > 3 || !begins_sps(at + LENGTH_SIZE))
            continue;
        const size_t unit = length_at(at + 2), left = size - i - LENGTH_SIZE;
        if (unit >= SPS_SIZE_MIN &&
            !is_modest(at + LENGTH_SIZE, unit < left ? unit : left, pixels_max))
            return false;
    }
    return true;
}
