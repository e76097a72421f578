/*
 * test_frame_limits.c - files that promise more pixels than anyone should allocate for.
 *
 * The headers are written here byte by byte, by the formats' standards. The program is linked so
 * that the library's requests for memory pass through here (-Wl,--wrap): the greatest is kept.
 */
#include "formats.h"

/* A file's bytes, tables and rows; far below the pixels that are promised. */
enum { MODEST = 4 * 1024 * 1024 };

static size_t greatest;

static void note(size_t size) {
    if (size > greatest)
        greatest = size;
}

/* Named by the linker. */
void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);

void *__wrap_malloc(size_t size) {
    note(size);
    return __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size) {
    note(count * size);
    return __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size) {
    note(size);
    return __real_realloc(old, size);
}

static void refused(const void *bytes, size_t size, tl_status expected, const char *what) {
    greatest = 0;
    const tl_status status = status_of_blob(bytes, size);
    if (status != expected || greatest > MODEST)
        fail_msg("%s: status %d, not %d; %zu bytes were asked for", what, status, expected,
                 greatest);
}

static void big_endian(unsigned char *to, uint32_t value) {
    for (int i = 0; i < 4; i++)
        to[i] = (unsigned char)(value >> (24 - 8 * i));
}

/* CRC of PNG, annex D: of the polynomial 0xedb88320, bit by bit. */
static uint32_t crc_of(const unsigned char *bytes, size_t size) {
    uint32_t crc = 0xffffffffU;
    for (size_t i = 0; i < size; i++) {
        crc ^= bytes[i];
        for (int k = 0; k < 8; k++)
            crc = crc & 1 ? 0xedb88320U ^ crc >> 1 : crc >> 1;
    }
    return ~crc;
}

static size_t png_header(uint32_t width, uint32_t height, int bits, int type, int interlace,
                         unsigned char bytes[64]) {
    static const unsigned char start[16] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n',
                                            0,    0,   0,   13,  'I',  'H',  'D',  'R'};
    memcpy(bytes, start, 16);
    big_endian(bytes + 16, width);
    big_endian(bytes + 20, height);
    memcpy(bytes + 24,
           (const unsigned char[]){(unsigned char)bits, (unsigned char)type, 0, 0,
                                   (unsigned char)interlace},
           5);
    big_endian(bytes + 29, crc_of(bytes + 12, 17));
    memcpy(bytes + 33, "\0\0\0\0IDAT", 8);
    big_endian(bytes + 41, crc_of(bytes + 37, 4));
    return 45;
}

static void png_headers(void **state) {
    (void)state;
    unsigned char b[64];
    static const struct {
        uint32_t width, height;
        int bits, type;
        tl_status status;
    } cases[] = {
        {64000, 64000, 8, 2, TL_ERR_TOO_LARGE},  {0x7fffffff, 0x7fffffff, 16, 6, TL_ERR_TOO_LARGE},
        {30001, 1, 8, 0, TL_ERR_TOO_LARGE},      {1, 30001, 8, 0, TL_ERR_TOO_LARGE},
        {20000, 10001, 8, 0, TL_ERR_TOO_LARGE},  /* 200.02 million */
        {20000, 10000, 16, 2, TL_ERR_TOO_LARGE}, /* 1.2 GB of samples */
        {20000, 10000, 8, 2, TL_ERR_BROKEN},     /* allowed, but not in so few bytes */
        {3000, 4000, 8, 2, TL_ERR_BROKEN},       {0, 10, 8, 2, TL_ERR_BROKEN},
        {0x80000000, 1, 8, 2, TL_ERR_BROKEN},
    };
    for (int interlace = 0; interlace < 2; interlace++)
        for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
            const size_t size = png_header(cases[i].width, cases[i].height, cases[i].bits,
                                           cases[i].type, interlace, b);
            refused(b, size, cases[i].status, "PNG");
        }
}

typedef struct entry {
    uint16_t tag, type; /* 3: SHORT, 4: LONG */
    uint32_t value;
} entry;

