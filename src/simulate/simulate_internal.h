/*
 * simulate_internal.h - what the files of the simulate stage share.
 *
 * The order of work: scene.c reads the scene file, moment.c and place.c turn it
 * into times and circles, suns.c has disc.c draw the Sun and the Moon (distort.c
 * where the lens is not true), granules.c grains them, plane.c blur and trail.c smear them,
 * compose.c adds
 * what the air, the eyepiece, the card and the lens do, sensor.c and develop.c make
 * it a camera's picture, caption.c draws over it, copy.c sends it through a
 * messenger, exif.c and jpeg.c write it, truth.c writes what is true; of spots spot_view.c,
 * passage.c and truth_spots.c do.
 */
#ifndef TWOLIMB_SIMULATE_INTERNAL_H
#define TWOLIMB_SIMULATE_INTERNAL_H

#include <cjson/cJSON.h>
#include <gsl/gsl_rng.h>
#include <stdint.h>

#include "base/draft.h"
#include "twolimb/simulate.h"

enum { TL_SIMULATE_CHANNELS = 3, TL_SIMULATE_NAME_SIZE = 64, TL_SIMULATE_LIST_MAX = 8 };

/* ---- the scene ---------------------------------------------------------------------- */

typedef enum tl_simulate_subject {
    TL_SUBJECT_SUN,
    TL_SUBJECT_NOTHING,
    TL_SUBJECT_GHOSTS /* the Sun outside the field: its ghosts and its halo alone */
} tl_simulate_subject;
typedef enum tl_simulate_holding {
    TL_SIMULATE_FREE,
    TL_SIMULATE_FIXED,
    TL_SIMULATE_ALTAZ
} tl_simulate_holding;
typedef enum tl_simulate_expected {
    TL_EXPECTED_AUTO,
    TL_EXPECTED_MEASURED,
    TL_EXPECTED_SUN_ONLY,
    TL_EXPECTED_REFUSED,
    TL_EXPECTED_EITHER /* a person would hesitate: any verdict, but no wrong circle */
} tl_simulate_expected;

/*
 * The parts of a frame's settings that the scene file writes as objects. `on`
 * comes first in each: false while the scene has not asked for the part.
 * Lengths _sr are in solar radii of the frame, from the Sun's centre, x right
 * and y down; colours are linear light, 1 = full scale; directions in the frame
 * run from +x towards +y.
 */
typedef struct tl_simulate_tilt {
    bool on;
    double stretch, direction_deg;
} tl_simulate_tilt;

typedef struct tl_simulate_distortion {
    bool on;
    double share; /* a point 1 solar radius from the picture's middle moves out by it */
} tl_simulate_distortion;

typedef struct tl_simulate_trail {
    bool on;
    double length_px, direction_deg;
} tl_simulate_trail;

typedef struct tl_simulate_halo {
    bool on;
    double share, radius_sr;
} tl_simulate_halo;

typedef struct tl_simulate_bloom {
    bool on;
    double share, radius_px;
} tl_simulate_bloom;

typedef struct tl_simulate_haze {
    bool on;
    double depth, scale_sr, patchiness;
    double light[TL_SIMULATE_CHANNELS];
} tl_simulate_haze;

typedef struct tl_simulate_shade {
    bool on;
    double amount, direction_deg;
} tl_simulate_shade;

typedef struct tl_simulate_eyepiece {
    bool on;
    double x_sr, y_sr;            /* centre of the field */
    double stop_sr, stop_soft_sr; /* radius of the field stop; width of its soft edge */
    double cup_sr, cup_soft_sr;   /* where the eyecup begins; over what length it brightens */
    double lit_deg, lit_share;    /* where daylight falls on the cup from, and how unevenly */
    double glint;                 /* light on the rim of the stop */
    double leak;                  /* share of the halo seen beyond the stop */
    double field[TL_SIMULATE_CHANNELS], barrel[TL_SIMULATE_CHANNELS], cup[TL_SIMULATE_CHANNELS];
} tl_simulate_eyepiece;

typedef struct tl_simulate_reflection {
    double x_sr, y_sr, long_sr, short_sr, turn_deg, softness;
    double light[TL_SIMULATE_CHANNELS];
} tl_simulate_reflection;

