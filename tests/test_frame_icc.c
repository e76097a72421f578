/*
 * test_frame_icc.c - tone curves of ICC profiles. The profiles are written by lcms2; values are
 * those of the colour spaces' own definitions.
 */
#include <lcms2.h>
#include <tiffio.h>

#include "frame/frame_internal.h"
#include "heif_make.h"

/* Light of table entries is rounded to 1/65535; numbers in a profile to 1/65536 (s15Fixed16). */
static const double profile_tolerance = 3e-5;

/* The primaries of Display P3 (SMPTE EG 432-1) with D65; others would do as well. */
static blob profile_of(cmsToneCurve *curve) {
    const cmsCIExyY white = {0.3127, 0.3290, 1};
    const cmsCIExyYTRIPLE primaries = {{0.680, 0.320, 1}, {0.265, 0.690, 1}, {0.150, 0.060, 1}};
    cmsToneCurve *three[3] = {curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, three);
    assert_non_null(profile);
    blob b = {NULL, 0};
    cmsUInt32Number size = 0;
    cmsSaveProfileToMem(profile, NULL, &size);
    b.bytes = malloc(size);
    b.size = size;
    assert_true(cmsSaveProfileToMem(profile, b.bytes, &size));
    cmsCloseProfile(profile);
    cmsFreeToneCurve(curve);
    return b;
}

/* Parametric curves of ICC.1:2010, table 65: type 0 is lcms2's 1, and so on. */
static blob parametric(int type, const double *parameter) {
    return profile_of(cmsBuildParametricToneCurve(NULL, type, parameter));
}

static const double SRGB[5] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};

static void check_curve(const blob *profile, double (*expected)(double), double tolerance) {
    uint16_t table[1024];
    assert_true(tl_frame_icc_table(profile->bytes, profile->size, 1024, table));
    for (int i = 0; i < 1024; i++) {
        const double light = expected(i / 1023.0);
        if (fabs(table[i] / 65535.0 - light) > tolerance)
            fail_msg("code %d gives %.6f, not %.6f", i, table[i] / 65535.0, light);
    }
}

static double linear(double code) {
    return code;
}
/* Adobe RGB (1998), version 2005-05, section 4.3.1.2: 2 + 51/256 */
static double adobe(double code) {
    return pow(code, 2.19921875);
}
/* ROMM RGB, ISO 22028-2: power 1.8, and a straight piece below 16/512 */
static double romm(double code) {
    return code < 16.0 / 512 ? code / 16 : pow(code, 1.8);
}
/* CIE 122-1966 with an offset, as IEC 61966-3 writes it: ((code + 0.1) / 1.1)^2 */
static double with_offset(double code) {
    return pow((code + 0.1) / 1.1, 2) - 0.01 / 1.21;
}

static void published_spaces_have_their_curves(void **state) {
    (void)state;
    static const double of_adobe[1] = {563.0 / 256}, of_one[1] = {1.0},
                        of_romm[5] = {1.8, 1, 0, 1.0 / 16, 16.0 / 512};
    blob p = parametric(4, SRGB); /* as phones write Display P3 */
    check_curve(&p, iec_linear, profile_tolerance);
    free(p.bytes);
    p = parametric(1, of_adobe);
    check_curve(&p, adobe, profile_tolerance);
    free(p.bytes);
    p = profile_of(cmsBuildGamma(NULL, 563.0 / 256)); /* `curv` of one number, u8Fixed8 */
    check_curve(&p, adobe, profile_tolerance);
    free(p.bytes);
    p = parametric(4, of_romm);
    check_curve(&p, romm, profile_tolerance);
    free(p.bytes);
    p = parametric(1, of_one);
    check_curve(&p, linear, profile_tolerance);
    free(p.bytes);
}

/* The types between: 1 and 2 of the standard with offsets, 4 with both constants. */
static void every_parametric_type_is_read(void **state) {
    (void)state;
    static const double third[4] = {2, 1 / 1.1, 0.1 / 1.1, -0.01 / 1.21};
    static const double fifth[7] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045, 0, 0};
    static const double second[3] = {2, 1, 0};
    blob p = parametric(3, third);
    check_curve(&p, with_offset, profile_tolerance);
    free(p.bytes);
    p = parametric(5, fifth);
    check_curve(&p, iec_linear, profile_tolerance);
    free(p.bytes);
    p = parametric(2, second);
    uint16_t table[3];
    assert_true(tl_frame_icc_table(p.bytes, p.size, 3, table));
    check_near(table[1] / 65535.0, 0.25, profile_tolerance);
    free(p.bytes);
}

