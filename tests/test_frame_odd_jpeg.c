/*
 * test_frame_odd_jpeg.c - JPEG as it is rarely met: inks, arithmetic coding, kinds that are not
 * read, files cut short. The pictures are written by libjpeg-turbo.
 */
#include "formats.h"
#include "twolimb/limb.h"

enum { INK_SIDE = 16 };

typedef struct odd_style {
    J_COLOR_SPACE given, stored;
    bool adobe; /* the marker that says that 255 is no ink */
    bool arithmetic, progressive;
    unsigned restart; /* blocks between markers to start anew at; 0: none */
} odd_style;

static blob odd_make(const odd_style *style, const uint8_t *row, int width, int height,
                     bool same_row) {
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr error;
    unsigned char *bytes = NULL;
    unsigned long size = 0;
    jpeg.err = jpeg_std_error(&error);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &bytes, &size);
    jpeg.image_width = (JDIMENSION)width;
    jpeg.image_height = (JDIMENSION)height;
    jpeg.in_color_space = style->given;
    jpeg.input_components = style->given == JCS_CMYK ? 4 : style->given == JCS_RGB ? 3 : 1;
    jpeg_set_defaults(&jpeg);
    jpeg_set_colorspace(&jpeg, style->stored);
    jpeg.write_Adobe_marker = style->adobe;
    jpeg.arith_code = style->arithmetic;
    jpeg.restart_interval = style->restart;
    jpeg_set_quality(&jpeg, 100, TRUE);
    if (style->progressive)
        jpeg_simple_progression(&jpeg);
    jpeg_start_compress(&jpeg, TRUE);
    for (int y = 0; y < height; y++) {
        const size_t at = same_row ? 0 : (size_t)(y * width * jpeg.input_components);
        JSAMPROW line = (JSAMPROW)(uintptr_t)(row + at);
        jpeg_write_scanlines(&jpeg, &line, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    return (blob){bytes, size};
}

/* Each ink takes its share of its own light, black of all: (1 - C)(1 - K). */
static void inks_become_light(void **state) {
    (void)state;
    static const int inks[4] = {51, 0, 204, 102}; /* cyan, magenta, yellow, black of 255 */
    const double left = 1 - 102 / 255.0;
    const double expected[3] = {0.8 * left, left, 0.2 * left};
    const odd_style styles[3] = {{.given = JCS_CMYK, .stored = JCS_CMYK, .adobe = true},
                                 {.given = JCS_CMYK, .stored = JCS_YCCK, .adobe = true},
                                 {.given = JCS_CMYK, .stored = JCS_CMYK, .adobe = false}};
    for (int s = 0; s < 3; s++) {
        uint8_t row[INK_SIDE * 4];
        for (int i = 0; i < INK_SIDE * 4; i++)
            row[i] = (uint8_t)(styles[s].adobe ? 255 - inks[i % 4] : inks[i % 4]);
        blob b = odd_make(&styles[s], row, INK_SIDE, INK_SIDE, true);
        tl_image image;
        tl_frame_info info;
        assert_int_equal(read_blob(b.bytes, b.size, &image, &info), TL_OK);
        assert_int_equal(image.channels, 3);
        for (int c = 0; c < 3; c++) /* YCCK rounds by two codes at most */
            check_near(light_at(&image, 5, 9, c) / 65535, iec_linear(expected[c]), 0.01);
        tl_image_free(&image);
        free(b.bytes);
    }
}

static void arithmetic_coding_is_read(void **state) {
    (void)state;
    uint8_t row[64];
    for (int x = 0; x < 64; x++)
        row[x] = (uint8_t)(x / 8 * 30);
    for (int progressive = 0; progressive < 2; progressive++) {
        const odd_style style = {.given = JCS_GRAYSCALE,
                                 .stored = JCS_GRAYSCALE,
                                 .arithmetic = true,
                                 .progressive = progressive};
        blob b = odd_make(&style, row, 64, 16, true);
        tl_image image;
        tl_frame_info info;
        assert_int_equal(read_blob(b.bytes, b.size, &image, &info), TL_OK);
        for (int x = 0; x < 64; x++)
            check_near(light_at(&image, x, 7, 0), 65535 * iec_linear(row[x] / 255.0), rounding);
        tl_image_free(&image);
        free(b.bytes);
    }
}

/* The start-of-frame marker: FF C0 or FF C2, length 2, precision 1. */
static unsigned char *frame_header(const blob *jpeg) {
    for (size_t i = 0; i + 9 < jpeg->size; i++)
        if (jpeg->bytes[i] == 0xff && (jpeg->bytes[i + 1] == 0xc0 || jpeg->bytes[i + 1] == 0xc2))
            return jpeg->bytes + i;
    fail_msg("no start of frame");
    return NULL;
}

static void kinds_that_are_not_read_are_named(void **state) {
    (void)state;
    blob b = jpeg_flat(100, NULL);
    frame_header(&b)[4] = 12; /* bits */
    assert_int_equal(status_of_blob(b.bytes, b.size), TL_ERR_JPEG_KIND);
    frame_header(&b)[4] = 8;
    frame_header(&b)[1] = 0xc3; /* without loss (ITU-T T.81, table B.1) */
    assert_int_equal(status_of_blob(b.bytes, b.size), TL_ERR_JPEG_KIND);
    free(b.bytes);
}

/* Files of other kinds, by what they begin with. */
static void other_kinds_are_named(void **state) {
    (void)state;
    static const struct {
        const char *start;
        size_t size;
        tl_status status;
    } kinds[] = {
        {"RIFF\x10\0\0\0WEBPVP8 ", 16, TL_ERR_OTHER_KIND},
        {"GIF89a\x01\0\x01\0", 10, TL_ERR_OTHER_KIND},
        {"\xff\x0a\0\0\0\0\0\0", 8, TL_ERR_OTHER_KIND},
        {"\0\0\0\x0cJXL \r\n\x87\n", 12, TL_ERR_OTHER_KIND},
        {"\0\0\0\x0cjP  \r\n\x87\n", 12, TL_ERR_OTHER_KIND},
        {"BM\x46\0\0\0\0\0\0\0\x36\0\0\0", 14, TL_ERR_OTHER_KIND},
        {"8BPS\0\x01\0\0", 8, TL_ERR_OTHER_KIND},
        {"SIMPLE  =                    T", 30, TL_ERR_OTHER_KIND},
        {"FUJIFILMCCD-RAW 0201", 20, TL_ERR_RAW},
        {"IIRO\x08\0\0\0", 8, TL_ERR_RAW},
        {"IIU\0\x18\0\0\0", 8, TL_ERR_RAW},
        {"RIFF\x10\0\0\0AVI LIST", 16, TL_ERR_FILM},
        {"\x1a\x45\xdf\xa3\x01\0\0\0", 8, TL_ERR_FILM},
        {"BM, a letter\n", 13, TL_ERR_NOT_PICTURE},
        {"file,time\na.jpg,", 16, TL_ERR_NOT_PICTURE},
        {"\0\0\0\0\0\0\0\0\0\0\0\0", 12, TL_ERR_NOT_PICTURE},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        if (status_of_blob(kinds[i].start, kinds[i].size) != kinds[i].status)
            fail_msg("kind %zu has status %d, not %d", i,
                     status_of_blob(kinds[i].start, kinds[i].size), kinds[i].status);
}

enum { CUT_W = 64, CUT_H = 80 };

/* Structure in every block, so that each row takes its bytes. */
static blob textured(const odd_style *style, int orientation) {
    static uint8_t samples[CUT_W * CUT_H * 3];
    uint32_t random = 1;
    for (size_t i = 0; i < sizeof samples; i++)
        samples[i] = (uint8_t)(next_random(&random) >> 24);
    blob plain = odd_make(style, samples, CUT_W, CUT_H, false);
    /* EXIF behind the first two bytes: marker, length, block. */
    blob block = exif_block(orientation, EXIF_BYTE_ORDER_INTEL);
    blob b = {malloc(plain.size + block.size + 4), plain.size + block.size + 4};
    memcpy(b.bytes, plain.bytes, 2);
    memcpy(b.bytes + 2,
           (const unsigned char[]){0xff, 0xe1, (unsigned char)((block.size + 2) >> 8),
                                   (unsigned char)(block.size + 2)},
           4);
    memcpy(b.bytes + 6, block.bytes, block.size);
    memcpy(b.bytes + 6 + block.size, plain.bytes + 2, plain.size - 2);
    free(plain.bytes);
    free(block.bytes);
    return b;
}

/* What is left of an upright picture without its last stored rows: where its first pixel lay in the
 * whole one (EXIF 2.32, tag 0x0112: stored row 0 is the top in 1 and 2, the bottom in 3 and 4, the
 * left side in 5 and 8, the right in 6 and 7). */
static void check_cut(const tl_image *whole, const tl_image *cut, int orientation, int missing) {
    const int dx = orientation == 6 || orientation == 7 ? missing : 0;
    const int dy = orientation == 3 || orientation == 4 ? missing : 0;
    assert_int_equal(cut->width, whole->width - (orientation >= 5 ? missing : 0));
    assert_int_equal(cut->height, whole->height - (orientation >= 5 ? 0 : missing));
    assert_int_equal(cut->left, dx);
    assert_int_equal(cut->top, dy);
    for (int y = 0; y < cut->height; y++)
        for (int x = 0; x < cut->width; x++)
            for (int c = 0; c < cut->channels; c++)
                if (light_at(cut, x, y, c) != light_at(whole, x + dx, y + dy, c))
                    fail_msg("orientation %d, %d rows missing: pixel %d,%d is not that of the "
                             "whole picture",
                             orientation, missing, x, y);
}

static void whole_rows_of_a_cut_file_are_kept(void **state) {
    (void)state;
    const odd_style styles[3] = {{.given = JCS_RGB, .stored = JCS_YCbCr},
                                 {.given = JCS_GRAYSCALE, .stored = JCS_GRAYSCALE},
                                 {.given = JCS_RGB, .stored = JCS_YCbCr, .arithmetic = true}};
    for (int s = 0; s < 3; s++)
        for (int orientation = 1; orientation <= 8; orientation++) {
            blob b = textured(&styles[s], orientation);
            tl_image whole, cut;
            tl_frame_info info;
            assert_int_equal(read_blob(b.bytes, b.size, &whole, &info), TL_OK);
            assert_int_equal(info.rows_missing, 0);
            int kinds = 0, before = CUT_H;
            for (size_t size = b.size / 3; size + 2 < b.size; size += b.size / 13) {
                assert_int_equal(read_blob(b.bytes, size, &cut, &info), TL_OK);
                assert_in_range(info.rows_missing, 1, CUT_H - 1);
                assert_true(info.rows_missing <= before);
                kinds += info.rows_missing < before;
                before = info.rows_missing;
                check_exif_block(&info);
                check_cut(&whole, &cut, orientation, info.rows_missing);
                tl_image_free(&cut);
            }
            assert_in_range(kinds, 3, 9); /* as many rows as there are bytes for */
            tl_image_free(&whole);
            free(b.bytes);
        }
}

/* A picture that is held reduced: the rows that are missing are counted in those of the file, and
 * what is there lies where it lay. */
static void a_reduced_picture_is_cut_likewise(void **state) {
    (void)state;
    enum { LARGE_W = 3000, LARGE_H = 4001 }; /* 12 million: held at a quarter */
    uint8_t *samples = malloc((size_t)LARGE_W * LARGE_H);
    uint32_t random = 2;
    for (size_t i = 0; i < (size_t)LARGE_W * LARGE_H; i++)
        samples[i] = (uint8_t)(next_random(&random) >> 24);
    const odd_style style = {.given = JCS_GRAYSCALE, .stored = JCS_GRAYSCALE};
    blob b = odd_make(&style, samples, LARGE_W, LARGE_H, false);
    tl_image whole, cut;
    tl_frame_info info;
    assert_int_equal(read_blob(b.bytes, b.size, &whole, &info), TL_OK);
    assert_int_equal(whole.halvings, 2);
    assert_int_equal(read_blob(b.bytes, b.size / 2, &cut, &info), TL_OK);
    assert_int_equal(cut.halvings, 2);
    assert_int_equal(info.width, LARGE_W);
    assert_int_equal(info.height, LARGE_H);
    /* noise takes the same bytes everywhere: about half of the rows */
    assert_in_range(info.rows_missing, LARGE_H / 2 - 100, LARGE_H / 2 + 100);
    assert_int_equal(info.rows_missing, LARGE_H - 4 * cut.height);
    check_cut(&whole, &cut, 1, whole.height - cut.height);
    tl_image_free(&whole);
    tl_image_free(&cut);
    free(b.bytes);
    free(samples);
}

/* Of a progressive file the first scans hold all rows, but none of them well. */
static void without_whole_rows_it_is_broken(void **state) {
    (void)state;
    const odd_style progressive = {.given = JCS_RGB, .stored = JCS_YCbCr, .progressive = true};
    blob b = textured(&progressive, 1);
    assert_int_equal(status_of_blob(b.bytes, b.size), TL_OK);
    for (size_t size = 3; size + 2 < b.size; size += b.size / 29)
        assert_int_equal(status_of_blob(b.bytes, size), TL_ERR_BROKEN);
    free(b.bytes);
    const odd_style plain = {.given = JCS_RGB, .stored = JCS_YCbCr};
    b = textured(&plain, 1);
    for (size_t size = 3; size < 700; size += 23) /* headers, and half a row of blocks */
        assert_int_equal(status_of_blob(b.bytes, size), TL_ERR_BROKEN);
    free(b.bytes);
}

/*
 * A part of the file is lost from its middle, which from there on reads as other pixels, at other
 * places: with a code that does not exist, too few or too many data at the end. None of that is a
 * picture, nor one that is cut short; only where all comes out even, by chance, is it not seen.
 */
static void what_is_garbled_is_no_picture(void **state) {
    (void)state;
    const odd_style styles[3] = {{.given = JCS_RGB, .stored = JCS_YCbCr},
                                 {.given = JCS_GRAYSCALE, .stored = JCS_GRAYSCALE},
                                 {.given = JCS_RGB, .stored = JCS_YCbCr, .progressive = true}};
    int tried = 0, unseen = 0;
    for (int s = 0; s < 3; s++) {
        blob b = textured(&styles[s], 1);
        for (size_t lost = 64; lost <= 512; lost *= 2)
            for (size_t at = b.size / 4; at + lost + 64 < b.size; at += 97) {
                unsigned char *copy = malloc(b.size);
                tl_image image;
                tl_frame_info info;
                memcpy(copy, b.bytes, at);
                memcpy(copy + at, b.bytes + at + lost, b.size - at - lost);
                const tl_status status = read_blob(copy, b.size - lost, &image, &info);
                tried++;
                if (status == TL_OK) {
                    unseen++;
                    assert_int_equal(info.rows_missing, 0);
                    tl_image_free(&image);
                } else {
                    assert_int_equal(status, TL_ERR_BROKEN);
                }
                free(copy);
            }
        free(b.bytes);
    }
    printf("%d of %d unseen\n", unseen, tried);
    assert_true(unseen < tried / 25);
}

/* What stands behind the pixels' data: zeros, with which some fill up (common practice, no source),
 * say nothing against them; other bytes do. Zeros in place of data, room for what was
 * never copied, are no pixels. */
static void the_end_of_the_data_tells(void **state) {
    (void)state;
    enum { MORE = 40 };
    const odd_style style = {.given = JCS_RGB, .stored = JCS_YCbCr};
    blob b = textured(&style, 1);
    const size_t end = b.size - 2, cut = b.size / 2;
    unsigned char *copy = malloc(b.size + MORE);
    tl_image whole, other;
    tl_frame_info info;
    assert_int_equal(read_blob(b.bytes, b.size, &whole, &info), TL_OK);
    for (int kind = 0; kind < 3; kind++) {
        size_t size = b.size;
        memcpy(copy, b.bytes, b.size);
        if (kind == 0) { /* zeros in front of the end marker */
            memset(copy + end, 0, MORE);
            memcpy(copy + end + MORE, b.bytes + end, 2);
            size += MORE;
        } else if (kind == 1) { /* and behind it */
            memset(copy + b.size, 0, MORE);
            size += MORE;
        } else { /* the rest never came */
            memset(copy + cut, 0, b.size - cut);
        }
        assert_int_equal(read_blob(copy, size, &other, &info), TL_OK);
        if (kind < 2)
            assert_int_equal(info.rows_missing, 0);
        else
            assert_in_range(info.rows_missing, CUT_H / 3, 2 * CUT_H / 3);
        check_cut(&whole, &other, 1, info.rows_missing);
        tl_image_free(&other);
    }
    /* An end marker behind half the data; data behind all of them. */
    memcpy(copy, b.bytes, cut);
    memcpy(copy + cut, b.bytes + end, 2);
    assert_int_equal(status_of_blob(copy, cut + 2), TL_ERR_BROKEN);
    /* libjpeg reads up to eight ahead, and forgets them */
    for (size_t more = 9; more <= MORE; more++) {
        memcpy(copy, b.bytes, end);
        memset(copy + end, 0x5a, more);
        memcpy(copy + end + more, b.bytes + end, 2);
        assert_int_equal(status_of_blob(copy, b.size + more), TL_ERR_BROKEN);
    }
    free(copy);
    tl_image_free(&whole);
    free(b.bytes);
}

/* The same in front of the markers at which decoding starts anew. */
static void zeros_before_restarts_are_harmless(void **state) {
    (void)state;
    const odd_style style = {.given = JCS_RGB, .stored = JCS_YCbCr, .restart = 4};
    blob b = textured(&style, 1);
    for (size_t zeros = 0; zeros <= 12; zeros += 3) {
        unsigned char *copy = malloc(3 * b.size);
        size_t size = 0;
        int restarts = 0;
        for (size_t i = 0; i < b.size; i++) {
            if (b.bytes[i] == 0xff && i + 1 < b.size && (b.bytes[i + 1] & 0xf8) == 0xd0) {
                memset(copy + size, 0, zeros);
                size += zeros;
                restarts++;
            }
            copy[size++] = b.bytes[i];
        }
        assert_true(restarts > 3);
        tl_image whole, other;
        tl_frame_info info;
        assert_int_equal(read_blob(b.bytes, b.size, &whole, &info), TL_OK);
        assert_int_equal(read_blob(copy, size, &other, &info), TL_OK);
        assert_int_equal(info.rows_missing, 0);
        check_cut(&whole, &other, 1, 0);
        tl_image_free(&whole);
        tl_image_free(&other);
        free(copy);
    }
    free(b.bytes);
}

/* A Sun that is whole is measured as in the whole file; one that the end cuts is no whole Sun. */
static void what_is_there_is_measured(void **state) {
    (void)state;
    const double sun[3] = {300.2, 200.7, 110.0}, moon[3] = {360.0, 150.0, 112.0};
    blob b = jpeg_eclipse(sun, moon);
    tl_image image;
    tl_frame_info info;
    tl_limb whole = {0};
    const tl_limb_prior none = {0};
    assert_int_equal(read_blob(b.bytes, b.size, &image, &info), TL_OK);
    assert_int_equal(tl_limb_find(&image, &none, &whole), TL_OK);
    assert_int_equal(whole.status, TL_LIMB_MEASURED);
    tl_image_free(&image);
    int seen = 0, refused = 0;
    for (size_t size = b.size / 4; size + 8 < b.size; size += b.size / 20) {
        tl_limb limb = {0};
        if (read_blob(b.bytes, size, &image, &info) != TL_OK)
            continue;
        assert_int_equal(image.height, 500 - info.rows_missing);
        assert_int_equal(tl_limb_find(&image, &none, &limb), TL_OK);
        const bool is_whole = image.height > 320; /* the Sun ends at 311 */
        if (is_whole)
            assert_int_equal(limb.status, TL_LIMB_MEASURED);
        if (limb.status == TL_LIMB_MEASURED) {
            /* px: what is seen of a cut limb says less */
            for (int i = 0; i < TL_LIMB_PARAMS; i++)
                check_near(limb.circle[i], whole.circle[i], is_whole ? 0.05 : 2.0);
        } else {
            refused++;
        }
        seen++;
        tl_limb_free(&limb);
        tl_image_free(&image);
    }
    assert_in_range(refused, 1, seen - 1);
    tl_limb_free(&whole);
    free(b.bytes);
}

/* Whatever a file is refused for is shown as its reason, whole, and the end of the file beside it
 * (100 characters). */
static void every_reason_has_room(void **state) {
    (void)state;
    for (int s = 0; s < TL_STATUS_COUNT; s++)
        assert_in_range(strlen(tl_status_text((tl_status)s)), 20, TL_LIMB_REASON_SIZE - 101);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(inks_become_light),
        cmocka_unit_test(arithmetic_coding_is_read),
        cmocka_unit_test(kinds_that_are_not_read_are_named),
        cmocka_unit_test(other_kinds_are_named),
        cmocka_unit_test(whole_rows_of_a_cut_file_are_kept),
        cmocka_unit_test(a_reduced_picture_is_cut_likewise),
        cmocka_unit_test(without_whole_rows_it_is_broken),
        cmocka_unit_test(what_is_garbled_is_no_picture),
        cmocka_unit_test(the_end_of_the_data_tells),
        cmocka_unit_test(zeros_before_restarts_are_harmless),
        cmocka_unit_test(what_is_there_is_measured),
        cmocka_unit_test(every_reason_has_room),
    };
    return cmocka_run_group_tests_name("frame_odd_jpeg", tests, NULL, NULL);
}
