/*
 * file_kind.c - what a file is taken for by the ending of its name.
 */
#include <string.h>
#include <strings.h>

#include "frame/files.h"

/* As makers of cameras and writers of programs use them (common practice, no source). */
static const char picture[][8] = {"jpg",  "jpeg", "jpe",  "png", "tif",
                                  "tiff", "heic", "heif", "hif", "avif"};
static const char side[][8] = {"aae", "xmp", "thm", "json", "txt", "csv", "xml",
                               "ini", "db",  "log", "md",   "gpx", "lnk"};
static const char raw[][8] = {"dng", "cr2", "cr3", "crw", "nef", "nrw", "arw", "sr2", "srf",
                              "srw", "raf", "orf", "ori", "rw2", "rwl", "pef", "x3f", "3fr",
                              "fff", "iiq", "erf", "kdc", "dcr", "mrw", "mos", "mef", "raw"};
static const char other_picture[][8] = {"webp", "avifs", "gif",  "bmp", "jxl",  "jp2",
                                        "psd",  "svg",   "fits", "fit", "insp", "mpo"};
static const char film[][8] = {"mov", "mp4",  "m4v",  "avi", "3gp", "mts",
                               "mkv", "m2ts", "webm", "mpg", "lrv", "ser"};

typedef struct endings {
    tl_file_kind kind;
    const char (*word)[8];
    size_t count;
} endings;

#define ENDINGS(kind, list)                                                                        \
    { kind, list, sizeof(list) / sizeof *(list) }
static const endings known[] = {
    ENDINGS(TL_FILE_PICTURE, picture), ENDINGS(TL_FILE_SIDE, side),
    ENDINGS(TL_FILE_RAW, raw),         ENDINGS(TL_FILE_OTHER_PICTURE, other_picture),
    ENDINGS(TL_FILE_FILM, film),
};

tl_file_kind tl_frame_file_kind(const char *name) {
    const char *point = strrchr(name, '.');
    for (size_t i = 0; point != NULL && i < sizeof known / sizeof *known; i++)
        for (size_t k = 0; k < known[i].count; k++)
            if (strcasecmp(point + 1, known[i].word[k]) == 0)
                return known[i].kind;
    return TL_FILE_OTHER;
}
