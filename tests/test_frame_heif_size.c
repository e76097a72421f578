/*
 * test_frame_heif_size.c - an AVIF file whose stream asks for more pixels than its picture has, and
 * a HEIC file whose canvas does. (HEVC streams: test_frame_heif.c.)
 *
 * Streams are written bit by bit after the AV1 Bitstream & Decoding Process Specification, version
 * 1.0.0 with errata 1; the whole files are libheif's, changed.
 */
#include "frame/heif_internal.h"
#include "heif_make.h"

typedef struct writer {
    unsigned char bytes[512];
    size_t at; /* bits */
} writer;

static void put(writer *w, unsigned count, uint64_t value) {
    for (unsigned i = 0; i < count; i++, w->at++)
        if (value >> (count - 1 - i) & 1)
            w->bytes[w->at / 8] |= (unsigned char)(0x80 >> w->at % 8);
}

static void put_bytes(writer *w, const void *bytes, size_t size) {
    for (size_t i = 0; i < size; i++)
        put(w, 8, ((const unsigned char *)bytes)[i]);
}

/* 5.5.1: a sequence header; all that may be there is there with `rich`. */
typedef struct header {
    bool reduced, rich;
    unsigned bits; /* of width and height */
    uint32_t width, height;
} header;

static void put_rich_start(writer *w) {
    put(w, 1, 1); /* timing_info_present_flag */
    put(w, 32, 1);
    put(w, 32, 25);
    put(w, 1, 0);     /* equal_picture_interval */
    put(w, 1, 1);     /* decoder_model_info_present_flag */
    put(w, 5, 9);     /* delays of 10 bits */
    put(w, 32, 1);    /* num_units_in_decoding_tick */
    put(w, 5, 4);     /* buffer_removal_time_length_minus_1 */
    put(w, 5, 6);     /* frame_presentation_time of 7 bits */
    put(w, 1, 1);     /* initial_display_delay_present_flag */
    put(w, 5, 1);     /* two operating points */
    put(w, 12, 1);    /* the first */
    put(w, 5, 8);     /* a level that has a tier */
    put(w, 1, 1);     /* the tier */
    put(w, 1, 1);     /* decoder_model_present_for_this_op */
    put(w, 10, 1023); /* its delays */
    put(w, 10, 1023);
    put(w, 1, 1);
    put(w, 1, 1); /* initial_display_delay_present_for_this_op */
    put(w, 4, 15);
    put(w, 12, 2); /* the second, without all that */
    put(w, 5, 0);
    put(w, 1, 0);
    put(w, 1, 0);
}

static void put_plain_start(writer *w) {
    put(w, 1, 0);  /* timing_info_present_flag */
    put(w, 1, 0);  /* initial_display_delay_present_flag */
    put(w, 5, 0);  /* one operating point */
    put(w, 12, 0); /* all of it */
    put(w, 5, 0);  /* level */
}

static void put_rest(writer *w, bool rich) {
    put(w, 1, rich); /* frame_id_numbers_present_flag */
    if (rich) {
        put(w, 4, 11); /* numbers of 13 and 2 bits more */
        put(w, 3, 1);
    }
    put(w, 3, 7);    /* the size of blocks, filters */
    put(w, 4, 15);   /* compound modes */
    put(w, 1, rich); /* enable_order_hint */
    if (rich)
        put(w, 2, 3);
    put(w, 1, !rich); /* seq_choose_screen_content_tools: rich ones force them */
    if (rich)
        put(w, 1, 1);
    put(w, 1, 0); /* seq_choose_integer_mv */
    put(w, 1, 0);
    put(w, 3, 0); /* hints of order: not read; and what comes after */
    put(w, 8, 0xff);
}

static writer sequence_header(const header *h) {
    writer w = {{0}, 0};
    put(&w, 3, 0);
    put(&w, 1, h->reduced); /* still_picture */
    put(&w, 1, h->reduced);
    if (h->reduced)
        put(&w, 5, 31);
    else if (h->rich)
        put_rich_start(&w);
    else
        put_plain_start(&w);
    put(&w, 4, h->bits - 1);
    put(&w, 4, h->bits - 1);
    put(&w, h->bits, h->width - 1);
    put(&w, h->bits, h->height - 1);
    if (h->reduced)
        put(&w, 16, 0xffff);
    else
        put_rest(&w, h->rich);
    return w;
}