/* sRGB by 1024 points, as desktop programs have written it since 1998. Between them it is straight:
 * off by the curve's bend, 2.4 * 1.4 / 1.055^2 / 8 / 1023^2. */
static void tables_are_read(void **state) {
    (void)state;
    static cmsUInt16Number point[1024];
    for (int i = 0; i < 1024; i++)
        point[i] = (cmsUInt16Number)lround(65535 * iec_linear(i / 1023.0));
    blob p = profile_of(cmsBuildTabulatedToneCurve16(NULL, 1024, point));
    check_curve(&p, iec_linear, profile_tolerance);
    free(p.bytes);
}

static void grey_profiles_are_read(void **state) {
    (void)state;
    cmsToneCurve *curve = cmsBuildGamma(NULL, 2.2);
    cmsHPROFILE grey = cmsCreateGrayProfile(cmsD50_xyY(), curve);
    unsigned char bytes[4096];
    cmsUInt32Number size = sizeof bytes;
    assert_true(cmsSaveProfileToMem(grey, bytes, &size));
    cmsCloseProfile(grey);
    cmsFreeToneCurve(curve);
    uint16_t table[3];
    assert_true(tl_frame_icc_table(bytes, size, 3, table));
    check_near(table[1] / 65535.0, pow(0.5, 2.2), 2e-4); /* 2.2 is 563.2/256 */
}

/* What has no curve is not understood, and says so; the caller then takes sRGB's. */
static void other_profiles_are_not_understood(void **state) {
    (void)state;
    uint16_t table[2] = {7, 7};
    cmsHPROFILE lab = cmsCreateLab4Profile(NULL), rgb = cmsCreate_sRGBProfile();
    cmsHTRANSFORM transform =
        cmsCreateTransform(rgb, TYPE_RGB_8, rgb, TYPE_RGB_8, INTENT_PERCEPTUAL, 0);
    cmsHPROFILE link = cmsTransform2DeviceLink(transform, 4.2, 0); /* look-up tables */
    cmsHPROFILE both[2] = {lab, link};
    for (int i = 0; i < 2; i++) {
        static unsigned char bytes[1 << 20];
        cmsUInt32Number size = sizeof bytes;
        assert_true(cmsSaveProfileToMem(both[i], bytes, &size));
        assert_false(tl_frame_icc_table(bytes, size, 2, table));
    }
    cmsDeleteTransform(transform);
    cmsCloseProfile(lab);
    cmsCloseProfile(rgb);
    cmsCloseProfile(link);
    blob p = parametric(4, SRGB);
    for (size_t size = 0; size < p.size / 2; size += 17)
        assert_false(tl_frame_icc_table(p.bytes, size, 2, table));
    assert_int_equal(table[0], 7);
    free(p.bytes);
    /* A curve that falls is not one that light went through. */
    const cmsUInt16Number falling[3] = {65535, 30000, 0};
    p = profile_of(cmsBuildTabulatedToneCurve16(NULL, 3, falling));
    assert_false(tl_frame_icc_table(p.bytes, p.size, 2, table));
    free(p.bytes);
}

static void damage_never_crashes(void **state) {
    (void)state;
    blob p = parametric(4, SRGB);
    uint32_t random = 3;
    for (int round = 0; round < 3000; round++) {
        unsigned char *bytes = malloc(p.size);
        memcpy(bytes, p.bytes, p.size);
        for (int hit = 0; hit < 3; hit++)
            bytes[(next_random(&random) >> 4) % p.size] =
                (unsigned char)(next_random(&random) >> 24);
        uint16_t table[256];
        if (tl_frame_icc_table(bytes, p.size, 256, table))
            for (int i = 1; i < 256; i++)
                assert_true(table[i] >= table[i - 1]);
        free(bytes);
    }
    free(p.bytes);
}