typedef struct tl_simulate_ghost {
    double x_sr, y_sr, share, blur_sr;
    bool upside_down;
} tl_simulate_ghost;

/* Another Sun of another time in the same picture: a collage, or a second exposure. */
typedef struct tl_simulate_sun {
    double x_sr, y_sr, seconds, share;
} tl_simulate_sun;

typedef struct tl_simulate_card {
    bool on;
    double grain, grain_px;     /* the paper's texture: relative rms, size */
    double uneven;              /* of the light that falls on it, relative */
    double x_sr, y_sr;          /* its middle */
    double width_sr, height_sr; /* 0: fills the picture */
    double turn_deg;
    double outside[TL_SIMULATE_CHANNELS];
} tl_simulate_card;

/* How a JPEG keeps its colour: at half the resolution, as phones write it, or at the full one. */
typedef enum tl_simulate_chroma { TL_CHROMA_HALF, TL_CHROMA_FULL } tl_simulate_chroma;

typedef enum tl_simulate_shaded { TL_SHADED_ALL, TL_SHADED_BACKGROUND } tl_simulate_shaded;

/* The shadow of something straight, a rod or (width 0) all that lies beyond an edge. */
typedef struct tl_simulate_shadow {
    double x_sr, y_sr, direction_deg; /* a point of its middle line (edge); across it */
    double width_sr, soft_sr, depth;
    int over; /* tl_simulate_shaded */
} tl_simulate_shadow;

typedef struct tl_simulate_vignette {
    bool on;
    double amount; /* of the light lost in the picture's corners */
} tl_simulate_vignette;

typedef struct tl_simulate_tone {
    bool on;
    double knee, contrast, gamma;
} tl_simulate_tone;

typedef struct tl_simulate_sharpen {
    bool on;
    double amount, radius_px;
} tl_simulate_sharpen;

/* Drawn over the picture; place and size from the Sun's, as those of reflections. */
typedef struct tl_simulate_caption {
    char text[TL_SIMULATE_NAME_SIZE];
    double x_sr, y_sr, size_sr;
    double colour[TL_SIMULATE_CHANNELS];
} tl_simulate_caption;

typedef struct tl_simulate_arrow {
    double x_sr, y_sr, to_x_sr, to_y_sr, width_sr;
    double colour[TL_SIMULATE_CHANNELS];
} tl_simulate_arrow;

typedef struct tl_simulate_border {
    bool on;
    double width_px;
    double colour[TL_SIMULATE_CHANNELS];
} tl_simulate_border;

typedef struct tl_simulate_copy {
    bool on;
    int long_side_px, quality;
} tl_simulate_copy;

typedef struct tl_simulate_dust {
    double x_px, y_px, radius_px, depth;
} tl_simulate_dust;

typedef struct tl_simulate_hot_pixels {
    bool on;
    int count;
    double level;
} tl_simulate_hot_pixels;

typedef struct tl_simulate_dead_pixels {
    bool on;
    int count;
    double depth; /* of the light lost by the deadest */
} tl_simulate_dead_pixels;

/* The Sun's own grain before any blur, new in each frame. */
typedef struct tl_simulate_granulation {
    bool on;
    double rms, cell_arcsec; /* relative; full width at half maximum of a grain */
} tl_simulate_granulation;

typedef struct tl_simulate_noise {
    bool on;
    double full_well_e, read_e, grain_px;
} tl_simulate_noise;

typedef struct tl_simulate_clock {
    bool on;
    double offset_s, drift_ppm;
    int zone_minutes;
    bool write_time, write_subsec, write_zone;
} tl_simulate_clock;

typedef struct tl_simulate_gps {
    bool on;
    double lag_s;
} tl_simulate_gps;

typedef struct tl_simulate_camera {
    bool on;
    char make[TL_SIMULATE_NAME_SIZE], model[TL_SIMULATE_NAME_SIZE];
    char serial[TL_SIMULATE_NAME_SIZE]; /* of the body; "": not written */
    double f_number, exposure_s, focal_mm;
    int iso;
} tl_simulate_camera;