/* 5.9.2: a key frame that is shown, up to the flag that its size is its own, and what follows. */
static writer frame_header(bool rich, bool own_size) {
    writer w = {{0}, 0};
    put(&w, 1, 0); /* show_existing_frame */
    put(&w, 2, 0); /* KEY_FRAME */
    put(&w, 1, 1); /* show_frame */
    if (rich)
        put(&w, 7, 0); /* frame_presentation_time */
    put(&w, 1, !own_size);
    if (!rich)
        put(&w, 1, 0); /* allow_screen_content_tools */
    if (rich)
        put(&w, 15, own_size ? 0 : 0x7fff); /* current_frame_id */
    put(&w, 1, own_size);
    put(&w, 16, own_size ? 0 : 0xffff);
    return w;
}

static void put_obu(writer *w, unsigned type, bool extended, const writer *content) {
    const size_t size = (content->at + 7) / 8;
    put(w, 8, type << 3 | (extended ? 4U : 0U) | 2U);
    if (extended)
        put(w, 8, 0);
    put(w, 8, size | 0x80U); /* leb128 in two bytes, as it may be */
    put(w, 8, 0);
    put_bytes(w, content->bytes, size);
}

enum { SEQUENCE = 1, DELIMITER = 2, FRAME = 6 };

static writer stream_of(const header *h, bool own_size) {
    writer w = {{0}, 0};
    const writer none = {{0}, 0}, sequence = sequence_header(h),
                 frame = frame_header(h->rich, own_size);
    put_obu(&w, DELIMITER, false, &none);
    put_obu(&w, SEQUENCE, false, &sequence);
    put_obu(&w, FRAME, true, &frame);
    return w;
}

/* Where a stream may be: in the configuration, or in an item of one extent or two, in the file or
 * in the box of item data. */
enum place { IN_CONFIGURATION, IN_ITEM, IN_TWO_EXTENTS, IN_ITEM_BOX, PLACES };

/* ISO/IEC 14496-12, 8.11.3: the box's content, with offsets and lengths of four bytes. */
static void put_location(writer *w, enum place place, unsigned at, unsigned size) {
    const unsigned extents = place == IN_TWO_EXTENTS ? 2 : 1, first = size / 2;
    put_bytes(w, "iloc", 4);
    put(w, 32, 1U << 24); /* version 1 */
    put(w, 16, 0x4400);   /* sizes of the numbers: no base offset, no index */
    put(w, 16, 1);
    put(w, 16, 1); /* the item's number */
    put(w, 16, place == IN_ITEM_BOX);
    put(w, 16, 0);
    put(w, 16, extents);
    put(w, 32, at);
    put(w, 32, extents == 2 ? first : size);
    if (extents == 2) {
        put(w, 32, at + first);
        put(w, 32, size - first);
    }
}

static writer file_of(const writer *stream, enum place place) {
    writer w = {{0}, 0};
    const unsigned size = (unsigned)(stream->at / 8), start = 128;
    if (place == IN_CONFIGURATION) {
        put_bytes(&w, "1234av1C\x81\0\0\0", 12);
    } else {
        put_location(&w, place, place == IN_ITEM_BOX ? 4 : start, size);
        w.at = 8 * (size_t)(start - 8);
        if (place == IN_ITEM_BOX)
            put_bytes(&w, "idat", 4);
        w.at = 8 * (size_t)start;
    }
    put_bytes(&w, stream->bytes, size);
    put(&w, 32, 0);
    return w;
}

