/*
 * tool_fuzz_seeds.c - the binary seeds of the fuzzers: small drawn pictures, EXIF blocks and
 * profiles, nothing photographed. The seeds that are text (times, spots, scene, text) are written
 * by hand.
 *
 *   tool_fuzz_seeds tests/fuzz/corpus
 */
#include "fuzz_seeds.h"

enum { TAG_BODY_SERIAL_NUMBER = 0xA431 };

const double SEED_SHARES[4] = {1.0, 0.6, 0.15, 0.5};

void seed_store(const char *folder, const char *name, const blob *bytes) {
    char path[PATH_SIZE];
    path_join(folder, name, path);
    write_file(path, bytes->bytes, bytes->size);
}

/* What a phone says, in one byte order. */
static blob phone_exif(ExifByteOrder order, const char *lat_ref, const char *lon_ref) {
    static const uint32_t lat[] = {49, 1, 50, 1, 24, 1}, lon[] = {7, 1, 52, 1, 1230, 100},
                          height[] = {2505, 10}, clock[] = {17, 1, 47, 1, 3, 1},
                          exposure[] = {1, 125}, aperture[] = {18, 10}, focal[] = {42, 10};
    ExifData *exif = exif_start(order);
    exif_put_text(exif, EXIF_IFD_0, EXIF_TAG_MAKE, "Invented");
    exif_put_text(exif, EXIF_IFD_0, EXIF_TAG_MODEL, "Invented phone");
    exif_put_short(exif, EXIF_IFD_0, EXIF_TAG_ORIENTATION, 6);
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, "2026:08:12 19:47:03");
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_SUB_SEC_TIME_ORIGINAL, "130");
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME_ORIGINAL, "+02:00");
    exif_put_text(exif, EXIF_IFD_EXIF, TAG_BODY_SERIAL_NUMBER, "000123");
    exif_put_short(exif, EXIF_IFD_EXIF, EXIF_TAG_ISO_SPEED_RATINGS, 50);
    exif_put_rationals(exif, EXIF_IFD_EXIF, EXIF_TAG_EXPOSURE_TIME, 1, exposure);
    exif_put_rationals(exif, EXIF_IFD_EXIF, EXIF_TAG_FNUMBER, 1, aperture);
    exif_put_rationals(exif, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH, 1, focal);
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE, 3, lat);
    exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE_REF, lat_ref);
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE, 3, lon);
    exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE_REF, lon_ref);
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE, 1, height);
    exif_put_byte(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE_REF, 0);
    exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_STATUS, "A");
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_TIME_STAMP, 3, clock);
    exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_DATE_STAMP, "2026:08:12");
    return exif_finish(exif);
}

/* The disc darkens to its limb by a linear law (u = 0.6, roughly that of green light), or would be
 * taken for a lamp. */
double seed_code(int x, int y, int side, double share) {
    const double unit = side / 64.0;
    const double sun[3] = {31.3 * unit, 33.1 * unit, 24.0 * unit},
                 moon[3] = {44.0 * unit, 26.0 * unit, 23.5 * unit};
    const double r = fmin(hypot(x - sun[0], y - sun[1]) / sun[2], 1.0);
    const double light = drawn_eclipse(x, y, sun, moon) * (0.4 + 0.6 * sqrt(1.0 - r * r));
    return 10.0 + 220.0 * pow(share * light, 1.0 / 2.2);
}

/* An eclipse in some colour space, with an EXIF block or without. */
static blob picture(J_COLOR_SPACE space, bool progressive, const blob *exif) {
    enum { SIDE = SEED_SIDE };
    static uint8_t samples[SIDE * SIDE * 4];
    const int channels = space == JCS_GRAYSCALE ? 1 : space == JCS_CMYK ? 4 : 3;
    for (int i = 0; i < SIDE * SIDE; i++)
        for (int c = 0; c < channels; c++)
            samples[i * channels + c] =
                (uint8_t)seed_code(i % SIDE, i / SIDE, SIDE, channels == 1 ? 1.0 : SEED_SHARES[c]);
    jpeg_style style = {.space = space, .progressive = progressive};
    if (exif != NULL) {
        style.marker[0] = exif->bytes;
        style.marker_size[0] = exif->size;
    }
    return jpeg_make(&style, samples, SIDE, SIDE);
}

static void store_pictures(const char *folder, const blob *exif) {
    blob grey = picture(JCS_GRAYSCALE, false, exif);
    const blob colour = picture(JCS_RGB, false, NULL);
    const blob progressive = picture(JCS_RGB, true, NULL);
    const blob inks = picture(JCS_CMYK, false, NULL);
    seed_store(folder, "grey.jpg", &grey);
    seed_store(folder, "colour.jpg", &colour);
    seed_store(folder, "progressive.jpg", &progressive);
    seed_store(folder, "inks.jpg", &inks);
    grey.size -= grey.size / 4;
    seed_store(folder, "cut_short.jpg", &grey);
    free(grey.bytes);
    free(colour.bytes);
    free(progressive.bytes);
    free(inks.bytes);
}

int main(int argc, char **argv) {
    if (argc != 2) {
        fputs("usage: tool_fuzz_seeds FOLDER\n", stderr);
        return 64;
    }
    char folder[PATH_SIZE];
    const blob intel = phone_exif(EXIF_BYTE_ORDER_INTEL, "N", "E");
    const blob motorola = phone_exif(EXIF_BYTE_ORDER_MOTOROLA, "S", "W");
    path_join(argv[1], "exif", folder);
    seed_store(folder, "intel", &intel);
    seed_store(folder, "motorola", &motorola);
    path_join(argv[1], "jpeg", folder);
    store_pictures(folder, &intel);
    path_join(argv[1], "png", folder);
    seeds_of_png(folder, &intel);
    path_join(argv[1], "tiff", folder);
    seeds_of_tiff(folder);
    path_join(argv[1], "heic", folder);
    seeds_of_heic(folder, &motorola);
    path_join(argv[1], "icc", folder);
    seeds_of_icc(folder);
    free(intel.bytes);
    free(motorola.bytes);
    return 0;
}