/* One-sigma random changes from frame to frame; scale, exposure, blur are relative. */
typedef struct tl_simulate_vary {
    bool on;
    double centre_px, scale, turn_deg, exposure, blur;
} tl_simulate_vary;

/* All that describes one frame but its time and name. NAN: not given. */
typedef struct tl_simulate_settings {
    int width, height, quality, orientation;
    int chroma;            /* tl_simulate_chroma */
    int subject, expected; /* tl_simulate_subject, tl_simulate_expected */
    double sun_r_px, focal_mm, pixel_um;
    double sun_x_px, sun_y_px;
    int holding; /* tl_simulate_holding */
    double up_pa_deg;
    bool mirrored, refraction, limb_darkening;
    double blur_px, exposure, corona;
    double colour[TL_SIMULATE_CHANNELS], background[TL_SIMULATE_CHANNELS];
    tl_simulate_tilt tilt;
    tl_simulate_distortion distortion;
    tl_simulate_trail trail;
    tl_simulate_halo halo;
    tl_simulate_bloom bloom;
    tl_simulate_haze haze;
    tl_simulate_shade shade;
    tl_simulate_eyepiece eyepiece;
    tl_simulate_card card;
    tl_simulate_vignette vignette;
    int sun_count, shadow_count, caption_count, arrow_count;
    tl_simulate_sun sun[TL_SIMULATE_LIST_MAX];
    tl_simulate_shadow shadow[TL_SIMULATE_LIST_MAX];
    tl_simulate_caption caption[TL_SIMULATE_LIST_MAX];
    tl_simulate_arrow arrow[TL_SIMULATE_LIST_MAX];
    tl_simulate_border border;
    int reflection_count, ghost_count, dust_count;
    tl_simulate_reflection reflection[TL_SIMULATE_LIST_MAX];
    tl_simulate_ghost ghost[TL_SIMULATE_LIST_MAX];
    tl_simulate_dust dust[TL_SIMULATE_LIST_MAX];
    tl_simulate_hot_pixels hot_pixels;
    tl_simulate_dead_pixels dead_pixels;
    tl_simulate_granulation granulation;
    tl_simulate_noise noise;
    tl_simulate_tone tone;
    tl_simulate_sharpen sharpen;
    tl_simulate_copy copy;
    tl_simulate_clock clock;
    tl_simulate_gps gps;
    tl_simulate_camera camera;
    tl_simulate_vary vary;
} tl_simulate_settings;

/* A moment as the scene writes it: seconds after a contact, or an instant. */
typedef struct tl_simulate_moment {
    int contact; /* TL_C1 ..., or -1: `seconds` is t_utc_s itself */
    double seconds;
} tl_simulate_moment;

typedef struct tl_simulate_frame {
    char file[TL_SIMULATE_NAME_SIZE];
    size_t set; /* index of its set: frames of a set share a sensor */
    tl_simulate_moment from, to;
    double position, jitter_s; /* time = from + position (to - from) + jitter * uniform(-1, 1) */
    tl_simulate_settings settings;
} tl_simulate_frame;

/* A sunspot: longitude west (+) of the central meridian at the eclipse's maximum. */
typedef struct tl_simulate_spot {
    double latitude_deg, longitude_deg, radius_deg, umbra;
    char name[TL_SIMULATE_NAME_SIZE]; /* "S1", "S2", ... where the scene gives none */
} tl_simulate_spot;

enum { TL_SIMULATE_SPOTS_MAX = 32 };

typedef struct tl_simulate_scene {
    tl_site site;
    tl_sky_options sky;
    double day_utc_s;
    int seed;
    int spot_count;
    tl_simulate_spot spot[TL_SIMULATE_SPOTS_MAX];
    tl_simulate_frame *frame; /* owned; released by tl_simulate_scene_free */
    size_t frame_count;
} tl_simulate_scene;

/*
 * Read a scene file. TL_ERR_OPEN, TL_ERR_EMPTY_FILE, TL_ERR_FORMAT, TL_ERR_MEMORY;
 * `message` then names the field and what is wrong with it.
 */
tl_status tl_simulate_scene_read(const char *path, char message[TL_SIMULATE_MESSAGE_SIZE],
                                 tl_simulate_scene *scene);
void tl_simulate_scene_free(tl_simulate_scene *scene);

