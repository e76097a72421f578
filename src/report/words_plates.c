/*
 * words_plates.c - what is open about photographs that are shown turned.
 */
#include "report/plate_internal.h"

void tl_report_add_plate_marks(const tl_report_plates *plates, const tl_report_plate *plate,
                               tl_report_text *text) {
    if (plate->turned == TL_REPORT_AS_TAKEN && plates->turned_count > 0)
        tl_report_text_add(text, "*");
    if (plate->doubtful)
        tl_report_text_add(text, "?");
}

void tl_report_words_plates(const tl_report_plates *plates, const size_t *chosen, size_t count,
                            tl_report_text *text) {
    size_t as_taken = 0, open = 0, doubtful = 0;
    for (size_t n = 0; n < count; n++) {
        const tl_report_plate *plate = &plates->item[chosen[n]];
        as_taken += plate->turned == TL_REPORT_AS_TAKEN;
        open += plate->turned == TL_REPORT_HAND_OPEN;
        doubtful += plate->doubtful;
    }
    if (as_taken > 0 && plates->turned_count > 0)
        tl_report_text_add(text, "*: turned as taken. ");
    if (open > 0)
        tl_report_text_add(text, "Whether the pictures are mirrored is not known; they are "
                                 "shown as if they were not. ");
    if (doubtful > 0)
        tl_report_text_add(text, "?: left out of the fits. ");
}
