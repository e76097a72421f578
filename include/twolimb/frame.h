/*
 * twolimb/frame.h - stage 1: a picture file to linear light, camera time, place.
 *
 * Originals are only ever opened for reading.
 */
#ifndef TWOLIMB_FRAME_H
#define TWOLIMB_FRAME_H

#include <stdint.h>

#include "twolimb/base.h"

/*
 * The pixels of a picture, or of a part of it, row by row, channels interleaved (1: luminance, 3:
 * red green blue). Light is linear, 0..65535 with 65535 = the file's full scale: either `sample`
 * holds it, or `code` holds the coded values of a file of 8 bits, and light[code] is their light
 * (the transfer curve undone: sRGB's, IEC 61966-2-1, unless the file says otherwise).
 *
 * A large picture may be held reduced: a pixel then stands for 1 << halvings px of the file on each
 * side. File px are those of base.h, after Orientation; tl_image_to_file and tl_image_from_file
 * change between them and the pixels held. Owner: whoever holds the struct; freed by tl_image_free.
 */
typedef struct tl_image {
    int width, height; /* of the pixels held, 1..TL_IMAGE_MAX_SIDE */
    int channels;      /* 1 or 3 */
    uint16_t *sample;  /* linear light, or NULL */
    uint8_t *code;     /* coded values, or NULL */
    uint16_t light[256];
    int halvings;
    int left, top; /* file px before the first pixel held; of one that reaches beyond the picture's
                      edge, as a block of a turned picture may, less than none */
} tl_image;

/* File px per pixel held. */
double tl_image_scale(const tl_image *image);
/* Between a position in the pixels held and one in the file; `first` is image->left or ->top. */
double tl_image_to_file(const tl_image *image, int first, double held);
double tl_image_from_file(const tl_image *image, int first, double file);
/* The light of one channel of pixel (x, y) held, 0..65535. */
static inline uint16_t tl_image_light(const tl_image *image, int x, int y, int channel) {
    const size_t at =
        ((size_t)y * (size_t)image->width + (size_t)x) * (size_t)image->channels + (size_t)channel;
    return image->sample != NULL ? image->sample[at] : image->light[image->code[at]];
}

/* A rectangle cut out of a picture and possibly reduced; `image` holds linear samples. */
typedef struct tl_cutout {
    tl_image image; /* owned; tl_cutout_free */
    double scale;   /* file px per pixel of the cut-out */
    double x0, y0;  /* file position of the centre of its pixel (0, 0) */
} tl_cutout;
/*
 * Cut [x0, x1] x [y0, y1] (file px, clamped to the pixels held) out of the picture and reduce it by
 * the whole number `factor`, 1..256, by averaging linear light. TL_ERR_ARGUMENT if not one pixel is
 * left, TL_ERR_MEMORY.
 */
tl_status tl_image_cut(const tl_image *image, double x0, double y0, double x1, double y1,
                       int factor, tl_cutout *cutout);
void tl_cutout_free(tl_cutout *cutout);

/* Limits against files that lie about their size, checked before pixels are allocated. */
enum { TL_IMAGE_MAX_SIDE = 30000 };
#define TL_IMAGE_MAX_PIXELS 200000000L
#define TL_IMAGE_MAX_BYTES 600000000L /* 200 million px of three codes, 100 million of samples */

typedef enum tl_time_source {
    TL_TIME_NONE,
    TL_TIME_TABLE,       /* from the user's --times file */
    TL_TIME_EXIF_SUBSEC, /* DateTimeOriginal with SubSecTimeOriginal */
    TL_TIME_EXIF,        /* DateTimeOriginal alone: truncated, half a second added */
    TL_TIME_NAME         /* a time stamp in the file name */
} tl_time_source;

/* The time of mid exposure as the camera's clock had it. */
typedef struct tl_camera_time {
    tl_time_source source;
    double t_camera_s; /* see base.h; valid unless source is TL_TIME_NONE */
    double sigma_s;    /* reading error alone: 0.29 s for a truncated second */
    bool zone_known;   /* from OffsetTimeOriginal, a UTC file name, or the table */
    int zone_minutes;  /* valid if zone_known; camera time = UTC + zone */
} tl_camera_time;

enum { TL_CAMERA_TEXT_SIZE = 64 };

