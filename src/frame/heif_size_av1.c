/*
 * heif_size_av1.c - what the AV1 streams of an AVIF file ask the decoder to make room for (AV1
 * Bitstream & Decoding Process Specification, version 1.0.0 with errata 1).
 *
 * A stream is a row of OBUs: in the box of the decoder's configuration, and in the data of an item.
 * A sequence header states the largest frame, and that frame is taken, unless a frame's own header
 * says that it states its size itself: up to the most that the bits of its fields can hold.
 */
#include <string.h>

#include "frame/heif_internal.h"

/* 6.2.2: types of OBUs. */
enum { SEQUENCE_HEADER = 1, FRAME_HEADER = 3, FRAME = 6, REDUNDANT_FRAME_HEADER = 7 };
/* 6.10.2: types of frames. */
enum { KEY_FRAME = 0, SWITCH_FRAME = 3 };
enum { SELECT = 2 }; /* 3: SELECT_SCREEN_CONTENT_TOOLS, SELECT_INTEGER_MV */

/* What of a sequence header is needed to read the start of a frame's. */
typedef struct sequence {
    bool known, reduced, timed_frames, has_ids;
    unsigned width_bits, height_bits, id_bits, time_bits, screen_content, integer_mv;
} sequence;

typedef struct stream {
    uint64_t pixels_max;
    sequence sequence;
} stream;

/* 4.10.3, where only its length counts. */
static void skip_uvlc(tl_heif_bits *b) {
    unsigned zeros = 0;
    while (zeros < 32 && tl_heif_bit(b) == 0)
        zeros++;
    tl_heif_skip(b, zeros < 32 ? zeros : 0);
}

/* 5.5.3 and 5.5.4; the bits of the delays, 0 without a decoder model. */
static unsigned read_timing(tl_heif_bits *b, sequence *s) {
    tl_heif_skip(b, 32 + 32);
    const bool equal_intervals = tl_heif_bit(b);
    if (equal_intervals)
        skip_uvlc(b);
    if (!tl_heif_bit(b))
        return 0;
    const unsigned delay_bits = (unsigned)tl_heif_number(b, 5) + 1;
    tl_heif_skip(b, 32 + 5);
    s->time_bits = (unsigned)tl_heif_number(b, 5) + 1;
    s->timed_frames = !equal_intervals;
    return delay_bits;
}

/* 5.5.1, from timing_info_present_flag on to the operating points' end. */
static void read_operating_points(tl_heif_bits *b, sequence *s) {
    const unsigned delay_bits = tl_heif_bit(b) ? read_timing(b, s) : 0;
    const bool has_delays = tl_heif_bit(b);
    for (unsigned points = (unsigned)tl_heif_number(b, 5) + 1; points > 0; points--) {
        tl_heif_skip(b, 12);
        if (tl_heif_number(b, 5) > 7)
            tl_heif_skip(b, 1);
        if (delay_bits > 0 && tl_heif_bit(b))
            tl_heif_skip(b, 2 * (size_t)delay_bits + 1);
        if (has_delays && tl_heif_bit(b))
            tl_heif_skip(b, 4);
    }
}

/* 5.5.1, from enable_interintra_compound on. */
static void read_tools(tl_heif_bits *b, sequence *s) {
    tl_heif_skip(b, 4);
    if (tl_heif_bit(b)) /* enable_order_hint */
        tl_heif_skip(b, 2);
    s->screen_content = tl_heif_bit(b) ? SELECT : tl_heif_bit(b);
    s->integer_mv = SELECT;
    if (s->screen_content > 0 && !tl_heif_bit(b))
        s->integer_mv = tl_heif_bit(b);
}