static void streams_of_many_pixels_are_found(void **state) {
    (void)state;
    static const struct {
        header header;
        bool own_size, modest;
    } cases[] = {
        {{.reduced = true, .bits = 7, .width = 128, .height = 96}, false, true},
        {{.reduced = true, .bits = 16, .width = 128, .height = 96}, false, true},
        {{.reduced = true, .bits = 13, .width = 4096, .height = 3072}, false, true},
        {{.reduced = true, .bits = 13, .width = 4096, .height = 3073}, false, false},
        {{.reduced = true, .bits = 16, .width = 65536, .height = 65536}, false, false},
        {{.reduced = true, .bits = 15, .width = 30000, .height = 16}, false, true},
        {{.reduced = true, .bits = 15, .width = 30001, .height = 16}, false, false},
        {{.reduced = true, .bits = 15, .width = 16, .height = 30001}, false, false},
        {{.bits = 13, .width = 4096, .height = 3072}, false, true},
        {{.bits = 13, .width = 4096, .height = 3073}, false, false},
        {{.rich = true, .bits = 13, .width = 4096, .height = 3072}, false, true},
        {{.rich = true, .bits = 13, .width = 4096, .height = 3073}, false, false},
        /* A frame with a size of its own may be as large as its fields allow: 2048 or 8192 squared.
         */
        {{.bits = 11, .width = 64, .height = 64}, true, true},
        {{.bits = 13, .width = 64, .height = 64}, true, false},
        {{.bits = 13, .width = 64, .height = 64}, false, true},
        {{.rich = true, .bits = 11, .width = 64, .height = 64}, true, true},
        {{.rich = true, .bits = 13, .width = 64, .height = 64}, true, false},
        {{.rich = true, .bits = 13, .width = 64, .height = 64}, false, true},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (enum place place = 0; place < PLACES; place++) {
            const writer stream = stream_of(&cases[i].header, cases[i].own_size);
            const writer file = file_of(&stream, place);
            if (tl_heif_is_modest(file.bytes, file.at / 8, 4096 * 3072) != cases[i].modest)
                fail_msg("stream %zu at place %d", i, (int)place);
        }
}

/* Places that lie outside of the file, or are told a million times over. */
static void odd_places_end(void **state) {
    (void)state;
    enum { SIZE = 1 << 20 };
    unsigned char *file = calloc(SIZE, 1);
    writer w = {{0}, 0};
    put_location(&w, IN_ITEM, 0xfffffff0U, 0xffffffffU);
    assert_true(tl_heif_is_modest(w.bytes, w.at / 8, 1000000));
    for (size_t i = 0; i + 12 <= SIZE; i += 12) /* 65535 items each */
        memcpy(file + i, "iloc\0\0\0\0\0\0\xff\xff", 12);
    assert_false(tl_heif_is_modest(file, SIZE, 1000000));
    for (size_t i = 0; i + 4 <= SIZE; i += 4)
        memcpy(file + i, "idat", 4);
    assert_false(tl_heif_is_modest(file, SIZE, 1000000));
    free(file);
}

/* Of libheif's file of a small picture: its sequence header, of six bits a side, anew with sixteen.
 * Its reduced header has ten bits before the sizes (5.5.1). */
static blob with_stream_of(const blob *file, uint32_t side) {
    size_t at = 0;
    while (memcmp(file->bytes + at, "mdat\x12\0\x0a", 7) != 0)
        at++;
    at += 7;
    const size_t old = file->bytes[at], data = file->size - (at - 3);
    tl_heif_bits b = {file->bytes + at + 1, old, 0};
    writer w = {{0}, 0};
    put(&w, 10, tl_heif_number(&b, 10));
    const unsigned width_bits = (unsigned)tl_heif_number(&b, 4) + 1,
                   height_bits = (unsigned)tl_heif_number(&b, 4) + 1;
    tl_heif_skip(&b, width_bits + height_bits);
    put(&w, 8, 0xff);
    put(&w, 16, side - 1);
    put(&w, 16, side - 1);
    while (b.at < 8 * old)
        put(&w, 1, tl_heif_bit(&b));
    const size_t size = (w.at + 7) / 8, longer = file->size + size - old;
    blob made = {malloc(longer), longer};
    memcpy(made.bytes, file->bytes, at);
    made.bytes[at] = (unsigned char)size;
    memcpy(made.bytes + at + 1, w.bytes, size);
    memcpy(made.bytes + at + 1 + size, file->bytes + at + 1 + old, file->size - at - 1 - old);
    /* The item's length, the last number of its location, and that of the box around it. */
    unsigned char length[4] = {0, 0, (unsigned char)(data >> 8), (unsigned char)data};
    size_t told = 0;
    while (memcmp(made.bytes + told, "iloc", 4) != 0)
        told++;
    while (memcmp(made.bytes + told, length, 4) != 0)
        told++;
    const size_t now = data + size - old;
    made.bytes[told + 2] = (unsigned char)(now >> 8);
    made.bytes[told + 3] = (unsigned char)now;
    made.bytes[at - 9] = (unsigned char)((now + 8) >> 8);
    made.bytes[at - 8] = (unsigned char)(now + 8);
    return made;
}

static void a_stream_of_many_pixels_is_not_decoded(void **state) {
    (void)state;
    enum { SIDE = 64 };
    static uint16_t code[SIDE * SIDE * 3];
    for (int i = 0; i < SIDE * SIDE * 3; i++)
        code[i] = (uint16_t)(i / 3 % SIDE * 3 + 20);
    const heif_style style = {.format = heif_compression_AV1, .bits = 8};
    blob file;
    if (!heif_make(&style, code, SIDE, SIDE, &file)) {
        print_message("passed over: no encoder of AVIF here\n");
        return;
    }
    assert_true(tl_heif_is_modest(file.bytes, file.size, SIDE * SIDE));
    assert_false(tl_heif_is_modest(file.bytes, file.size, SIDE * SIDE - 1));
    blob changed = with_stream_of(&file, SIDE);
    assert_int_equal(status_of_blob(changed.bytes, changed.size), TL_OK);
    free(changed.bytes);
    changed = with_stream_of(&file, 30000);
    assert_int_equal(status_of_blob(changed.bytes, changed.size), TL_ERR_TOO_LARGE);
    free(changed.bytes);
    free(file.bytes);
}

/* An item of this type whose data are `data`: its entry (ISO/IEC 14496-12, 8.11.6), its place. */
static writer file_with_item(const char *type, unsigned version, const writer *data) {
    writer w = {{0}, 0};
    const unsigned start = 128;
    put_bytes(&w, "infe", 4);
    put(&w, 8, version);
    put(&w, 24, 0);
    put(&w, version == 3 ? 32 : 16, 1); /* the number that put_location gives */
    put(&w, 16, 0);
    put_bytes(&w, type, 4);
    put_location(&w, IN_ITEM, start, (unsigned)(data->at / 8));
    w.at = 8 * (size_t)start;
    put_bytes(&w, data->bytes, data->at / 8);
    return w;
}

/* ISO/IEC 23008-12, 6.6.2.3.2 and 6.6.2.2.2: the data of a grid, and of pictures laid over each
 * other. */
static writer canvas_of(bool is_grid, bool large, uint32_t width, uint32_t height) {
    writer w = {{0}, 0};
    put(&w, 8, 0);
    put(&w, 8, large);
    if (is_grid)
        put(&w, 16, 0x0101); /* two rows of two */
    else
        put(&w, 64, UINT64_MAX); /* white */
    put(&w, large ? 32 : 16, width);
    put(&w, large ? 32 : 16, height);
    put(&w, 32, 0);
    return w;
}

static void canvases_of_many_pixels_are_found(void **state) {
    (void)state;
    static const struct {
        uint32_t width, height;
        bool modest;
    } sizes[] = {{64, 64, true},     {4096, 3072, true}, {4096, 3073, false},   {30000, 16, true},
                 {30001, 16, false}, {16, 30001, false}, {28672, 28672, false}, {0, 0, true}};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++)
        for (int way = 0; way < 8; way++) {
            const bool is_grid = way & 1, large = way & 2;
            const writer data = canvas_of(is_grid, large, sizes[i].width, sizes[i].height);
            const writer file = file_with_item(is_grid ? "grid" : "iovl", way & 4 ? 3 : 2, &data);
            if (tl_heif_is_modest(file.bytes, file.at / 8, 4096 * 3072) != sizes[i].modest)
                fail_msg("canvas %zu, way %d", i, way);
            const writer other = file_with_item("mime", 2, &data); /* as it may say anything */
            assert_true(tl_heif_is_modest(other.bytes, other.at / 8, 4096 * 3072));
        }
    enum { ENTRIES = 65, ENTRY_SIZE = 16 };
    unsigned char entries[ENTRIES * ENTRY_SIZE] = {0};
    for (int i = 0; i < ENTRIES; i++)
        memcpy(entries + i * ENTRY_SIZE, "infe\2\0\0\0\0\1\0\0grid", ENTRY_SIZE);
    assert_true(tl_heif_is_modest(entries, sizeof entries - ENTRY_SIZE, 4096 * 3072));
    assert_false(tl_heif_is_modest(entries, sizeof entries, 4096 * 3072)); /* no end of them */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(streams_of_many_pixels_are_found),
        cmocka_unit_test(canvases_of_many_pixels_are_found),
        cmocka_unit_test(odd_places_end),
        cmocka_unit_test(a_stream_of_many_pixels_is_not_decoded),
    };
    return cmocka_run_group_tests_name("frame_heif_size", tests, NULL, NULL);
}