/* The settings of a frame for which a scene asks nothing. */
tl_simulate_settings tl_simulate_settings_default(void);

/* "C1+90", "max-600.5" or "2026-08-12T17:47:03.250Z". TL_ERR_FORMAT. */
tl_status tl_simulate_moment_parse(const char *text, tl_simulate_moment *moment);

/* ---- reading JSON by tables of fields ----------------------------------------------- */

typedef enum tl_simulate_field_kind {
    TL_FIELD_NUMBER,   /* double, low..high */
    TL_FIELD_INTEGER,  /* int, low..high */
    TL_FIELD_FLAG,     /* bool */
    TL_FIELD_COLOUR,   /* double[3] from one number or three, low..high each */
    TL_FIELD_TEXT,     /* char[TL_SIMULATE_NAME_SIZE] */
    TL_FIELD_WORD,     /* int: index into `words` */
    TL_FIELD_ZONE,     /* int: minutes from "+HH:MM" */
    TL_FIELD_OBJECT,   /* struct with `bool on` first; false or null switches it off */
    TL_FIELD_LIST,     /* array of structs and an int count */
    TL_FIELD_ELSEWHERE /* allowed; its reader is another function */
} tl_simulate_field_kind;

typedef struct tl_simulate_field {
    const char *name;
    tl_simulate_field_kind kind;
    size_t offset;
    double low, high;
    const char *const *words;                /* WORD: ends with NULL */
    const struct tl_simulate_field *members; /* OBJECT, LIST: ends with a NULL name */
    size_t count_offset, element_size;       /* LIST: `high` elements at most */
} tl_simulate_field;

/* Where in the scene the reader is, for messages. */
typedef struct tl_simulate_reader {
    char path[120];
    char *message; /* TL_SIMULATE_MESSAGE_SIZE bytes */
} tl_simulate_reader;

typedef struct tl_simulate_target {
    const tl_simulate_field *fields;
    void *base;
} tl_simulate_target;

/*
 * Store the members of `object` where the fields of the targets say; what the
 * object does not mention stays. A name in no table, a wrong type, a value out of
 * range: TL_ERR_FORMAT and the message.
 */
tl_status tl_simulate_fields_read(tl_simulate_reader *reader, const cJSON *object,
                                  const tl_simulate_target *target, size_t targets);

/* Write "PATH.NAME: text" as the message (name NULL: the path alone); TL_ERR_FORMAT. */
tl_status tl_simulate_field_bad(tl_simulate_reader *reader, const char *name, const char *text);

/* Go down to a member, or an element of a list (index >= 0), and back up. */
size_t tl_simulate_reader_enter(tl_simulate_reader *reader, const char *name, int index);
void tl_simulate_reader_leave(tl_simulate_reader *reader, size_t mark);

/* Sets and frames of a parsed scene file, appended to `scene`. */
tl_status tl_simulate_frames_read(tl_simulate_reader *reader, const cJSON *json,
                                  tl_simulate_scene *scene);

/* The members a frame, a set and `defaults` may have; base: tl_simulate_settings. */
extern const tl_simulate_field tl_simulate_settings_fields[];

/* ---- random numbers ------------------------------------------------------------------ */

/* What a stream is for: each use has its own, so that one setting never moves another. */
typedef enum tl_simulate_stream {
    TL_STREAM_PLACE,
    TL_STREAM_SPOTS,
    TL_STREAM_HAZE,
    TL_STREAM_EYEPIECE,
    TL_STREAM_HOT_PIXELS,
    TL_STREAM_NOISE,
    TL_STREAM_PAPER,
    TL_STREAM_UNEVEN,
    TL_STREAM_GRANULATION,
    TL_STREAM_DEAD_PIXELS
} tl_simulate_stream;

/* A generator seeded by scene seed, frame (or set) number and purpose. NULL: no memory.
 * The owner frees it with gsl_rng_free. */
gsl_rng *tl_simulate_random(int seed, size_t number, tl_simulate_stream stream);

/* ---- planes --------------------------------------------------------------------------- */

/* Linear light of one channel over a rectangle of the picture. */
typedef struct tl_simulate_plane {
    int x0, y0; /* picture pixel of its left top */
    int width, height;
    float *v; /* owned; row by row */
} tl_simulate_plane;

