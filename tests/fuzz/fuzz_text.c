/*
 * fuzz_text.c - file names that hold a time, and what is typed on a command line.
 */
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    char *text = fuzz_string(data, size);
    tl_camera_time time;
    tl_site site;
    double t_s;
    int minutes;
    if (tl_frame_time_from_name(text, &time)) {
        MUST(time.source == TL_TIME_NAME && time.sigma_s > 0.0);
        must_be_camera_time(&time);
    }
    if (tl_site_parse(text, &site) == TL_OK) {
        MUST(site.source == TL_SITE_GIVEN);
        must_be_site(&site);
    }
    if (tl_date_parse(text, &t_s) == TL_OK)
        must_be_instant(t_s);
    if (tl_zone_parse(text, &minutes) == TL_OK)
        must_be_zone(true, minutes);
    free(text);
    return 0;
}
