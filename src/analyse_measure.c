/*
 * analyse_measure.c - one picture, from its file to circles: what is decoded of it, and how finely.
 */
#include <math.h>

#include "analyse_steps.h"
#include "limb/limb_internal.h"

/*
 * A Sun of a picture held reduced is measured in a finer part of the file if its radius is below
 * the first, in pixels held: there a pixel is more than 7 arcsec, and errors begin to grow. The
 * part is read with a radius of at most the third, where a pixel is 4 to 7 arcsec and an edge is
 * placed to a few hundredths of one, well below the mountains of the Moon. One that was seen
 * smaller than the second is looked for again in the part, where more can be told of it.
 */
static const double SMALL_PX = 130, LOOK_AGAIN_PX = 80, FINE_PX = 260;
/* Of a Sun larger than this, held, a part of the pixels along its limbs will do: their errors are
 * then below those of a limb's own, 1.5 arcsec of mountains. */
static const double LARGE_PX = 150;
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

/* The part of the file within `reach` px of a Sun, if that is finer than `held`; `fine` is left as
 * it is if not, or if it cannot be read: the file is cut short, say, and what is held stands. */
static tl_status read_finer(const char *path, const tl_image *held, double x, double y,
                            double reach, int halvings, tl_image *fine) {
    if (halvings >= held->halvings)
        return TL_OK;
    const tl_status status =
        tl_frame_read_part(path, x - reach, y - reach, x + reach, y + reach, halvings, fine);
    return status == TL_ERR_MEMORY ? status : TL_OK;
}

static bool is_accepted(const tl_limb *limb) {
    return limb->status == TL_LIMB_MEASURED || limb->status == TL_LIMB_SUN_ONLY;
}

/* Measured in the finer part, where the Sun is looked for again; other Suns lie outside it. */
static tl_status find_finer(const tl_image *fine, const tl_sight *sight, const tl_limb_prior *prior,
                            bool large, tl_limb *limb) {
    tl_sight closer;
    const tl_status status = tl_limb_look(fine, &closer);
    if (status != TL_OK)
        return status;
    if (closer.seen.rivals < sight->seen.rivals)
        closer.seen.rivals = sight->seen.rivals;
    return tl_limb_measure(fine, &closer, prior, large, limb);
}

/* The Sun as seen in `image`, measured there or in what comes in `fine`. */
static tl_status measure(const char *path, const tl_image *image, const tl_sight *sight,
                         const tl_limb_prior *prior, tl_limb *limb, tl_image *fine) {
    const tl_circle *sun = &sight->seen.sun;
    const double held = sun->r / tl_image_scale(image);
    if (sight->found && held < SMALL_PX) {
        const tl_status status = read_finer(path, image, sun->x, sun->y, REACH * sun->r + REACH_PX,
                                            fine_halvings(sun->r), fine);
        if (status != TL_OK)
            return status;
    }
    if (fine->width == 0)
        return tl_limb_measure(image, sight, prior, image->halvings > 0, limb);
    const bool large = sun->r / tl_image_scale(fine) > LARGE_PX;
    return held < LOOK_AGAIN_PX ? find_finer(fine, sight, prior, large, limb)
                                : tl_limb_measure(fine, sight, prior, large, limb);
}

/* A Sun that was refused is looked for in all of the picture, held finer. */
static tl_status ask_again(const char *path, const tl_image *image, const tl_sight *sight,
                           const tl_limb_prior *prior, tl_limb *limb, tl_image *fine) {
    tl_image whole = {0};
    tl_limb again = {0};
    tl_status status =
        read_finer(path, image, 0, 0, HUGE_VAL, fine_halvings(sight->seen.sun.r), &whole);
    if (status != TL_OK || whole.width == 0)
        return status;
    status = tl_limb_find(&whole, prior, &again);
    if (status != TL_OK) {
        tl_image_free(&whole);
        return status;
    }
    tl_limb_free(limb);
    tl_image_free(fine);
    *limb = again;
    *fine = whole;
    return TL_OK;
}

tl_status tl_analyse_circles(const char *path, const tl_image *image, const tl_limb_prior *prior,
                             tl_limb *limb, tl_image *fine) {
    tl_sight sight = {0};
    tl_limb found = {0};
    tl_image part = {0};
    tl_status status = tl_limb_look(image, &sight);
    if (status == TL_OK)
        status = measure(path, image, &sight, prior, &found, &part);
    const bool small = sight.found && sight.seen.sun.r < REFUSED_SMALL_PX * tl_image_scale(image);
    if (status == TL_OK && small && !is_accepted(&found))
        status = ask_again(path, image, &sight, prior, &found, &part);
    if (status != TL_OK) {
        tl_limb_free(&found);
        tl_image_free(&part);
        return status;
    }
    *limb = found;
    *fine = part;
    return TL_OK;
}

tl_status tl_analyse_finer(const char *path, const tl_image *image, const tl_limb *limb,
                           tl_image *fine) {
    if (!is_accepted(limb))
        return TL_OK;
    const double *c = limb->circle;
    const int halvings = (int)floor(log2(tl_spot_pixel(limb)));
    tl_image part = {0};
    const tl_status status =
        read_finer(path, fine->width > 0 ? fine : image, c[TL_SUN_X], c[TL_SUN_Y],
                   REACH * c[TL_SUN_R] + REACH_PX, halvings, &part);
    if (status == TL_OK && part.width > 0) {
        tl_image_free(fine);
        *fine = part;
    }
    return status;
}
