/*
 * fuzz_seeds.h - what the files of tool_fuzz_seeds share.
 */
#ifndef TWOLIMB_TESTS_FUZZ_SEEDS_H
#define TWOLIMB_TESTS_FUZZ_SEEDS_H

#include "picture.h"

/* The Sun is found in pictures of this side; smaller ones are there for the ways pixels lie. */
enum { SEED_SIDE = 64, SEED_SMALL = 16 };

/* sRGB code 0..255 of a pixel of a drawn eclipse that fills a picture of this side, of a colour
 * that has this share of the light. */
double seed_code(int x, int y, int side, double share);
/* The shares of red, green and blue; and of what a fourth sample may be. */
extern const double SEED_SHARES[4];

void seed_store(const char *folder, const char *name, const blob *bytes);

/* A profile with the curve of sRGB, the same bytes each time; bytes to be freed. */
blob seed_profile(void);

/* Each fills its folder; `exif` with its six bytes of JPEG in front. */
void seeds_of_png(const char *folder, const blob *exif);
void seeds_of_tiff(const char *folder);
void seeds_of_heic(const char *folder, const blob *exif);
void seeds_of_icc(const char *folder);

#endif