/* All zero. TL_ERR_MEMORY. */
tl_status tl_simulate_plane_make(int x0, int y0, int width, int height, tl_simulate_plane *plane);
void tl_simulate_plane_free(tl_simulate_plane *plane);

/* A narrower Gaussian has a width other than asked for when sampled at whole pixels: its variance
 * is off by about 4 pi^2 sigma^2 exp(-2 pi^2 sigma^2) of itself, 0.1 % here (Poisson summation). */
#define TL_SIMULATE_BLUR_MIN_PX 0.7

/*
 * Convolve with a Gaussian of this sigma (px; <= 0: nothing happens), cut at 5
 * sigma (6e-7 of the light) and normalised; dark beyond the borders.
 */
tl_status tl_simulate_plane_blur(tl_simulate_plane *plane, double sigma_px);

/* Sum of squares of the weights of that kernel: the variance left of white noise. */
double tl_simulate_blur_variance(double sigma_px);

/* Fill with Gaussian noise of unit variance whose grain has this size (px; 0: white). */
tl_status tl_simulate_plane_grain(gsl_rng *random, double grain_px, tl_simulate_plane *plane);

/* Replace by the mean over a straight path of this length: what a Sun that moves while the shutter
 * is open leaves. Light is kept but for what leaves the plane. */
tl_status tl_simulate_plane_trail(double length_px, double direction_rad, tl_simulate_plane *plane);

/*
 * A coarse copy: cells of `step` by `step` pixels on a grid of whole steps, wide enough to cover
 * the plane and the rectangle 0..width, 0..height, and a cell more. Its x0, y0 are in picture
 * pixels, its sizes in cells; cell values are means.
 */
typedef struct tl_simulate_coarse {
    tl_simulate_plane cell;
    int step;
} tl_simulate_coarse;
tl_status tl_simulate_coarse_make(const tl_simulate_plane *plane, int step, int width, int height,
                                  tl_simulate_coarse *coarse);
/* Bilinear value at a picture position; 0 outside. */
double tl_simulate_coarse_at(const tl_simulate_coarse *coarse, double x, double y);

/*
 * Smooth random field in 0..1: cubic B-splines through random lattices of spacing
 * `scale_px`, half, a quarter, an eighth of it, each with half the weight.
 */
tl_status tl_simulate_plane_clouds(gsl_rng *random, double scale_px, tl_simulate_plane *plane);

/* ---- geometry -------------------------------------------------------------------------- */

/* Where the circles of one frame are, in picture pixels. */
typedef struct tl_simulate_place {
    double t_utc_s, t_camera_s;
    tl_sky sky;
    double sun_x, sun_y, sun_r;    /* radius along the horizon, before any tilt */
    double moon_x, moon_y, moon_r; /* the same for the Moon */
    double up_pa_rad;
    bool mirrored;
    double round[2][2];        /* px offset in the picture -> offset with flattening, tilt undone */
    double zenith_x, zenith_y; /* unit vector to the zenith in the frame */
    double flattening, blur_px, exposure;
    double middle_x, middle_y; /* of the picture */
    double distortion_px2;     /* a point q from the middle is seen at q (1 + this |q|^2); 0: off */
} tl_simulate_place;

/* The instant of a frame without its jitter. */
double tl_simulate_moment_at(const tl_simulate_frame *frame, const tl_circumstances *circumstances);

/* Sky, turn, scale and random changes of frame number `index`. Statuses of tl_sky_at. */
tl_status tl_simulate_place_make(const tl_simulate_scene *scene,
                                 const tl_circumstances *circumstances, size_t index,
                                 tl_simulate_place *place);

/* The circles alone, from the sky and the rest of `place` (sun_x, sun_y, sun_r, up_pa_rad,
 * mirrored, sky); fills moon_*, zenith_*, round, flattening. */
void tl_simulate_place_circles(const tl_simulate_settings *settings, tl_simulate_place *place);

/* Where the lens shows a point of the undistorted picture, and back. In place. */
void tl_simulate_distort(const tl_simulate_place *place, double *x, double *y);
void tl_simulate_undistort(const tl_simulate_place *place, double *x, double *y);

