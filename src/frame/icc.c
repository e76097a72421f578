/*
 * icc.c - the tone curve of an ICC profile (ICC.1:2010), by lcms2.
 *
 * Only the curve is used. Other primaries are another mix of the same linear light, and a limb lies
 * where light changes, whatever the mix. Measured on an orange Sun of 120 px radius, blur 1.5 px:
 * Display P3 turned into sRGB's primaries moves the circles by 0.02 px, the separation by 0.0002
 * solar radii, less than the error of one picture. A wrong curve bends the blurred edge and so
 * moves where it is steepest: power 2.2 (Adobe RGB) taken as sRGB 0.02 px and 0.0002, power 1.8
 * (ProPhoto) 0.2 px and 0.001, linear light taken as sRGB 0.8 px and 0.003, four seconds and more
 * of time.
 */
#include <math.h>

#include <lcms2.h>

#include "frame/frame_internal.h"

/* A display's or a camera's profile has some kilobytes, with look-up tables a megabyte or two. */
enum { PROFILE_MAX = 16 * 1024 * 1024 };

static void be_silent(cmsContext context, cmsUInt32Number code, const char *text) {
    (void)context;
    (void)code;
    (void)text;
}

/* The curve between device codes and light; NULL where a profile has none, or look-up tables beside
 * it that say more. The three colours share theirs in every working space; green's stands for all.
 */
static const cmsToneCurve *curve_of(cmsHPROFILE profile) {
    if (cmsGetColorSpace(profile) == cmsSigGrayData)
        return cmsReadTag(profile, cmsSigGrayTRCTag);
    if (cmsGetColorSpace(profile) != cmsSigRgbData || !cmsIsMatrixShaper(profile))
        return NULL;
    return cmsReadTag(profile, cmsSigGreenTRCTag);
}

/* Rising from dark to light; anything else is no curve that a camera's light went through. */
static bool evaluate(const cmsToneCurve *curve, size_t count, uint16_t *table) {
    const double bottom = (double)cmsEvalToneCurveFloat(curve, 0.0F);
    const double top = (double)cmsEvalToneCurveFloat(curve, 1.0F);
    if (!(top > 0.5 && top < 2.0 && bottom < 0.5 * top && bottom > -0.5) ||
        !cmsIsToneCurveMonotonic(curve))
        return false;
    for (size_t i = 0; i < count; i++) {
        const float code = (float)((double)i / (double)(count - 1));
        const double light = (double)cmsEvalToneCurveFloat(curve, code);
        table[i] = !(light > 0.0) ? 0 : light >= 1.0 ? 65535 : (uint16_t)lround(65535.0 * light);
    }
    return true;
}

bool tl_frame_icc_table(const unsigned char *profile, size_t size, size_t count, uint16_t *table) {
    if (size == 0 || size > PROFILE_MAX)
        return false;
    cmsContext context = cmsCreateContext(NULL, NULL);
    if (context == NULL)
        return false;
    cmsSetLogErrorHandlerTHR(context, be_silent);
    cmsHPROFILE opened = cmsOpenProfileFromMemTHR(context, profile, (cmsUInt32Number)size);
    bool understood = false;
    if (opened != NULL) {
        const cmsToneCurve *curve = curve_of(opened);
        understood = curve != NULL && evaluate(curve, count, table);
        cmsCloseProfile(opened);
    }
    cmsDeleteContext(context);
    return understood;
}
