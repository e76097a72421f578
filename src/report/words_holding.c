/*
 * words_holding.c - plain sentences on how a camera was held: by rule or by hand, how the picture
 * turned, mirrored or not.
 */
#include <math.h>

#include "report/report_internal.h"

/* Under this a turn is not worth a sentence: the bite moves by less than its own edge is wide. Our
 * own choice. */
static const double TURN_TOLD_RAD = 0.5 * TL_DEG;

/*
 * A direction q of the sky lies at x = -sin(q - up_pa), y = -cos(q - up_pa) of the picture (base.h;
 * y down). As up_pa grows q - up_pa falls, and the direction goes from the top to the right:
 * clockwise. Mirrored, x has the other sign: anticlockwise.
 */
bool tl_report_turned_clockwise(const tl_track_camera *camera) {
    return (camera->rotation_rad > 0.0) != (camera->mirrored == TL_MIRROR_YES);
}

/* Whether the rule says how the picture turned: not if a hand turned it by more, or if the other
 * rule fits as well. */
static bool explains(const tl_track_camera *camera) {
    const bool by_hand = camera->turn_jitter_rad > TL_REPORT_STEADY_RAD &&
                         camera->turn_jitter_rad >= fabs(camera->rotation_rad);
    return camera->has_rotation && !camera->holding_open && !by_hand;
}

void tl_report_words_turned(const tl_track_camera *camera, tl_report_text *text) {
    const double turned = fabs(camera->rotation_rad);
    if (!explains(camera) || turned < TURN_TOLD_RAD)
        return;
    tl_report_add_fixed(text, turned / TL_DEG, turned < 10.0 * TL_DEG ? 1 : 0);
    tl_report_text_add(text, "\u00b0");
    if (camera->mirrored != TL_MIRROR_AUTO)
        tl_report_text_add(text,
                           tl_report_turned_clockwise(camera) ? " clockwise" : " anticlockwise");
}

static void add_rule(const tl_track_camera *camera, tl_report_text *text) {
    static const char *const held[] = {
        [TL_HOLDING_FREE] = "Each picture was turned in its own way, as by a camera held in the "
                            "hand or aimed anew",
        [TL_HOLDING_FIXED] = "The camera was held as on an equatorial mount",
        [TL_HOLDING_ALTAZ] = "The camera was held level, as on an alt-azimuth mount"};
    if (camera->holding == TL_HOLDING_AUTO)
        return;
    tl_report_text_add(text, held[camera->holding]);
    if (camera->holding_open)
        tl_report_text_add(text, camera->holding == TL_HOLDING_FIXED
                                     ? ", though an alt-azimuth one fits about as well"
                                     : ", though an equatorial one fits about as well");
    if (camera->turn_jitter_rad > TL_REPORT_STEADY_RAD)
        tl_report_text_addf(text, ", give or take %.0f\u00b0 of the hand that held it",
                            camera->turn_jitter_rad / TL_DEG);
    tl_report_text_add(text, camera->holding_given ? " (given). " : ". ");
}

static void add_rotation(const tl_track_camera *camera, tl_report_text *text) {
    tl_report_text turned = {0};
    if (!explains(camera))
        return;
    tl_report_words_turned(camera, &turned);
    if (camera->holding == TL_HOLDING_FIXED)
        tl_report_text_add(text, "It followed the sky: the picture did not turn. ");
    else if (camera->holding == TL_HOLDING_ALTAZ && turned.length > 0)
        tl_report_text_addf(text,
                            "From the first picture to the last the Sun turned by %s in the "
                            "picture, because the camera followed the horizon and not the sky: "
                            "that is why the bite seemed to wander round the disc, beyond what "
                            "the Moon\u2019s own motion does. ",
                            tl_report_text_string(&turned));
    else if (camera->holding == TL_HOLDING_ALTAZ)
        tl_report_text_add(text,
                           "It followed the horizon and not the sky, but while these pictures "
                           "were taken that hardly turned them. ");
    text->failed = text->failed || turned.failed;
    tl_report_text_free(&turned);
}

void tl_report_words_holding(const tl_track_camera *camera, tl_report_text *text) {
    add_rule(camera, text);
    add_rotation(camera, text);
    if (camera->mirror_mixed)
        tl_report_text_add(text, "By their sunspots some of the pictures are mirrored and some "
                                 "are not.");
    else if (camera->mirrored == TL_MIRROR_AUTO)
        tl_report_text_add(text, "Whether the pictures are mirrored is not determined.");
    else
        tl_report_text_addf(text, "The pictures are %s%s.",
                            camera->mirrored == TL_MIRROR_YES
                                ? "mirrored, as by a star diagonal or on a card"
                                : "not mirrored",
                            camera->mirror_given ? " (given)" : "");
}

void tl_report_words_mirror_known(const tl_track_camera *camera, tl_report_text *text) {
    if (camera->mirrored == TL_MIRROR_AUTO || camera->mirror_mixed)
        return;
    tl_report_text_add(text,
                       camera->mirror_given ? " That is what you said."
                       : camera->mirror_by_spots
                           ? " That is known by the sunspots: in a mirror they go round the other "
                             "way."
                           : " That is known by the way in which the Moon went through the "
                             "pictures: in a mirror it goes round the Sun the other way.");
}