/* Little-endian, one directory behind the header. */
static size_t tiff_file(const entry *entries, size_t count, unsigned char bytes[512]) {
    memset(bytes, 0, 512);
    memcpy(bytes, "II*\0\x08\0\0\0", 8);
    bytes[8] = (unsigned char)count;
    for (size_t i = 0; i < count; i++) {
        unsigned char *e = bytes + 10 + 12 * i;
        e[0] = (unsigned char)entries[i].tag;
        e[1] = (unsigned char)(entries[i].tag >> 8);
        e[2] = (unsigned char)entries[i].type;
        e[4] = 1;
        for (int k = 0; k < 4; k++)
            e[8 + k] = (unsigned char)(entries[i].value >> 8 * k);
    }
    return 512;
}

static void refused_tiff(const uint32_t size[2], uint32_t bits, uint32_t compression,
                         const uint32_t tile[2], tl_status expected) {
    unsigned char b[512];
    const entry common[] = {
        {256, 4, size[0]}, {257, 4, size[1]}, {258, 3, bits}, {259, 3, compression}, {262, 3, 1}};
    entry e[12];
    size_t n = sizeof common / sizeof common[0];
    memcpy(e, common, sizeof common);
    if (tile[0] == 0) {
        e[n++] = (entry){273, 4, 300};
        e[n++] = (entry){277, 3, 1};
        e[n++] = (entry){278, 4, size[1]};
        e[n++] = (entry){279, 4, 100};
    } else {
        e[n++] = (entry){277, 3, 1};
        e[n++] = (entry){322, 4, tile[0]};
        e[n++] = (entry){323, 4, tile[1]};
        e[n++] = (entry){324, 4, 300};
        e[n++] = (entry){325, 4, 100};
    }
    refused(b, tiff_file(e, n, b), expected, "TIFF");
}

static void tiff_headers(void **state) {
    (void)state;
    static const uint32_t strips[2] = {0, 0}, huge_tile[2] = {0xfffffff0, 0xfffffff0},
                          wide_tile[2] = {65552, 16}, large[2] = {64000, 64000},
                          endless[2] = {0x7fffffff, 0x7fffffff}, allowed[2] = {20000, 9000},
                          small[2] = {16, 16};
    enum { NONE = 1, DEFLATE = 8, PACKBITS = 32773 };
    refused_tiff(large, 8, NONE, strips, TL_ERR_TOO_LARGE);
    refused_tiff(large, 1, DEFLATE, strips, TL_ERR_TOO_LARGE);
    refused_tiff(endless, 16, DEFLATE, strips, TL_ERR_TOO_LARGE);
    refused_tiff(allowed, 8, NONE, strips, TL_ERR_BROKEN);
    refused_tiff(allowed, 16, DEFLATE, strips, TL_ERR_BROKEN);
    refused_tiff(allowed, 8, PACKBITS, strips, TL_ERR_BROKEN);
    refused_tiff(small, 8, DEFLATE, wide_tile, TL_ERR_TOO_LARGE);
    refused_tiff(small, 8, DEFLATE, huge_tile, TL_ERR_BROKEN); /* by the library itself */
}

static void jpeg_header(void **state) {
    (void)state;
    /* ITU-T T.81, B.2.2: 65,500 x 65,500, grey, and nothing behind it. */
    static const unsigned char b[] = {0xff, 0xd8, 0xff, 0xc0, 0, 11,   8,    0xff, 0xdc, 0xff,
                                      0xdc, 1,    1,    0x11, 0, 0xff, 0xda, 0,    8,    1,
                                      1,    0,    0,    63,   0, 1,    2,    3};
    refused(b, sizeof b, TL_ERR_TOO_LARGE, "JPEG");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(png_headers),
        cmocka_unit_test(tiff_headers),
        cmocka_unit_test(jpeg_header),
    };
    return cmocka_run_group_tests_name("frame_limits", tests, NULL, NULL);
}