/* What the file says about itself. Numbers are 0 where it does not say. */
typedef struct tl_frame_info {
    tl_camera_time time;
    tl_site site;      /* source TL_SITE_EXIF or TL_SITE_NONE */
    bool has_gps_time; /* GPSDateStamp + GPSTimeStamp: a check, may be stale */
    double gps_t_utc_s;
    int width, height;              /* of the file, after Orientation; 0 where it was not read */
    int orientation;                /* EXIF 1..8, 1 if absent or out of range */
    char make[TL_CAMERA_TEXT_SIZE]; /* printable ASCII */
    char model[TL_CAMERA_TEXT_SIZE];
    char serial[TL_CAMERA_TEXT_SIZE]; /* of the body (BodySerialNumber), printable ASCII */
    double f_number, exposure_s, iso, focal_length_mm;
    int rows_missing; /* of a JPEG that is cut short: stored rows that are not there, nor in the
                         pixels, which end where the file does; 0: it is whole */
} tl_frame_info;

/*
 * Read one picture: JPEG, PNG, TIFF, HEIC or AVIF, told by their first bytes. `path` is opened
 * read-only. The pixels come turned upright. A large JPEG is decoded at half, a quarter or an
 * eighth of its scale, so that some 6 megapixels at most are held: a Sun that matters is still some
 * hundred pixels wide, and most of the work is saved. The other kinds are held whole; what is
 * deeper than 8 bits as samples. Grey gives 1 channel, colour 3; printing inks are turned into the
 * light they leave. The transfer curve is that of the file's profile, where its tone curve can be
 * read, or of its other marks; else sRGB (IEC 61966-2-1). A JPEG cut short gives the rows that are
 * whole (see rows_missing). TL_ERR_OPEN, TL_ERR_EMPTY_FILE, TL_ERR_NOT_PICTURE, TL_ERR_RAW,
 * TL_ERR_FILM, TL_ERR_OTHER_KIND, TL_ERR_JPEG_KIND, TL_ERR_BROKEN (damaged, or cut short with no
 * whole row), TL_ERR_TOO_LARGE (the limits above, or a file over 1 GB), TL_ERR_MEMORY. Broken EXIF
 * is not an error: the fields are then as if absent.
 */
tl_status tl_frame_read(const char *path, tl_image *image, tl_frame_info *info);

/*
 * Read a part of the same picture again, [x0, x1] x [y0, y1] in file px (clamped; a little more may
 * come), reduced by `halvings` 0..3. Only for what tl_frame_read gave reduced; TL_ERR_ARGUMENT for
 * other kinds of files and when nothing is left, else as there.
 */
tl_status tl_frame_read_part(const char *path, double x0, double y0, double x1, double y1,
                             int halvings, tl_image *image);

/* Release the pixels; safe on a zeroed struct. */
void tl_image_free(tl_image *image);

/*
 * Camera time from a file name (base name, no folder):
 *   PXL_20230526_200122948...  UTC with milliseconds (zone_known, 0)
 *   IMG_20230526_220122, VID_..., 20230526_220122, signal-2023-05-26-220122,
 *   2023-05-26_22-01-22, 2023-05-26 22.01.22 ...   local wall clock
 * False, and `time` untouched, when there is no full date and time of day
 * (IMG-20230526-WA0001 gives a date only, which is not a time).
 */
bool tl_frame_time_from_name(const char *name, tl_camera_time *time);

/* A user's table of times: file name to camera time. */
typedef struct tl_times tl_times;
/*
 * Read a CSV file with a header row naming the columns `file` and `time`, and
 * optionally `sigma_s` and `zone`; time is ISO 8601, "2026-08-12T19:14:03.5",
 * with an optional Z or +HH:MM; '#' starts a comment line; semicolons or tabs may
 * stand for the commas. Times are taken as written, sigma_s as 0.29 of the last
 * digit where it is not given; a row without a time is passed over, a file named
 * twice is an error. On TL_ERR_FORMAT `*line`
 * is the number of the first bad line; TL_ERR_OPEN, TL_ERR_EMPTY_FILE,
 * TL_ERR_MEMORY. The owner frees with tl_times_free.
 */
tl_status tl_times_read(const char *path, int *line, tl_times **times);
/*
 * The time of the file at `path`. A name in the table is a file's name, or the end of its path
 * ("left/IMG_0001.jpg"), as given or in full; of those that fit, the longest counts. False, and
 * `time` untouched, when none does.
 */