/* Where a point of the sky, from the Sun's centre, is in the finished picture: flattening, tilt,
 * lens and copy included. */
void tl_simulate_place_point(const tl_simulate_settings *settings, const tl_simulate_place *place,
                             double east_sr, double north_sr, double *x_px, double *y_px);

/* The Sun's and the Moon's circle as they are in the finished picture, for the truth: sun x, y, r,
 * moon x, y, r. A distorted limb's circle is the one that fits all of it best. */
void tl_simulate_place_seen(const tl_simulate_settings *settings, const tl_simulate_place *place,
                            double circle[6]);

/* What a measuring program should say: TL_EXPECTED_MEASURED, _SUN_ONLY, _REFUSED or _EITHER. */
tl_simulate_expected tl_simulate_place_expected(const tl_simulate_settings *settings,
                                                const tl_simulate_place *place);

/* ---- drawing ----------------------------------------------------------------------------- */

enum { TL_SIMULATE_SPOT_WAVES = 4 };

/* A spot on the disc of one frame. Vectors: (east, north, towards the observer). */
typedef struct tl_simulate_spot_place {
    double centre[3], along_east[3], along_north[3];
    double radius_rad, umbra;
    double wave_cos[TL_SIMULATE_SPOT_WAVES], wave_sin[TL_SIMULATE_SPOT_WAVES]; /* ragged border */
} tl_simulate_spot_place;

typedef struct tl_simulate_spots {
    tl_simulate_spot_place spot[TL_SIMULATE_SPOTS_MAX];
    int count;
    double sun_radius_rad;
} tl_simulate_spots;

/* Longitudes of spots at a frame's time; `l0_at_max_rad`, `t_max` belong to the maximum. */
tl_status tl_simulate_spots_place(const tl_simulate_scene *scene, const tl_sky *at_max,
                                  const tl_sky *now, tl_simulate_spots *spots);

/* Heliographic place to the disc: (east, north) in apparent solar radii, and whether on the
 * near side. `longitude_rad` west (+) of the central meridian. Exact for the finite distance. */
bool tl_simulate_spot_project(const tl_sky *sky, double latitude_rad, double longitude_rad,
                              double *east_sr, double *north_sr);
/* The same for a unit vector as those of tl_simulate_spot_place. */
bool tl_simulate_spot_seen(double sun_radius_rad, const double v[3], double *east_sr,
                           double *north_sr);

/* Radius of the drawn border (half way from photosphere to penumbra) over that of the spot, in a
 * direction counted from along_east to along_north. */
double tl_simulate_spot_border(const tl_simulate_spot_place *spot, double around_rad);

/* Brightness, relative to the photosphere, at (east, north) on the disc (length < 1). */
double tl_simulate_spots_at(const tl_simulate_spots *spots, double east_sr, double north_sr);

/* Centre-to-limb brightness for channel 0, 1, 2 (red, green, blue) at mu = 0..1. */
double tl_simulate_limb_darkening(int channel, double mu);

/*
 * Draw the Sun less the Moon, brightness 1 at the disc's centre in each channel (not
 * blurred, no colour), over its bounding box and `margin_px` around it. Means over
 * pixel areas; edges true to 0.001 px for radii of 50 px and more. The corona, where asked for, is
 * drawn as well.
 */
tl_status tl_simulate_disc_draw(const tl_simulate_settings *settings,
                                const tl_simulate_place *place, const tl_simulate_spots *spots,
                                int margin_px, tl_simulate_plane plane[TL_SIMULATE_CHANNELS]);

/* Granulation over drawn, not yet blurred planes of frame `index`, the same in all of them: a pixel
 * shows the mean of its grains. */
tl_status tl_simulate_granulate(const tl_simulate_scene *scene, size_t index,
                                const tl_simulate_place *place,
                                tl_simulate_plane plane[TL_SIMULATE_CHANNELS]);
/* Variance that the mean over a pixel leaves of grains with this sigma (px); 1: all of it. */
double tl_simulate_granule_share(double sigma_px);

/* All the Suns of a frame, blurred and trailed, in planes that hold them all; none where the
 * subject is nothing. The caller frees the planes, also those left empty. */
