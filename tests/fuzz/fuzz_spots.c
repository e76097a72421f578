/*
 * fuzz_spots.c - a table of sunspots.
 */
#include "fuzz.h"
#include "twolimb/spot.h"

static void check(const tl_spot_list *list) {
    for (size_t i = 0; i < list->count; i++) {
        const tl_spot *spot = &list->spot[i];
        MUST(memchr(spot->name, '\0', TL_SPOT_NAME_SIZE) != NULL && spot->name[0] != '\0');
        MUST(fabs(spot->latitude_rad) <= TL_PI / 2.0);
        MUST(isfinite(spot->carrington_rad));
        MUST(hypot(spot->east_sr, spot->north_sr) <= 1.0 + 1e-9); /* rounding */
        MUST(spot->radius_sr > 0.0 && spot->radius_sr < 1.0);
        MUST(spot->radius_sigma_sr > 0.0 && isfinite(spot->radius_sigma_sr));
        MUST(spot->latitude_sigma_rad > 0.0 && isfinite(spot->latitude_sigma_rad));
        must_be_instant(spot->epoch_utc_s);
        (void)tl_spot_list_nearest(list, i, spot->epoch_utc_s);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const fuzz_file file = fuzz_file_make(data, size);
    tl_spot_list list = {0};
    int line = -1;
    const tl_status status = tl_spot_list_read(file.path, &line, &list);
    MUST((status == TL_ERR_FORMAT) == (line >= 0));
    MUST((status == TL_ERR_EMPTY_FILE) == (size == 0));
    MUST(status == TL_OK || list.spot == NULL);
    if (status == TL_OK)
        check(&list);
    tl_spot_list_free(&list);
    fuzz_file_end(&file);
    return 0;
}
