/*
 * fuzz_seeds_icc.c - profiles, by lcms2: each way to write a curve, and kinds that have none.
 */
#include <lcms2.h>

#include "fuzz_seeds.h"

/* The bytes of a profile, without the time it was made; closes it. */
static blob bytes_of(cmsHPROFILE profile) {
    enum { DATE_AT = 24, DATE_SIZE = 12 }; /* ICC.1:2010, table 17 */
    cmsUInt32Number size = 0;
    assert_true(cmsSaveProfileToMem(profile, NULL, &size));
    blob b = {malloc(size), size};
    assert_true(cmsSaveProfileToMem(profile, b.bytes, &size));
    memset(b.bytes + DATE_AT, 0, DATE_SIZE);
    cmsCloseProfile(profile);
    return b;
}

/* Ends the curve. */
static blob colour_profile(cmsToneCurve *curve, double version) {
    static const cmsCIExyY white = {0.3127, 0.3290, 1};
    static const cmsCIExyYTRIPLE primaries = {
        {0.680, 0.320, 1}, {0.265, 0.690, 1}, {0.150, 0.060, 1}};
    cmsToneCurve *three[3] = {curve, curve, curve};
    cmsHPROFILE profile = cmsCreateRGBProfile(&white, &primaries, three);
    assert_non_null(profile);
    cmsSetProfileVersion(profile, version);
    cmsFreeToneCurve(curve);
    return bytes_of(profile);
}

static cmsToneCurve *srgb_curve(void) {
    static const double parameter[5] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};
    return cmsBuildParametricToneCurve(NULL, 4, parameter); /* table 65, type 3 */
}

blob seed_profile(void) {
    return colour_profile(srgb_curve(), 4.3);
}

/* Ends the bytes. The first byte of an input is no part of the profile (fuzz_icc.c). */
static void store(const char *folder, const char *name, blob profile) {
    blob b = {calloc(1, profile.size + 1), profile.size + 1};
    assert_non_null(b.bytes);
    memcpy(b.bytes + 1, profile.bytes, profile.size);
    seed_store(folder, name, &b);
    free(b.bytes);
    free(profile.bytes);
}

static blob grey_profile(void) {
    cmsToneCurve *curve = cmsBuildGamma(NULL, 1.8);
    cmsHPROFILE profile = cmsCreateGrayProfile(cmsD50_xyY(), curve);
    cmsFreeToneCurve(curve);
    return bytes_of(profile);
}

void seeds_of_icc(const char *folder) {
    cmsUInt16Number table[32];
    for (int i = 0; i < 32; i++)
        table[i] = (cmsUInt16Number)lround(65535.0 * pow(i / 31.0, 2.2));
    store(folder, "parametric", seed_profile());
    store(folder, "power", colour_profile(cmsBuildGamma(NULL, 563.0 / 256), 2.1));
    store(folder, "table", colour_profile(cmsBuildTabulatedToneCurve16(NULL, 32, table), 2.1));
    store(folder, "grey", grey_profile());
    store(folder, "lab", bytes_of(cmsCreateLab2Profile(NULL)));
}
