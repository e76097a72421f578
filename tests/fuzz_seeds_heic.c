/*
 * fuzz_seeds_heic.c - HEIC and AVIF seeds, by libheif: 8 and 10 bits, turned, with EXIF, with a
 * profile and without.
 */
#include "fuzz_seeds.h"
#include "heif_make.h"

static void store_one(const char *folder, const char *name, const heif_style *style, int side) {
    uint16_t *code = malloc((size_t)side * (size_t)side * 3 * sizeof *code);
    const int most = (1 << style->bits) - 1;
    for (int i = 0; i < side * side * 3; i++)
        code[i] = (uint16_t)lround(seed_code(i / 3 % side, i / 3 / side, side, SEED_SHARES[i % 3]) /
                                   255.0 * most);
    blob file;
    assert_true(heif_make(style, code, side, side, &file));
    seed_store(folder, name, &file);
    free(file.bytes);
    free(code);
}

void seeds_of_heic(const char *folder, const blob *exif) {
    blob profile = seed_profile();
    const heif_style plain = {.format = heif_compression_HEVC, .bits = 8, .exif = exif},
                     turned = {.format = heif_compression_HEVC,
                               .bits = 8,
                               .orientation = 6,
                               .profile = &profile},
                     deep = {.format = heif_compression_HEVC, .bits = 10, .transfer = 16},
                     other = {.format = heif_compression_AV1, .bits = 8, .orientation = 2};
    store_one(folder, "plain.heic", &plain, SEED_SIDE);
    store_one(folder, "turned.heic", &turned, SEED_SMALL);
    store_one(folder, "deep.heic", &deep, SEED_SMALL);
    store_one(folder, "grey.avif", &other, SEED_SIDE);
    free(profile.bytes);
}
