/*
 * settings.c - what a frame may say of itself, as tables for the reader.
 */
#include <math.h>

#include "simulate/simulate_internal.h"

typedef tl_simulate_settings settings;

static const char *const subject_words[] = {"sun", "nothing", "ghosts", NULL};
static const char *const holding_words[] = {"free", "fixed", "altaz", NULL};
static const char *const expected_words[] = {"auto",    "measured", "sun-only",
                                             "refused", "either",   NULL};

static const char *const chroma_words[] = {"half", "full", NULL};
static const char *const shaded_words[] = {"all", "background", NULL};

/* Widest ranges that make sense; all figures invented, to catch slips of the pen. */
#define WIDEST_PX 30000.0
#define WIDEST_SR 1000.0
#define BRIGHTEST 1e4

#define NUMBER(type, member, low, high)                                                            \
    { #member, TL_FIELD_NUMBER, offsetof(type, member), low, high, NULL, NULL, 0, 0 }
#define INTEGER(type, member, low, high)                                                           \
    { #member, TL_FIELD_INTEGER, offsetof(type, member), low, high, NULL, NULL, 0, 0 }
#define FLAG(type, member)                                                                         \
    { #member, TL_FIELD_FLAG, offsetof(type, member), 0, 0, NULL, NULL, 0, 0 }
#define COLOUR(type, member)                                                                       \
    { #member, TL_FIELD_COLOUR, offsetof(type, member), 0.0, BRIGHTEST, NULL, NULL, 0, 0 }
#define TEXT(type, member)                                                                         \
    { #member, TL_FIELD_TEXT, offsetof(type, member), 0, 0, NULL, NULL, 0, 0 }
#define WORD(type, member, words)                                                                  \
    { #member, TL_FIELD_WORD, offsetof(type, member), 0, 0, words, NULL, 0, 0 }
#define OBJECT(member, fields)                                                                     \
    { #member, TL_FIELD_OBJECT, offsetof(settings, member), 0, 0, NULL, fields, 0, 0 }
#define LIST(name, member, fields)                                                                 \
    {                                                                                              \
        name, TL_FIELD_LIST, offsetof(settings, member), 0, TL_SIMULATE_LIST_MAX, NULL, fields,    \
            offsetof(settings, member##_count), sizeof(tl_simulate_##member)                       \
    }
#define END                                                                                        \
    { NULL, TL_FIELD_ELSEWHERE, 0, 0, 0, NULL, NULL, 0, 0 }

static const tl_simulate_field tilt_fields[] = {
    NUMBER(tl_simulate_tilt, stretch, 0.5, 2.0),
    NUMBER(tl_simulate_tilt, direction_deg, -360.0, 360.0),
    END,
};

static const tl_simulate_field distortion_fields[] = {
    NUMBER(tl_simulate_distortion, share, -0.02, 0.02), /* beyond it the map may fold */
    END,
};

static const tl_simulate_field trail_fields[] = {
    NUMBER(tl_simulate_trail, length_px, 0.0, 5000.0),
    NUMBER(tl_simulate_trail, direction_deg, -360.0, 360.0),
    END,
};

static const tl_simulate_field sun_fields[] = {
    NUMBER(tl_simulate_sun, x_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_sun, y_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_sun, seconds, -86400.0, 86400.0),
    NUMBER(tl_simulate_sun, share, 0.0, BRIGHTEST),
    END,
};

static const tl_simulate_field card_fields[] = {
    NUMBER(tl_simulate_card, grain, 0.0, 1.0),
    NUMBER(tl_simulate_card, grain_px, 0.0, 50.0),
    NUMBER(tl_simulate_card, uneven, 0.0, 1.0),
    NUMBER(tl_simulate_card, x_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_card, y_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_card, width_sr, 0.0, WIDEST_SR),
    NUMBER(tl_simulate_card, height_sr, 0.0, WIDEST_SR),
    NUMBER(tl_simulate_card, turn_deg, -360.0, 360.0),
    COLOUR(tl_simulate_card, outside),
    END,
};

static const tl_simulate_field shadow_fields[] = {
    NUMBER(tl_simulate_shadow, x_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_shadow, y_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_shadow, direction_deg, -360.0, 360.0),
    NUMBER(tl_simulate_shadow, width_sr, 0.0, WIDEST_SR),
    NUMBER(tl_simulate_shadow, soft_sr, 0.001, WIDEST_SR),
    NUMBER(tl_simulate_shadow, depth, 0.0, 1.0),
    WORD(tl_simulate_shadow, over, shaded_words),
    END,
};

static const tl_simulate_field vignette_fields[] = {
    NUMBER(tl_simulate_vignette, amount, 0.0, 1.0),
    END,
};

static const tl_simulate_field tone_fields[] = {
    NUMBER(tl_simulate_tone, knee, 0.0, 1.0),
    NUMBER(tl_simulate_tone, contrast, 0.0, 1.0),
    NUMBER(tl_simulate_tone, gamma, 0.3, 3.0),
    END,
};

static const tl_simulate_field sharpen_fields[] = {
    NUMBER(tl_simulate_sharpen, amount, 0.0, 10.0),
    NUMBER(tl_simulate_sharpen, radius_px, TL_SIMULATE_BLUR_MIN_PX, 50.0),
    END,
};

static const tl_simulate_field caption_fields[] = {
    TEXT(tl_simulate_caption, text),
    NUMBER(tl_simulate_caption, x_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_caption, y_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_caption, size_sr, 0.01, 10.0),
    COLOUR(tl_simulate_caption, colour),
    END,
};

static const tl_simulate_field arrow_fields[] = {
    NUMBER(tl_simulate_arrow, x_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_arrow, y_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_arrow, to_x_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_arrow, to_y_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_arrow, width_sr, 0.001, 1.0),
    COLOUR(tl_simulate_arrow, colour),
    END,
};

static const tl_simulate_field border_fields[] = {
    NUMBER(tl_simulate_border, width_px, 0.0, WIDEST_PX),
    COLOUR(tl_simulate_border, colour),
    END,
};

static const tl_simulate_field copy_fields[] = {
    INTEGER(tl_simulate_copy, long_side_px, 16, WIDEST_PX),
    INTEGER(tl_simulate_copy, quality, 1, 100),
    END,
};

static const tl_simulate_field halo_fields[] = {
    NUMBER(tl_simulate_halo, share, 0.0, 10.0),
    NUMBER(tl_simulate_halo, radius_sr, 0.05, 20.0),
    END,
};

static const tl_simulate_field bloom_fields[] = {
    NUMBER(tl_simulate_bloom, share, 0.0, 1.0),
    NUMBER(tl_simulate_bloom, radius_px, 0.5, 200.0),
    END,
};

static const tl_simulate_field haze_fields[] = {
    NUMBER(tl_simulate_haze, depth, 0.0, 50.0),
    NUMBER(tl_simulate_haze, scale_sr, 0.05, WIDEST_SR),
    NUMBER(tl_simulate_haze, patchiness, 0.0, 1.0),
    COLOUR(tl_simulate_haze, light),
    END,
};

static const tl_simulate_field shade_fields[] = {
    NUMBER(tl_simulate_shade, amount, 0.0, 1.0),
    NUMBER(tl_simulate_shade, direction_deg, -360.0, 360.0),
    END,
};

static const tl_simulate_field eyepiece_fields[] = {
    NUMBER(tl_simulate_eyepiece, x_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_eyepiece, y_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_eyepiece, stop_sr, 0.1, WIDEST_SR),
    NUMBER(tl_simulate_eyepiece, stop_soft_sr, 0.001, WIDEST_SR),
    NUMBER(tl_simulate_eyepiece, cup_sr, 0.1, WIDEST_SR),
    NUMBER(tl_simulate_eyepiece, cup_soft_sr, 0.001, WIDEST_SR),
    NUMBER(tl_simulate_eyepiece, lit_deg, -360.0, 360.0),
    NUMBER(tl_simulate_eyepiece, lit_share, 0.0, 1.0),
    NUMBER(tl_simulate_eyepiece, glint, 0.0, BRIGHTEST),
    NUMBER(tl_simulate_eyepiece, leak, 0.0, 1.0),
    COLOUR(tl_simulate_eyepiece, field),
    COLOUR(tl_simulate_eyepiece, barrel),
    COLOUR(tl_simulate_eyepiece, cup),
    END,
};

static const tl_simulate_field reflection_fields[] = {
    NUMBER(tl_simulate_reflection, x_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_reflection, y_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_reflection, long_sr, 0.001, WIDEST_SR),
    NUMBER(tl_simulate_reflection, short_sr, 0.001, WIDEST_SR),
    NUMBER(tl_simulate_reflection, turn_deg, -360.0, 360.0),
    NUMBER(tl_simulate_reflection, softness, 0.01, 1.0),
    COLOUR(tl_simulate_reflection, light),
    END,
};

static const tl_simulate_field ghost_fields[] = {
    NUMBER(tl_simulate_ghost, x_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_ghost, y_sr, -WIDEST_SR, WIDEST_SR),
    NUMBER(tl_simulate_ghost, share, 0.0, 1.0),
    NUMBER(tl_simulate_ghost, blur_sr, 0.0, 10.0),
    FLAG(tl_simulate_ghost, upside_down),
    END,
};

static const tl_simulate_field dust_fields[] = {
    NUMBER(tl_simulate_dust, x_px, -WIDEST_PX, WIDEST_PX),
    NUMBER(tl_simulate_dust, y_px, -WIDEST_PX, WIDEST_PX),
    NUMBER(tl_simulate_dust, radius_px, 0.5, 1000.0),
    NUMBER(tl_simulate_dust, depth, 0.0, 1.0),
    END,
};

static const tl_simulate_field hot_pixels_fields[] = {
    INTEGER(tl_simulate_hot_pixels, count, 0, 100000),
    NUMBER(tl_simulate_hot_pixels, level, 0.0, 1.0),
    END,
};

static const tl_simulate_field dead_pixels_fields[] = {
    INTEGER(tl_simulate_dead_pixels, count, 0, 100000),
    NUMBER(tl_simulate_dead_pixels, depth, 0.0, 1.0),
    END,
};

static const tl_simulate_field granulation_fields[] = {
    NUMBER(tl_simulate_granulation, rms, 0.0, 0.5),
    NUMBER(tl_simulate_granulation, cell_arcsec, 0.1, 20.0),
    END,
};

static const tl_simulate_field noise_fields[] = {
    NUMBER(tl_simulate_noise, full_well_e, 100.0, 1e7),
    NUMBER(tl_simulate_noise, read_e, 0.0, 1e4),
    NUMBER(tl_simulate_noise, grain_px, 0.0, 20.0),
    END,
};

static const tl_simulate_field clock_fields[] = {
    NUMBER(tl_simulate_clock, offset_s, -1e9, 1e9),
    NUMBER(tl_simulate_clock, drift_ppm, -1e4, 1e4),
    {"zone", TL_FIELD_ZONE, offsetof(tl_simulate_clock, zone_minutes), 0, 0, NULL, NULL, 0, 0},
    FLAG(tl_simulate_clock, write_time),
    FLAG(tl_simulate_clock, write_subsec),
    FLAG(tl_simulate_clock, write_zone),
    END,
};

static const tl_simulate_field gps_fields[] = {
    NUMBER(tl_simulate_gps, lag_s, -1e9, 1e9),
    END,
};

static const tl_simulate_field camera_fields[] = {
    TEXT(tl_simulate_camera, make),
    TEXT(tl_simulate_camera, model),
    TEXT(tl_simulate_camera, serial),
    NUMBER(tl_simulate_camera, f_number, 0.1, 1000.0),
    NUMBER(tl_simulate_camera, exposure_s, 1e-6, 1000.0),
    NUMBER(tl_simulate_camera, focal_mm, 0.1, 1e5),
    INTEGER(tl_simulate_camera, iso, 1, 65535), /* an EXIF SHORT */
    END,
};

static const tl_simulate_field vary_fields[] = {
    NUMBER(tl_simulate_vary, centre_px, 0.0, WIDEST_PX),
    NUMBER(tl_simulate_vary, scale, 0.0, 1.0),
    NUMBER(tl_simulate_vary, turn_deg, 0.0, 360.0),
    NUMBER(tl_simulate_vary, exposure, 0.0, 2.0),
    NUMBER(tl_simulate_vary, blur, 0.0, 2.0),
    END,
};

const tl_simulate_field tl_simulate_settings_fields[] = {
    INTEGER(settings, width, 16, WIDEST_PX),
    INTEGER(settings, height, 16, WIDEST_PX),
    INTEGER(settings, quality, 1, 100),
    INTEGER(settings, orientation, 1, 8),
    WORD(settings, chroma, chroma_words),
    WORD(settings, subject, subject_words),
    WORD(settings, expected, expected_words),
    NUMBER(settings, sun_r_px, 2.0, 4000.0),
    NUMBER(settings, focal_mm, 1.0, 1e5),
    NUMBER(settings, pixel_um, 0.1, 100.0),
    NUMBER(settings, sun_x_px, -WIDEST_PX, WIDEST_PX),
    NUMBER(settings, sun_y_px, -WIDEST_PX, WIDEST_PX),
    WORD(settings, holding, holding_words),
    NUMBER(settings, up_pa_deg, -360.0, 360.0),
    FLAG(settings, mirrored),
    FLAG(settings, refraction),
    FLAG(settings, limb_darkening),
    NUMBER(settings, blur_px, 0.0, 200.0),
    NUMBER(settings, exposure, 0.0, BRIGHTEST),
    NUMBER(settings, corona, 0.0, BRIGHTEST),
    COLOUR(settings, colour),
    COLOUR(settings, background),
    OBJECT(tilt, tilt_fields),
    OBJECT(distortion, distortion_fields),
    OBJECT(trail, trail_fields),
    OBJECT(halo, halo_fields),
    OBJECT(bloom, bloom_fields),
    OBJECT(haze, haze_fields),
    OBJECT(shade, shade_fields),
    OBJECT(eyepiece, eyepiece_fields),
    OBJECT(card, card_fields),
    OBJECT(vignette, vignette_fields),
    LIST("more_suns", sun, sun_fields),
    LIST("shadows", shadow, shadow_fields),
    LIST("captions", caption, caption_fields),
    LIST("arrows", arrow, arrow_fields),
    OBJECT(border, border_fields),
    LIST("reflections", reflection, reflection_fields),
    LIST("ghosts", ghost, ghost_fields),
    LIST("dust", dust, dust_fields),
    OBJECT(hot_pixels, hot_pixels_fields),
    OBJECT(dead_pixels, dead_pixels_fields),
    OBJECT(granulation, granulation_fields),
    OBJECT(noise, noise_fields),
    OBJECT(tone, tone_fields),
    OBJECT(sharpen, sharpen_fields),
    OBJECT(copy, copy_fields),
    OBJECT(clock, clock_fields),
    OBJECT(gps, gps_fields),
    OBJECT(camera, camera_fields),
    OBJECT(vary, vary_fields),
    END,
};

tl_simulate_settings tl_simulate_settings_default(void) {
    tl_simulate_settings s = {
        .width = 1200,
        .height = 900,
        .quality = 90,
        .orientation = 1,
        .sun_r_px = NAN,
        .focal_mm = NAN,
        .pixel_um = NAN,
        .sun_x_px = NAN,
        .sun_y_px = NAN,
        .holding = TL_SIMULATE_FIXED,
        .up_pa_deg = NAN,
        .refraction = true,
        .limb_darkening = true,
        .exposure = 0.7,
        .colour = {1.0, 1.0, 1.0},
        .tilt = {.stretch = 1.0},
        .distortion = {.share = 0.003},
        .trail = {.length_px = 3.0},
        .halo = {.share = 0.02, .radius_sr = 1.5},
        .bloom = {.share = 0.1, .radius_px = 3.0},
        .haze = {.depth = 1.0, .scale_sr = 1.0, .patchiness = 0.7},
        .shade = {.amount = 0.3},
        .eyepiece = {.stop_sr = 2.0,
                     .stop_soft_sr = 0.03,
                     .cup_sr = 2.5,
                     .cup_soft_sr = 0.6,
                     .lit_share = 0.5,
                     .leak = 0.3,
                     .cup = {0.1, 0.1, 0.1}},
        .card = {.grain = 0.02, .grain_px = 1.5},
        .vignette = {.amount = 0.3},
        .border = {.width_px = 20.0},
        .tone = {.knee = 1.0, .contrast = 0.3, .gamma = 1.0},
        .sharpen = {.amount = 0.5, .radius_px = 1.0},
        .copy = {.long_side_px = 640, .quality = 60},
        .hot_pixels = {.level = 0.5},
        .dead_pixels = {.depth = 1.0},
        /* common practice, no source: grains of 1 to 2 arcsec, 3 to 5 % */
        .granulation = {.rms = 0.04, .cell_arcsec = 1.4},
        .noise = {.full_well_e = 10000.0, .read_e = 5.0},
        .clock = {.write_time = true},
        .camera = {.make = "Invented", .model = "Invented camera"},
    };
    return s;
}