tl_status tl_simulate_suns_draw(const tl_simulate_scene *scene, size_t index, const tl_sky *at_max,
                                const tl_simulate_place *place,
                                tl_simulate_plane disc[TL_SIMULATE_CHANNELS]);

/* What lies over the whole picture in one frame, drawn once for the three channels. */
typedef struct tl_simulate_air {
    tl_simulate_plane clear;  /* transparency 0..1; v NULL: clear */
    tl_simulate_plane mottle; /* unevenness of the eyecup 0..1; v NULL: no eyepiece */
    tl_simulate_plane paper;  /* what a card throws back, mean 1; v NULL: no card */
} tl_simulate_air;
tl_status tl_simulate_air_make(const tl_simulate_scene *scene, size_t index,
                               const tl_simulate_place *place, tl_simulate_air *air);
void tl_simulate_air_free(tl_simulate_air *air);

/* Light from an eyepiece itself at a pixel: outside its field, and stray light inside it; and
 * how much of the field is seen there. */
typedef struct tl_simulate_surround {
    double outside, inside, field_share;
} tl_simulate_surround;
tl_simulate_surround tl_simulate_eyepiece_at(const tl_simulate_eyepiece *eyepiece,
                                             const tl_simulate_place *place, double mottle,
                                             int channel, double x, double y);

/* The card's paper and the unevenness of its light, in one plane of mean 1. */
tl_status tl_simulate_paper_make(const tl_simulate_scene *scene, size_t index,
                                 const tl_simulate_place *place, tl_simulate_plane *paper);

/* How much of a pixel lies on the card, and what shadows leave of the light there. */
typedef struct tl_simulate_lit {
    double card_share, all, background;
} tl_simulate_lit;
tl_simulate_lit tl_simulate_lit_at(const tl_simulate_settings *settings,
                                   const tl_simulate_place *place, double x, double y);

/* One channel of the picture in linear light, before the sensor. `disc` as drawn. */
tl_status tl_simulate_compose(const tl_simulate_settings *settings, const tl_simulate_place *place,
                              const tl_simulate_air *air, const tl_simulate_plane *disc,
                              int channel, tl_simulate_plane *picture);

/* ---- the camera --------------------------------------------------------------------------- */

/* Bloom, dead and hot pixels, noise; in place. Random streams: noise by frame, those of pixels by
 * set. */
tl_status tl_simulate_sensor(const tl_simulate_scene *scene, size_t index, int channel,
                             tl_simulate_plane *picture);

/* Clip to 0..1, encode as sRGB (IEC 61966-2-1), round to 8 bits, into every third byte. */
tl_status tl_simulate_encode(const tl_simulate_plane *picture, int channel, unsigned char *rgb);

/* The same with the camera's own hand in it: tone curve and sharpening, where asked for. Changes
 * the plane. */
tl_status tl_simulate_develop(const tl_simulate_settings *settings, int channel,
                              tl_simulate_plane *picture, unsigned char *rgb);

/* Linear light 0..1 to the coded value 0..1 (IEC 61966-2-1). */
double tl_simulate_srgb(double linear);

/* Texts, arrows and a border over the finished picture, where asked for. */
tl_status tl_simulate_captions_draw(const tl_simulate_settings *settings,
                                    const tl_simulate_place *place, unsigned char *rgb);

/* Store the picture turned, so that a reader who applies `orientation` (EXIF 1..8) sees it as
 * it was. The sizes change places for 5..8; the new pixels are the caller's to free. */
tl_status tl_simulate_turn(const unsigned char *rgb, int orientation, int *width, int *height,
                           unsigned char **turned);

/* An EXIF block ("Exif" header included) for a frame; the caller frees it with free. */
tl_status tl_simulate_exif(const tl_simulate_scene *scene, size_t index,
                           const tl_simulate_place *place, unsigned char **block, size_t *size);

/* A JPEG file in memory; the caller frees it with free. */
tl_status tl_simulate_jpeg(const unsigned char *rgb, int width, int height, int quality,
                           tl_simulate_chroma chroma, const unsigned char *exif, size_t exif_size,
                           unsigned char **jpeg, size_t *size);

