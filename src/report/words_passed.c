/*
 * words_passed.c - what of the folders named was not read.
 */
#include "report/report_internal.h"

const char *const tl_report_passed_name[TL_PASSED_KINDS] = {
    [TL_PASSED_RAW] = "raw",     [TL_PASSED_PICTURE] = "picture", [TL_PASSED_FILM] = "film",
    [TL_PASSED_OTHER] = "other", [TL_PASSED_FOLDER] = "folder",   [TL_PASSED_CLOSED] = "closed",
};

/* What it is, one and several, and what can be done about it. */
static const struct {
    const char *one, *several, *advice;
} words[TL_PASSED_KINDS] = {
    [TL_PASSED_RAW] = {"raw file", "raw files", "export as JPEG"},
    [TL_PASSED_PICTURE] = {"other picture", "other pictures", "save as JPEG"},
    [TL_PASSED_FILM] = {"film", "films", NULL},
    [TL_PASSED_OTHER] = {"other file", "other files", NULL},
    [TL_PASSED_FOLDER] = {"folder", "folders", "look into them with -r"},
    [TL_PASSED_CLOSED] = {"folder that cannot be opened", "folders that cannot be opened", NULL},
};

void tl_report_words_passed(const tl_sequence *sequence, tl_report_text *text) {
    enum { SHOWN = 20 }; /* characters of a name */
    /* What may hold pictures of the Sun first: the end may be cut off. */
    static const tl_passed_kind order[TL_PASSED_KINDS] = {TL_PASSED_FOLDER, TL_PASSED_CLOSED,
                                                          TL_PASSED_RAW,    TL_PASSED_PICTURE,
                                                          TL_PASSED_FILM,   TL_PASSED_OTHER};
    const char *before = "passed over: ";
    for (int k = 0; k < TL_PASSED_KINDS; k++) {
        const tl_passed_kind kind = order[k];
        const tl_passed *passed = &sequence->passed[kind];
        if (passed->count == 0)
            continue;
        tl_report_text_addf(text, "%s%zu %s (", before, passed->count,
                            passed->count == 1 ? words[kind].one : words[kind].several);
        tl_report_add_end(text, tl_report_base_name(passed->first), SHOWN);
        tl_report_text_add(text, passed->count == 1 ? ")" : " ...)");
        if (words[kind].advice != NULL)
            tl_report_text_addf(text, ": %s", words[kind].advice);
        before = "; ";
    }
}