/* One grey code, in files of every kind that carry this profile; Adobe RGB is 4 % off sRGB there.
 */
enum { SIDE = 16, CODE = 64 };

static blob in_jpeg(const blob *profile) {
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr error;
    unsigned char *bytes = NULL;
    unsigned long size = 0;
    uint8_t row[SIDE];
    JSAMPROW line = row;
    memset(row, CODE, sizeof row);
    jpeg.err = jpeg_std_error(&error);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &bytes, &size);
    jpeg.image_width = jpeg.image_height = SIDE;
    jpeg.input_components = 1;
    jpeg.in_color_space = JCS_GRAYSCALE;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, 100, TRUE);
    jpeg_start_compress(&jpeg, TRUE);
    jpeg_write_icc_profile(&jpeg, profile->bytes, (unsigned)profile->size);
    for (int y = 0; y < SIDE; y++)
        jpeg_write_scanlines(&jpeg, &line, 1);
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    return (blob){bytes, size};
}

static blob in_tiff(const blob *profile) {
    scratch s;
    char path[PATH_SIZE];
    uint8_t row[SIDE];
    memset(row, CODE, sizeof row);
    scratch_make(&s);
    scratch_path(&s, "profile.tif", path);
    TIFF *tiff = TIFFOpen(path, "w");
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, SIDE);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, 1);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
    TIFFSetField(tiff, TIFFTAG_ICCPROFILE, (uint32_t)profile->size, profile->bytes);
    TIFFWriteScanline(tiff, row, 0, 0);
    TIFFClose(tiff);
    FILE *file = fopen(path, "rb");
    blob b = {malloc(1 << 18), 0};
    b.size = fread(b.bytes, 1, 1 << 18, file);
    fclose(file);
    remove_tree(s.folder);
    return b;
}

static void check_file(blob file, double expected, double tolerance) {
    tl_image image;
    tl_frame_info info;
    assert_int_equal(read_blob(file.bytes, file.size, &image, &info), TL_OK);
    check_near(light_at(&image, 3, 0, 0) / 65535, expected, tolerance);
    tl_image_free(&image);
    free(file.bytes);
}

static void files_carry_them(void **state) {
    (void)state;
    static uint16_t code[SIDE * SIDE * 3];
    for (int i = 0; i < SIDE * SIDE * 3; i++)
        code[i] = CODE;
    static const double of_adobe[1] = {563.0 / 256};
    blob p = parametric(1, of_adobe);
    const double expected = adobe(CODE / 255.0);
    check_file(in_jpeg(&p), expected, profile_tolerance);
    check_file(in_tiff(&p), expected, profile_tolerance);
    blob heic;
    const heif_style style = {.format = heif_compression_HEVC, .bits = 8, .profile = &p};
    if (heif_make(&style, code, SIDE, SIDE, &heic))
        check_file(heic, expected, profile_tolerance);
    /* One longer than a marker of JPEG, 64 kB, is written in pieces. */
    static cmsUInt16Number point[4096];
    for (int i = 0; i < 4096; i++)
        point[i] = (cmsUInt16Number)lround(65535 * adobe(i / 4095.0));
    free(p.bytes);
    p = profile_of(cmsBuildTabulatedToneCurve16(NULL, 4096, point));
    blob padded = {calloc(1, 150000), 150000};
    memcpy(padded.bytes, p.bytes, p.size);
    padded.bytes[0] = 0; /* its own size, big-endian */
    padded.bytes[1] = 150000 >> 16;
    padded.bytes[2] = 150000 >> 8 & 255;
    padded.bytes[3] = 150000 & 255;
    check_file(in_jpeg(&padded), expected, profile_tolerance);
    free(padded.bytes);
    free(p.bytes);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_spaces_have_their_curves),
        cmocka_unit_test(every_parametric_type_is_read),
        cmocka_unit_test(tables_are_read),
        cmocka_unit_test(grey_profiles_are_read),
        cmocka_unit_test(other_profiles_are_not_understood),
        cmocka_unit_test(damage_never_crashes),
        cmocka_unit_test(files_carry_them),
    };
    return cmocka_run_group_tests_name("frame_icc", tests, NULL, NULL);
}