/* The pixels of such a file; the caller frees them with free. */
tl_status tl_simulate_jpeg_decode(const unsigned char *jpeg, size_t size, unsigned char **rgb,
                                  int *width, int *height);

/* Sizes of the copy over those of the picture, 1 where there is none. */
double tl_simulate_copy_scale(const tl_simulate_settings *settings);

/* What a messenger makes of the picture: a JPEG encoded, decoded, reduced by averaging the coded
 * values over areas, encoded again, upright and without EXIF. The caller frees with free. */
tl_status tl_simulate_copy_make(const tl_simulate_settings *settings, const unsigned char *rgb,
                                unsigned char **jpeg, size_t *size);

/* ---- writing -------------------------------------------------------------------------------- */

/* Write a file whole: TL_ERR_WRITE, TL_ERR_NO_SPACE. */
tl_status tl_simulate_file_write(const char *folder, const char *name, const void *bytes,
                                 size_t size);

/* A draft of `out`, which must not exist, or be empty: TL_ERR_ARGUMENT. */
tl_status tl_simulate_folder_begin(const char *out, tl_draft *draft);
/* Put it in place (keep) or remove it with all that was written. */
tl_status tl_simulate_folder_end(const tl_draft *draft, bool keep);

/* truth.csv, truth_spots.csv and truth.json. `at_max`: the sky at maximum. */
tl_status tl_simulate_truth_write(const tl_simulate_scene *scene,
                                  const tl_circumstances *circumstances, const tl_sky *at_max,
                                  const tl_simulate_place *place, const char *folder);

/* truth_spots.csv: a row for each frame and spot. */
tl_status tl_simulate_truth_spots_write(const tl_simulate_scene *scene, const tl_sky *at_max,
                                        const tl_simulate_place *place, const char *folder);
/* The spots and their coverings, as a member of truth.json. */
tl_status tl_simulate_truth_spots_add(const tl_simulate_scene *scene,
                                      const tl_circumstances *circumstances, const tl_sky *at_max,
                                      cJSON *root);

/* ---- the truth about spots ------------------------------------------------------------------ */

typedef enum tl_simulate_spot_state {
    TL_SPOT_STATE_VISIBLE,
    TL_SPOT_STATE_ON_LIMB, /* the Moon's limb crosses its border */
    TL_SPOT_STATE_COVERED, /* all of it by the Moon */
    TL_SPOT_STATE_BEHIND   /* its centre is beyond the Sun's limb; nothing else is then known */
} tl_simulate_spot_state;

/* A spot and the Moon at one instant. The border is that of tl_simulate_spot_border, as seen. */
typedef struct tl_simulate_spot_view {
    tl_simulate_spot_state state;
    double east_sr, north_sr;         /* of its centre */
    double from_sun_sr, from_moon_sr; /* centre to the limbs; < 0: covered */
    double nearest_sr, farthest_sr;   /* border's points least and most far from the Moon's limb,
                                         < 0: covered */
    double radius_sr;                 /* of the circle that has the apparent area of the border */
    double area_ppm; /* within it on the Sun itself, millionths of the hemisphere */
} tl_simulate_spot_view;
tl_simulate_spot_view tl_simulate_spot_look(const tl_simulate_spots *spots, int index,
                                            const tl_sky *now);

/* The instants at which the Moon's limb stands at a spot's border where it touches it first, at
 * its centre, and at its border where it leaves it. NAN: it never does. */
enum { TL_PASSAGE_FIRST, TL_PASSAGE_CENTRE, TL_PASSAGE_LAST, TL_PASSAGE_TIMES };
typedef struct tl_simulate_passage {
    double covered_utc_s[TL_PASSAGE_TIMES], uncovered_utc_s[TL_PASSAGE_TIMES];
} tl_simulate_passage;

/* Of all the spots, between first and last contact. Good to a millisecond; a graze of less than
 * 0.04 arcsec may be missed. Statuses of tl_sky_at, TL_ERR_MEMORY. */
tl_status tl_simulate_passages(const tl_simulate_scene *scene,
                               const tl_circumstances *circumstances, const tl_sky *at_max,
                               tl_simulate_passage passage[TL_SIMULATE_SPOTS_MAX]);

#endif