bool tl_times_find(const tl_times *times, const char *path, tl_camera_time *time);
/* The file name of row i, as written, without "./"; NULL beyond the last. */
const char *tl_times_name(const tl_times *times, size_t i);
void tl_times_free(tl_times *times);

/* What is in a folder and is not read. */
typedef enum tl_passed_kind {
    TL_PASSED_RAW,     /* raw files that have no picture beside them */
    TL_PASSED_PICTURE, /* pictures of kinds that are not read */
    TL_PASSED_FILM,
    TL_PASSED_OTHER,
    TL_PASSED_FOLDER, /* folders in it that were not looked into */
    TL_PASSED_CLOSED, /* folders in it that could not be, or that lie too deep */
    TL_PASSED_KINDS
} tl_passed_kind;

typedef struct tl_passed {
    size_t count;
    char *first; /* owned; path of the first one by name; NULL if there is none */
} tl_passed;

/*
 * The files of a list of files and folders: a folder stands for the pictures in
 * it, by their ending: jpg, jpeg, jpe, png, tif, tiff, heic, heif, hif. Passed over
 * without a word are hidden files, files that go with a picture (of its name but
 * for the ending, or of its name and a further ending) and side files by their
 * ending (xmp, json, txt and the like); what else is passed over is counted. A
 * file named itself is always taken, also if it cannot be read. In order of path,
 * numbers by value (IMG_9 before IMG_10); no file twice, also not through a link.
 * The list may be empty.
 */
typedef struct tl_file_list {
    char **path; /* owned; free with tl_file_list_free */
    size_t count;
    tl_passed passed[TL_PASSED_KINDS];
} tl_file_list;

typedef struct tl_file_walk {
    bool recursive; /* folders in folders too, not through links, up to 32 deep */
    /* Whether this entry of a folder was made by the caller and is no input; may be NULL. */
    bool (*is_own)(const char *folder, const char *name);
} tl_file_walk;

/* On TL_ERR_OPEN `*bad` is the entry of `arguments` that is not there, or a folder that cannot be
 * looked into; on TL_ERR_TOO_LARGE the one by which there were more than 200,000 files. */
tl_status tl_file_list_walk(const char *const *arguments, size_t count, const tl_file_walk *how,
                            const char **bad, tl_file_list *list);
/* The same with neither. */
tl_status tl_file_list_make(const char *const *arguments, size_t count, const char **bad,
                            tl_file_list *list);
void tl_file_list_free(tl_file_list *list);

/* A small JPEG (sRGB, 8 bit) of a rectangle of the picture, for the report. Picture px are the
 * file's. */
typedef struct tl_preview {
    unsigned char *jpeg; /* owned; free with tl_preview_free */
    size_t size;
    int width, height;   /* of the small picture */
    double scale;        /* small px per picture px, <= 1 */
    double x0_px, y0_px; /* where the left top CORNER of the small picture lies, in picture px as
                            of base.h: -0.5 for an uncut picture. What is at x_px in the picture
                            is (x_px - x0_px) * scale right of the small picture's left edge. */
} tl_preview;
/*
 * Cut the pixels whose centres lie in [x0, x1) x [y0, y1) (clamped to the picture)
 * and shrink them, by averaging linear light, so that the longer side is at most
 * `max_side` px. TL_ERR_ARGUMENT if nothing is left, TL_ERR_MEMORY.
 */
tl_status tl_preview_make(const tl_image *image, double x0, double y0, double x1, double y1,
                          int max_side, tl_preview *preview);
/*
 * Its pixels again: width * height * 3 bytes of red, green, blue (sRGB) row by row, to be freed
 * with free(). TL_ERR_MEMORY; else, for bytes that tl_preview_make did not make, as tl_frame_read.
 */
tl_status tl_preview_pixels(const tl_preview *preview, unsigned char **rgb);
void tl_preview_free(tl_preview *preview);

/*
 * A drawing, given as the pixels of tl_preview_pixels, as a JPEG that keeps lines and letters
 * sharp; `*jpeg` is to be freed with free(). TL_ERR_ARGUMENT beyond TL_IMAGE_MAX_SIDE or below
 * 1 px, TL_ERR_MEMORY.
 */
tl_status tl_drawing_jpeg(const unsigned char *rgb, int width, int height, unsigned char **jpeg,
                          size_t *size);

#endif
