/*
 * sequence.c - the series itself.
 */
#include <stdlib.h>

#include "twolimb/report.h"

void tl_sequence_free(tl_sequence *sequence) {
    if (!sequence)
        return;
    for (size_t i = 0; i < sequence->count; i++) {
        free(sequence->frame[i].path);
        tl_limb_free(&sequence->frame[i].limb);
        tl_spot_marks_free(&sequence->frame[i].marks);
        tl_preview_free(&sequence->frame[i].preview);
        tl_details_free(sequence->frame[i].detail);
    }
    free(sequence->frame);
    for (size_t i = 0; i < sequence->closeup_count; i++)
        free(sequence->closeup[i].jpeg);
    free(sequence->closeup);
    free(sequence->spots_name);
    free(sequence->times_name);
    free(sequence->times_stray);
    for (int kind = 0; kind < TL_PASSED_KINDS; kind++)
        free(sequence->passed[kind].first);
    tl_spots_free(&sequence->spots);
    tl_track_free(&sequence->track);
    *sequence = (tl_sequence){0};
}

size_t tl_sequence_copies(const tl_sequence *sequence) {
    size_t count = 0;
    for (size_t i = 0; i < sequence->count; i++)
        count += sequence->frame[i].is_copy;
    return count;
}

size_t tl_sequence_count(const tl_sequence *sequence, tl_limb_status status) {
    size_t count = 0;
    for (size_t i = 0; i < sequence->count; i++)
        count += sequence->frame[i].limb.status == status;
    return count;
}

bool tl_sequence_shows_sun(const tl_sequence *sequence, size_t i) {
    const tl_sequence_frame *frame = &sequence->frame[i];
    const size_t used = frame->is_copy ? frame->copy_of : i;
    const tl_limb_status status = sequence->frame[used].limb.status;
    return status == TL_LIMB_MEASURED || status == TL_LIMB_SUN_ONLY;
}

bool tl_sequence_any_sun(const tl_sequence *sequence) {
    return tl_sequence_count(sequence, TL_LIMB_MEASURED) > 0 ||
           tl_sequence_count(sequence, TL_LIMB_SUN_ONLY) > 0;
}
