/*
 * test_frame_png.c - PNG to linear light. The pictures are written by libpng.
 *
 * The rules come from Portable Network Graphics (PNG) Specification, third edition, W3C.
 */
#include "formats.h"

#include <png.h>

typedef struct png_style {
    int type, bits; /* PNG_COLOR_TYPE_... */
    bool interlaced;
    void (*mark)(png_structp png, png_infop info); /* more chunks; or NULL */
    const blob *exif; /* with its six bytes of JPEG in front; or NULL */
    bool exif_last;   /* behind the pixels */
} png_style;

static void append(png_structp png, png_bytep bytes, size_t count) {
    blob *b = png_get_io_ptr(png);
    b->bytes = realloc(b->bytes, b->size + count);
    assert_non_null(b->bytes);
    memcpy(b->bytes + b->size, bytes, count);
    b->size += count;
}

static void flush(png_structp png) {
    (void)png;
}

static blob png_make(const png_style *style, const void *rows, size_t row, int width, int height) {
    blob b = {NULL, 0};
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    assert_non_null(info);
    png_set_write_fn(png, &b, append, flush);
    png_set_IHDR(png, info, (png_uint_32)width, (png_uint_32)height, style->bits, style->type,
                 style->interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    if (style->mark != NULL)
        style->mark(png, info);
    png_write_info(png, info);
    if (style->exif != NULL && !style->exif_last)
        png_write_chunk(png, (png_const_bytep) "eXIf", style->exif->bytes + 6,
                        style->exif->size - 6);
    const int passes = png_set_interlace_handling(png);
    for (int pass = 0; pass < passes; pass++)
        for (int y = 0; y < height; y++)
            png_write_row(png, (png_const_bytep)rows + (size_t)y * row);
    if (style->exif != NULL && style->exif_last)
        png_write_chunk(png, (png_const_bytep) "eXIf", style->exif->bytes + 6,
                        style->exif->size - 6);
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    return b;
}

static tl_image read_png(const png_style *style, const void *rows, size_t row, int width,
                         int height) {
    blob b = png_make(style, rows, row, width, height);
    tl_image image;
    tl_frame_info info;
    assert_int_equal(read_blob(b.bytes, b.size, &image, &info), TL_OK);
    assert_int_equal(image.width, width);
    assert_int_equal(image.height, height);
    free(b.bytes);
    return image;
}

static void eight_bits_are_undone(void **state) {
    (void)state;
    uint8_t grey[256], colour[256 * 3];
    for (int i = 0; i < 256; i++) {
        grey[i] = (uint8_t)i;
        for (int c = 0; c < 3; c++)
            colour[3 * i + c] = (uint8_t)(i + 85 * c);
    }
    for (int interlaced = 0; interlaced < 2; interlaced++) {
        const png_style one = {PNG_COLOR_TYPE_GRAY, 8, .interlaced = interlaced};
        tl_image image = read_png(&one, grey, 16, 16, 16);
        assert_int_equal(image.channels, 1);
        for (int i = 0; i < 256; i++)
            check_near(light_at(&image, i % 16, i / 16, 0), 65535 * iec_linear(i / 255.0),
                       rounding);
        tl_image_free(&image);
        const png_style three = {PNG_COLOR_TYPE_RGB, 8, .interlaced = interlaced};
        image = read_png(&three, colour, 48, 16, 16);
        assert_int_equal(image.channels, 3);
        for (int i = 0; i < 768; i++)
            check_near(light_at(&image, i / 3 % 16, i / 48, i % 3),
                       65535 * iec_linear(colour[i] / 255.0), rounding);
        tl_image_free(&image);
    }
}

static void sixteen_bits_keep_theirs(void **state) {
    (void)state;
    uint8_t rows[256 * 6]; /* high byte first */
    for (int i = 0; i < 768; i++) {
        const int code = (i * 7919 + 13) % 65536;
        rows[2 * i] = (uint8_t)(code >> 8);
        rows[2 * i + 1] = (uint8_t)code;
    }
    const png_style style = {PNG_COLOR_TYPE_RGB, 16, .interlaced = false};
    tl_image image = read_png(&style, rows, 16 * 6, 16, 16);
    for (int i = 0; i < 768; i++)
        check_near(light_at(&image, i / 3 % 16, i / 48, i % 3),
                   65535 * iec_linear((i * 7919 + 13) % 65536 / 65535.0), rounding);
    tl_image_free(&image);
}

/* Codes of 1, 2 and 4 bits count from 0 to all ones. */
static void few_bits_span_the_whole_scale(void **state) {
    (void)state;
    for (int bits = 1; bits <= 4; bits *= 2) {
        const int most = (1 << bits) - 1;
        uint8_t row[2] = {0};
        for (int x = 0; x < 16 / bits; x++)
            row[x * bits / 8] |= (uint8_t)((x & most) << (8 - bits - x * bits % 8));
        const png_style style = {PNG_COLOR_TYPE_GRAY, bits, .interlaced = false};
        tl_image image = read_png(&style, row, 2, 16 / bits, 1);
        for (int x = 0; x < 16 / bits; x++)
            check_near(light_at(&image, x, 0, 0), 65535 * iec_linear((double)(x & most) / most),
                       rounding);
        tl_image_free(&image);
    }
}

static const png_color palette[4] = {{10, 20, 30}, {200, 100, 0}, {255, 255, 255}, {0, 0, 1}};
static void with_palette(png_structp png, png_infop info) {
    png_set_PLTE(png, info, palette, 4);
}
static void with_a_palette_let_through(png_structp png, png_infop info) {
    const png_byte alpha[2] = {0, 51};
    png_set_PLTE(png, info, palette, 4);
    png_set_tRNS(png, info, alpha, 2, NULL);
}
static void with_a_key(png_structp png, png_infop info) {
    const png_color_16 key = {.gray = 200};
    png_set_tRNS(png, info, NULL, 0, &key);
}

static void palettes_are_looked_up(void **state) {
    (void)state;
    const uint8_t row[4] = {0, 1, 2, 3};
    const png_style style = {PNG_COLOR_TYPE_PALETTE, 8, .mark = with_palette};
    const png_style through = {PNG_COLOR_TYPE_PALETTE, 8, .mark = with_a_palette_let_through};
    for (int let = 0; let < 2; let++) {
        tl_image image = read_png(let ? &through : &style, row, 4, 4, 1);
        assert_int_equal(image.channels, 3);
        for (int x = 0; x < 4; x++) {
            const double alpha = !let || x > 1 ? 1.0 : x == 0 ? 0.0 : 51.0 / 255.0;
            const int code[3] = {palette[x].red, palette[x].green, palette[x].blue};
            for (int c = 0; c < 3; c++)
                check_near(light_at(&image, x, 0, c), 65535 * alpha * iec_linear(code[c] / 255.0),
                           2 * rounding);
        }
        tl_image_free(&image);
    }
}

/* What is not shown gives no light: alpha times light, over black. */
static void alpha_lies_over_black(void **state) {
    (void)state;
    static const uint8_t alphas[4] = {0, 1, 128, 255};
    uint8_t rgba[16], grey_alpha[8], deep[16];
    for (int x = 0; x < 4; x++) {
        memcpy(rgba + 4 * x, (const uint8_t[]){250, 100, 3, alphas[x]}, 4);
        memcpy(grey_alpha + 2 * x, (const uint8_t[]){180, alphas[x]}, 2);
        memcpy(deep + 4 * x, (const uint8_t[]){0x80, 0x01, alphas[x], alphas[x]}, 4);
    }
    const png_style four = {PNG_COLOR_TYPE_RGB_ALPHA, 8, .interlaced = false};
    const png_style two = {PNG_COLOR_TYPE_GRAY_ALPHA, 8, .interlaced = false};
    const png_style wide = {PNG_COLOR_TYPE_GRAY_ALPHA, 16, .interlaced = false};
    tl_image colour = read_png(&four, rgba, 16, 4, 1), grey = read_png(&two, grey_alpha, 8, 4, 1),
             fine = read_png(&wide, deep, 16, 4, 1);
    for (int x = 0; x < 4; x++) {
        const double alpha = 65535 * alphas[x] / 255.0;
        check_near(light_at(&colour, x, 0, 0), alpha * iec_linear(250 / 255.0), 2 * rounding);
        check_near(light_at(&colour, x, 0, 2), alpha * iec_linear(3 / 255.0), 2 * rounding);
        check_near(light_at(&grey, x, 0, 0), alpha * iec_linear(180 / 255.0), 2 * rounding);
        check_near(light_at(&fine, x, 0, 0), alpha * iec_linear(0x8001 / 65535.0), 2 * rounding);
    }
    tl_image_free(&colour);
    tl_image_free(&grey);
    tl_image_free(&fine);
    const uint8_t row[2] = {199, 200};
    const png_style key = {PNG_COLOR_TYPE_GRAY, 8, .mark = with_a_key};
    tl_image keyed = read_png(&key, row, 2, 2, 1);
    check_near(light_at(&keyed, 0, 0, 0), 65535 * iec_linear(199 / 255.0), rounding);
    check_near(light_at(&keyed, 1, 0, 0), 0, 0);
    tl_image_free(&keyed);
}

static void mark_power(png_structp png, png_infop info) {
    png_set_gAMA_fixed(png, info, 50000);
}
static void mark_srgb_by_power(png_structp png, png_infop info) {
    png_set_gAMA_fixed(png, info, 45455);
}
static void mark_srgb(png_structp png, png_infop info) {
    png_set_sRGB(png, info, PNG_sRGB_INTENT_PERCEPTUAL);
}
static void mark_cicp(png_structp png, int transfer) {
    const png_byte code[4] = {1, (png_byte)transfer, 0, 1};

    png_write_chunk(png, (png_const_bytep) "cICP", code, 4);
}

static double light_of_code(const png_style *style, uint8_t code) {
    tl_image image = read_png(style, &code, 1, 1, 1);
    const double light = light_at(&image, 0, 0, 0);
    tl_image_free(&image);
    return light;
}

static void chunks_name_the_curve(void **state) {
    (void)state;
    const png_style power = {PNG_COLOR_TYPE_GRAY, 8, .mark = mark_power};
    const png_style srgb = {PNG_COLOR_TYPE_GRAY, 8, .mark = mark_srgb};
    const png_style stand_in = {PNG_COLOR_TYPE_GRAY, 8, .mark = mark_srgb_by_power};
    for (int code = 0; code < 256; code += 51) {
        const double c = code / 255.0;
        check_near(light_of_code(&power, (uint8_t)code), 65535 * c * c, rounding);
        check_near(light_of_code(&srgb, (uint8_t)code), 65535 * iec_linear(c), rounding);
        check_near(light_of_code(&stand_in, (uint8_t)code), 65535 * iec_linear(c), rounding);
    }
}

/* cICP goes before all else (section 4.3). It must stand before the pixels: put in behind IHDR, of
 * 25 bytes behind 8. */
static double light_by_cicp(int transfer, uint16_t code) {
    const uint8_t row[2] = {(uint8_t)(code >> 8), (uint8_t)code};
    blob chunk = {NULL, 0};
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_set_write_fn(png, &chunk, append, flush);
    mark_cicp(png, transfer);
    png_destroy_write_struct(&png, NULL);
    const png_style style = {PNG_COLOR_TYPE_GRAY, 16, .mark = mark_srgb};
    blob b = png_make(&style, row, 2, 1, 1);
    unsigned char *bytes = malloc(b.size + chunk.size);
    memcpy(bytes, b.bytes, 33);
    memcpy(bytes + 33, chunk.bytes, chunk.size);
    memcpy(bytes + 33 + chunk.size, b.bytes + 33, b.size - 33);
    tl_image image;
    tl_frame_info info;
    assert_int_equal(read_blob(bytes, b.size + chunk.size, &image, &info), TL_OK);
    const double light = light_at(&image, 0, 0, 0) / 65535;
    tl_image_free(&image);
    free(bytes);
    free(b.bytes);
    free(chunk.bytes);
    return light;
}

static void numbers_name_the_curve(void **state) {
    (void)state;
    const double unit = 1.0 / 65535; /* of code and of light */
    check_near(light_by_cicp(8, 20000), 20000 / 65535.0, unit);
    check_near(light_by_cicp(13, 20000), iec_linear(20000 / 65535.0), unit);
    check_near(light_by_cicp(4, 20000), pow(20000 / 65535.0, 2.2), unit);
    check_near(light_by_cicp(2, 20000), iec_linear(20000 / 65535.0), unit); /* unspecified */
    /* BT.709-6, item 1.2: V = 1.099 L^0.45 - 0.099; of L = 0.18 */
    const double v = 1.099 * pow(0.18, 0.45) - 0.099;
    check_near(light_by_cicp(1, (uint16_t)lround(65535 * v)), 0.18, 2 * unit);
    check_near(light_by_cicp(1, (uint16_t)lround(65535 * 4.5 * 0.01)), 0.01, 2 * unit);
    /* BT.2408-4, table 1: HDR reference white of 203 cd/m2 is 58 % of PQ and 75 % of HLG, where
     * BT.2100 has 10,000 cd/m2 for 1 and 0.265 of the scene's light; both rounded to a percent. */
    check_near(light_by_cicp(16, (uint16_t)lround(65535 * 0.58)), 0.0203, 0.0003);
    check_near(light_by_cicp(18, (uint16_t)lround(65535 * 0.75)), 0.265, 0.0005);
    check_near(light_by_cicp(18, 65535 / 2), 1.0 / 12, 2 * unit); /* BT.2100, note to table 5 */
    check_near(light_by_cicp(16, 65535), 1.0, 0);
    check_near(light_by_cicp(18, 65535), 1.0, 2 * unit);
}

static void exif_is_read_and_turns(void **state) {
    (void)state;
    enum { W = 3 * SQUARE, H = 2 * SQUARE };
    static uint8_t codes[W * H];
    for (int i = 0; i < W * H; i++)
        codes[i] = stored_letter_code(i % W, i / W);
    for (int orientation = 1; orientation <= 8; orientation++)
        for (int last = 0; last < 2; last++) {
            blob block =
                exif_block(orientation, last ? EXIF_BYTE_ORDER_INTEL : EXIF_BYTE_ORDER_MOTOROLA);
            const png_style style = {PNG_COLOR_TYPE_GRAY, 8, .interlaced = orientation % 2 != 0,
                                     .exif = &block, .exif_last = last};
            blob b = png_make(&style, codes, W, W, H);
            tl_image image;
            tl_frame_info info;
            assert_int_equal(read_blob(b.bytes, b.size, &image, &info), TL_OK);
            check_exif_block(&info);
            assert_int_equal(info.orientation, orientation);
            check_letters(&image, orientation, 0);
            tl_image_free(&image);
            free(b.bytes);
            free(block.bytes);
        }
}

static blob textured(bool interlaced, int bits) {
    static uint8_t samples[64 * 48 * 6];
    uint32_t random = 1;
    for (size_t i = 0; i < sizeof samples; i++)
        samples[i] = (uint8_t)(next_random(&random) >> 24);
    const png_style style = {PNG_COLOR_TYPE_RGB, bits, .interlaced = interlaced};
    return png_make(&style, samples, (size_t)(64 * 3 * bits / 8), 64, 48);
}

static void a_file_cut_short_is_broken(void **state) {
    (void)state;
    for (int interlaced = 0; interlaced < 2; interlaced++) {
        blob b = textured(interlaced, 8);
        assert_int_equal(status_of_blob(b.bytes, b.size), TL_OK);
        for (size_t size = 8; size + 32 < b.size; size += 509)
            assert_int_equal(status_of_blob(b.bytes, size), TL_ERR_BROKEN);
        b.bytes[b.size / 2] ^= 1; /* and so is one whose checksums do not fit */
        assert_int_equal(status_of_blob(b.bytes, b.size), TL_ERR_BROKEN);
        free(b.bytes);
    }
}

static void damage_never_crashes(void **state) {
    (void)state;
    for (int i = 0; i < 4; i++) {
        blob b = textured(i % 2, i < 2 ? 8 : 16);
        check_damage(&b, 150, 3);
        free(b.bytes);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(eight_bits_are_undone),         cmocka_unit_test(sixteen_bits_keep_theirs),
        cmocka_unit_test(few_bits_span_the_whole_scale), cmocka_unit_test(palettes_are_looked_up),
        cmocka_unit_test(alpha_lies_over_black),         cmocka_unit_test(chunks_name_the_curve),
        cmocka_unit_test(numbers_name_the_curve),        cmocka_unit_test(exif_is_read_and_turns),
        cmocka_unit_test(a_file_cut_short_is_broken),    cmocka_unit_test(damage_never_crashes),
    };
    return cmocka_run_group_tests_name("frame_png", tests, NULL, NULL);
}