/* 5.5.1; false where it asks for too much. */
static bool read_sequence(stream *to, tl_heif_bits *b) {
    sequence s = {.known = true};
    tl_heif_skip(b, 3 + 1);
    s.reduced = tl_heif_bit(b);
    if (s.reduced)
        tl_heif_skip(b, 5);
    else
        read_operating_points(b, &s);
    s.width_bits = (unsigned)tl_heif_number(b, 4) + 1;
    s.height_bits = (unsigned)tl_heif_number(b, 4) + 1;
    const uint64_t width = tl_heif_number(b, s.width_bits) + 1;
    const uint64_t height = tl_heif_number(b, s.height_bits) + 1;
    if (!s.reduced) {
        s.has_ids = tl_heif_bit(b);
        if (s.has_ids) {
            const unsigned delta = (unsigned)tl_heif_number(b, 4) + 2;
            s.id_bits = (unsigned)tl_heif_number(b, 3) + 1 + delta;
        }
        tl_heif_skip(b, 3);
        read_tools(b, &s);
    }
    to->sequence = s;
    return tl_heif_is_within(width, height, to->pixels_max);
}

/* 5.9.2, as far as frame_size_override_flag, which is returned. */
static bool states_its_size(const sequence *s, tl_heif_bits *b) {
    if (!s->known || s->reduced || tl_heif_bit(b)) /* show_existing_frame */
        return false;
    const unsigned type = (unsigned)tl_heif_number(b, 2);
    const bool shown = tl_heif_bit(b);
    if (shown && s->timed_frames)
        tl_heif_skip(b, s->time_bits);
    if (!shown)
        tl_heif_skip(b, 1);
    if (type != SWITCH_FRAME && !(type == KEY_FRAME && shown))
        tl_heif_skip(b, 1); /* error_resilient_mode */
    tl_heif_skip(b, 1);
    const bool screen_content = s->screen_content == SELECT ? tl_heif_bit(b) : s->screen_content;
    if (screen_content && s->integer_mv == SELECT)
        tl_heif_skip(b, 1);
    if (s->has_ids)
        tl_heif_skip(b, s->id_bits);
    return type == SWITCH_FRAME || tl_heif_bit(b);
}

/* `last`: nothing follows it, as what would be a frame after its bare header. */
static bool look_at_obu(stream *s, unsigned type, bool last, const unsigned char *at, size_t size) {
    tl_heif_bits b = {at, size, 0};
    if (type == SEQUENCE_HEADER)
        return read_sequence(s, &b);
    const bool is_bare = type == FRAME_HEADER || type == REDUNDANT_FRAME_HEADER;
    if ((type == FRAME || (is_bare && !last)) && states_its_size(&s->sequence, &b))
        return tl_heif_is_within(1ULL << s->sequence.width_bits, 1ULL << s->sequence.height_bits,
                                 s->pixels_max);
    return true;
}

/* 4.10.5; false where it does not end. */
static bool read_leb128(const unsigned char *at, size_t size, size_t *used, uint64_t *value) {
    *value = 0;
    for (*used = 0; *used < 8 && *used < size;) {
        const unsigned char byte = at[*used];
        *value |= (uint64_t)(byte & 127) << (7 * *used);
        ++*used;
        if (byte < 128)
            return true;
    }
    return false;
}

/* 5.3.1; what is no OBU ends it. */
static bool look_at_obus(uint64_t item, const unsigned char *at, size_t size, void *context) {
    (void)item;
    while (size > 0 && (at[0] & 0x80) == 0) {
        const unsigned type = at[0] >> 3 & 15U;
        size_t head = (at[0] & 4) != 0 ? 2 : 1, used = 0;
        uint64_t length;
        if (head > size)
            return true;
        if ((at[0] & 2) == 0)
            length = size - head;
        else if (!read_leb128(at + head, size - head, &used, &length))
            return true;
        head += used;
        const size_t content = length < size - head ? (size_t)length : size - head;
        if (!look_at_obu(context, type, head + content == size, at + head, content))
            return false;
        at += head + content;
        size -= head + content;
    }
    return true;
}

bool tl_heif_av1_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max) {
    enum { NAME_SIZE = 4, FIXED_SIZE = 4 }; /* AV1 in ISO Base Media File Format, 2.3.3 */
    stream s = {.pixels_max = pixels_max};
    for (size_t i = 0; i + NAME_SIZE + FIXED_SIZE < size; i++) {
        if (memcmp(bytes + i, "av1C", NAME_SIZE) != 0)
            continue;
        const size_t start = i + NAME_SIZE + FIXED_SIZE;
        if (!look_at_obus(0, bytes + start, size - start, &s))
            return false;
    }
    return tl_heif_each_item(bytes, size, look_at_obus, &s);
}
