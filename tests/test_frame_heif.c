/*
 * test_frame_heif.c - HEIC and AVIF to linear light. The pictures are written by libheif, without
 * loss; a format that it has no encoder for here is passed over, with a word.
 */
#include "frame/heif_internal.h"
#include "heif_make.h"

/* Codes of an 8-bit picture by which colours may be rounded on their way through YCbCr. */
static const double code_tolerance = 1.5;

static const struct {
    enum heif_compression_format format;
    const char *name;
} formats[] = {{heif_compression_HEVC, "HEIC"}, {heif_compression_AV1, "AVIF"}};

static bool make(const heif_style *style, const uint16_t *code, int width, int height, blob *file) {
    if (heif_make(style, code, width, height, file))
        return true;
    print_message("passed over: no encoder of %s here\n",
                  style->format == heif_compression_HEVC ? "HEIC" : "AVIF");
    return false;
}

enum { W = 3 * SQUARE, H = 2 * SQUARE };

static uint16_t *letters(int bits) {
    static uint16_t code[W * H * 3];
    for (int i = 0; i < W * H * 3; i++) {
        const int eight = stored_letter_code(i / 3 % W, i / 3 / W);
        code[i] = (uint16_t)(bits == 8 ? eight : eight * 1023 / 255);
    }
    return code;
}

static void light_is_undone(void **state) {
    (void)state;
    for (size_t f = 0; f < 2; f++)
        for (int bits = 8; bits <= 10; bits += 2) {
            const heif_style style = {.format = formats[f].format, .bits = bits};
            blob file;
            tl_image image;
            tl_frame_info info;
            if (!make(&style, letters(bits), W, H, &file))
                continue;
            assert_int_equal(read_blob(file.bytes, file.size, &image, &info), TL_OK);
            assert_int_equal(image.channels, 3);
            assert_int_equal(info.time.source, TL_TIME_NONE);
            check_letters(&image, 1, code_tolerance);
            tl_image_free(&image);
            free(file.bytes);
        }
}

/* Ten bits tell codes apart that eight do not. */
static void ten_bits_are_kept(void **state) {
    (void)state;
    static uint16_t code[W * H * 3];
    for (int i = 0; i < W * H * 3; i++)
        code[i] = (uint16_t)(i / 3 % W < W / 2 ? 801 : 802);
    for (size_t f = 0; f < 2; f++) {
        const heif_style style = {.format = formats[f].format, .bits = 10};
        blob file;
        tl_image image;
        tl_frame_info info;
        if (!make(&style, code, W, H, &file))
            continue;
        assert_int_equal(read_blob(file.bytes, file.size, &image, &info), TL_OK);
        for (int side = 0; side < 2; side++)
            check_near(light_at(&image, side * (W - 4) + 2, H / 2, 1),
                       65535 * iec_linear((801 + side) / 1023.0), rounding);
        tl_image_free(&image);
        free(file.bytes);
    }
}

/* irot and imir turn the picture; EXIF's Orientation, which phones write as well, must not turn it
 * once more (ISO/IEC 23000-22, 7.3.6.7), nor where it stands alone. */
static void the_file_s_own_turn_counts(void **state) {
    (void)state;
    for (size_t f = 0; f < 2; f++)
        for (int orientation = 0; orientation <= 8; orientation++) {
            blob block = exif_block(orientation > 0 ? orientation : 6, EXIF_BYTE_ORDER_MOTOROLA);
            const heif_style style = {
                .format = formats[f].format, .bits = 8, .orientation = orientation, .exif = &block};
            blob file;
            tl_image image;
            tl_frame_info info;
            if (make(&style, letters(8), W, H, &file)) {
                assert_int_equal(read_blob(file.bytes, file.size, &image, &info), TL_OK);
                check_exif_block(&info);
                assert_int_equal(info.orientation, 1);
                check_letters(&image, orientation > 0 ? orientation : 1, code_tolerance);
                tl_image_free(&image);
                free(file.bytes);
            }
            free(block.bytes);
        }
}

/* By ITU-T H.273: linear light, and BT.709 (BT.709-6, item 1.2: L = 0.18 is code 0.4091). */
static void numbers_name_the_curve(void **state) {
    (void)state;
    static uint16_t code[W * H * 3];
    for (int i = 0; i < W * H * 3; i++)
        code[i] = 104; /* 0.4078 */
    for (size_t f = 0; f < 2; f++) {
        heif_style style = {.format = formats[f].format, .bits = 8, .transfer = 8};
        blob file;
        tl_image image;
        tl_frame_info info;
        if (!make(&style, code, W, H, &file))
            continue;
        assert_int_equal(read_blob(file.bytes, file.size, &image, &info), TL_OK);
        check_near(light_at(&image, 5, 5, 0), 65535 * 104 / 255.0, rounding);
        tl_image_free(&image);
        free(file.bytes);
        style.transfer = 1;
        assert_true(make(&style, code, W, H, &file));
        assert_int_equal(read_blob(file.bytes, file.size, &image, &info), TL_OK);
        check_near(light_at(&image, 5, 5, 0) / 65535, 0.18, 0.002); /* a code is 0.0035 of light */
        tl_image_free(&image);
        free(file.bytes);
    }
}

