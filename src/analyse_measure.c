/*
 * analyse_measure.c - one picture, from its file to circles: what is decoded of it, and how finely.
 */
#include <math.h>

#include "analyse_steps.h"

/* A Sun of a picture held reduced is looked at more closely if its radius is below the first, in
 * pixels held, and then held with at most the second: a pixel is 2 to 6 arcsec then, and an edge is
 * placed to a few hundredths of one, well below the mountains of the Moon. */
static const double SMALL_PX = 150, FINE_PX = 400;
/* Sky round a Sun that is looked at alone, in its radii, and px of the file on top. */
static const double REACH = 1.6, REACH_PX = 40;
/* What is refused may be so because it is held too small; all of the picture is then asked, since
 * what spoke against it may lie beside it. */
static const double REFUSED_SMALL_PX = 40;

/* The least halvings with which a Sun of this radius, file px, is held no larger than is of use. */
static int fine_halvings(double radius_px) {
    int halvings = 0;
    while (ldexp(radius_px, -halvings) > FINE_PX)
        halvings++;
    return halvings;
}

/* The closer look, if one is of use; `fine` stays empty if none is. */
static tl_status read_closer(const char *path, const tl_image *image, const tl_limb *limb,
                             tl_image *fine) {
    const double x = limb->circle[TL_SUN_X], y = limb->circle[TL_SUN_Y], r = limb->circle[TL_SUN_R];
    const double held = r / tl_image_scale(image);
    const int halvings = fine_halvings(r);
    const bool accepted = limb->status == TL_LIMB_MEASURED || limb->status == TL_LIMB_SUN_ONLY;
    if (!(r > 0) || halvings >= image->halvings || held >= (accepted ? SMALL_PX : REFUSED_SMALL_PX))
        return TL_OK;
    const double reach = accepted ? REACH * r + REACH_PX : HUGE_VAL;
    return tl_frame_read_part(path, x - reach, y - reach, x + reach, y + reach, halvings, fine);
}

tl_status tl_analyse_circles(const char *path, const tl_image *image, const tl_limb_prior *prior,
                             tl_limb *limb, tl_image *fine) {
    tl_limb found = {0}, closer = {0};
    tl_image part = {0};
    tl_status status = tl_limb_find(image, prior, &found);
    if (status != TL_OK)
        return status;
    status = read_closer(path, image, &found, &part);
    if (status == TL_OK && part.width > 0)
        status = tl_limb_find(&part, prior, &closer);
    if (status == TL_ERR_MEMORY) {
        tl_limb_free(&found);
        tl_image_free(&part);
        return status;
    }
    if (status == TL_OK && part.width > 0) { /* else the first look stands: a file cut short, say */
        tl_limb_free(&found);
        found = closer;
    }
    *limb = found;
    *fine = part;
    return TL_OK;
}
