/*
 * fuzz_png.c - PNG files. libpng turns away what has a wrong checksum, so most inputs have theirs
 * set right again after they have been changed: of the chunks, and of the streams within.
 */
#include <zlib.h>

#include "fuzz_picture.h"

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t most, unsigned seed);
size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t most);

enum { SIGNATURE = 8, HEAD = 8, CRC = 4, ZLIB_HEAD = 2, ADLER = 4 };

static uint32_t number_at(const uint8_t *at) {
    return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

static void put_number(uint8_t *at, uint32_t number) {
    for (int i = 0; i < 4; i++)
        at[i] = (uint8_t)(number >> (24 - 8 * i));
}

/* The sum behind a stream (RFC 1950), where it ends within these bytes. */
static void mend_stream(uint8_t *stream, size_t size) {
    static uint8_t plain[1 << 18];
    z_stream z = {.next_in = stream + ZLIB_HEAD, .next_out = plain, .avail_out = sizeof plain};
    if (size < ZLIB_HEAD + ADLER || inflateInit2(&z, -MAX_WBITS) != Z_OK)
        return;
    z.avail_in = (uInt)(size - ZLIB_HEAD);
    if (inflate(&z, Z_FINISH) == Z_STREAM_END && z.avail_in >= ADLER) {
        const uLong sum = adler32(adler32(0, NULL, 0), plain, (uInt)z.total_out);
        put_number(stream + size - z.avail_in, (uint32_t)sum);
    }
    inflateEnd(&z);
}

static void mend_chunk(uint8_t *chunk, size_t length) {
    uint8_t *const content = chunk + HEAD;
    if (memcmp(chunk + 4, "IDAT", 4) == 0)
        mend_stream(content, length);
    const uint8_t *const name_end = memchr(content, '\0', length);
    if (memcmp(chunk + 4, "iCCP", 4) == 0 && name_end != NULL &&
        (size_t)(name_end + 2 - content) < length)
        mend_stream(content + (name_end + 2 - content), length - (size_t)(name_end + 2 - content));
    put_number(content + length, (uint32_t)crc32(crc32(0, NULL, 0), chunk + 4, (uInt)(4 + length)));
}

static void mend(uint8_t *data, size_t size) {
    size_t at = SIGNATURE;
    while (at <= size && size - at >= HEAD + CRC) {
        const size_t length = number_at(data + at);
        if (length > size - at - HEAD - CRC)
            return;
        mend_chunk(data + at, length);
        at += HEAD + length + CRC;
    }
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t most, unsigned seed) {
    size = LLVMFuzzerMutate(data, size, most);
    if (seed % 8 > 0)
        mend(data, size);
    return size;
}

/* IHDR (PNG, section 11.2.1) asks for more pixels than are worth the time. */
static bool is_large(const uint8_t *data, size_t size) {
    enum { WIDTH_AT = 16, HEIGHT_AT = 20, IHDR_END = 24 };
    return size >= IHDR_END &&
           (uint64_t)number_at(data + WIDTH_AT) * number_at(data + HEIGHT_AT) > FUZZ_PIXELS_MAX;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (!is_large(data, size))
        fuzz_picture(data, size);
    return 0;
}