static void broken_files_are_refused(void **state) {
    (void)state;
    for (size_t f = 0; f < 2; f++) {
        const heif_style style = {.format = formats[f].format, .bits = 8};
        blob file;
        if (!make(&style, letters(8), W, H, &file))
            continue;
        for (size_t size = 16; size + 8 < file.size; size += 23) {
            const tl_status status = status_of_blob(file.bytes, size);
            if (status == TL_OK)
                fail_msg("%s of %zu bytes, cut to %zu, is read", formats[f].name, file.size, size);
        }
        check_damage(&file, 200, 2);
        free(file.bytes);
    }
}

/* A parameter set of HEVC (H.265, 7.3.2.2) of this size, as bits after its header: Main profile, no
 * sublayers, 4:2:0. */
static size_t parameter_set(uint32_t width, uint32_t height, unsigned char nal[64]) {
    const uint32_t values[4] = {0, 1, width, height}; /* number, chroma, sizes */
    size_t at = 8 * (2 + 13);
    memset(nal, 0, 64);
    memcpy(nal, (const unsigned char[]){0x42, 0x01, 0x01, 0x01, 0x60}, 5);
    for (int i = 7; i < 15; i++)
        nal[i] = 0x5a; /* flags and level: none that is zero, so that nothing needs escaping */
    nal[5] = nal[6] = 0x11;
    for (int i = 0; i < 4; i++) {
        int length = 0;
        while (((uint64_t)values[i] + 1) >> (length + 1) != 0)
            length++;
        at += (size_t)length; /* zeros of Exp-Golomb (9.2) */
        for (int bit = length; bit >= 0; bit--, at++)
            if (((uint64_t)values[i] + 1) >> bit & 1)
                nal[at / 8] |= (unsigned char)(0x80 >> at % 8);
    }
    nal[at / 8] |= (unsigned char)(0x80 >> at % 8); /* the rest: whatever */
    memset(nal + at / 8 + 1, 0xff, 8);
    return at / 8 + 9;
}

/* The decoder makes room for what the stream says, whatever the file says of the picture. */
static void a_stream_of_many_pixels_is_not_decoded(void **state) {
    (void)state;
    static const struct {
        uint32_t width, height;
        bool modest;
    } cases[] = {{64, 64, true},        {4096, 3072, true},     {4096, 3073, false},
                 {64000, 64000, false}, {30001, 16, false},     {16, 30001, false},
                 {30000, 16, true},     {4294967294U, 1, false}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        unsigned char nal[64], file[256];
        const size_t size = parameter_set(cases[i].width, cases[i].height, nal);
        /* In the decoder's configuration (ISO/IEC 14496-15, 8.3.3.1): one array of one unit. */
        memset(file, 0xff, sizeof file);
        memcpy(file + 9, "hvcC", 4);
        memcpy(file + 9 + 4 + 22, (const unsigned char[]){1, 33, 0, 1, 0, (unsigned char)size}, 6);
        memcpy(file + 9 + 4 + 28, nal, size);
        if (tl_heif_is_modest(file, sizeof file, 4096 * 3072) != cases[i].modest)
            fail_msg("configuration %zu", i);
        /* In the stream, behind its length. */
        memset(file, 0xff, sizeof file);
        memcpy(file + 50, (const unsigned char[]){0, 0, 0, (unsigned char)size}, 4);
        memcpy(file + 54, nal, size);
        if (tl_heif_is_modest(file, sizeof file, 4096 * 3072) != cases[i].modest)
            fail_msg("stream %zu", i);
    }
    /* libheif's own files pass, with a block to spare and no more. */
    const heif_style style = {.format = heif_compression_HEVC, .bits = 8};
    blob file;
    if (!make(&style, letters(8), W, H, &file))
        return;
    assert_true(tl_heif_is_modest(file.bytes, file.size, 64 * 64));
    assert_false(tl_heif_is_modest(file.bytes, file.size, W * H));
    free(file.bytes);
}

/* Films and raw files are of the same family of formats. */
static void its_relatives_are_named(void **state) {
    (void)state;
    static const struct {
        const char *brand;
        tl_status status;
    } kin[] = {{"isom", TL_ERR_FILM}, {"mp42", TL_ERR_FILM},   {"qt  ", TL_ERR_FILM},
               {"crx ", TL_ERR_RAW},  {"heic", TL_ERR_BROKEN}, {"avif", TL_ERR_BROKEN}};
    for (size_t i = 0; i < sizeof kin / sizeof kin[0]; i++) {
        unsigned char bytes[24] = {0, 0, 0, 24, 'f', 't', 'y', 'p'};
        memcpy(bytes + 8, kin[i].brand, 4);
        memcpy(bytes + 16, kin[i].brand, 4);
        memcpy(bytes + 20, "iso2", 4);
        assert_int_equal(status_of_blob(bytes, sizeof bytes), kin[i].status);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(light_is_undone),
        cmocka_unit_test(ten_bits_are_kept),
        cmocka_unit_test(the_file_s_own_turn_counts),
        cmocka_unit_test(numbers_name_the_curve),
        cmocka_unit_test(broken_files_are_refused),
        cmocka_unit_test(a_stream_of_many_pixels_is_not_decoded),
        cmocka_unit_test(its_relatives_are_named),
    };
    return cmocka_run_group_tests_name("frame_heif", tests, NULL, NULL);
}
