/*
 * summary_internal.h - a screenful for the terminal, and who fills it.
 */
#ifndef TWOLIMB_REPORT_SUMMARY_INTERNAL_H
#define TWOLIMB_REPORT_SUMMARY_INTERNAL_H

#include "report/report_internal.h"

enum {
    TL_REPORT_LINES = 23, /* of 24: one is for the prompt */
    TL_REPORT_COLUMNS = 80,
    TL_REPORT_LABEL = 11, /* width of the first column */
    TL_REPORT_PARTS = 64
};

/* What is left out first where not all fits; the page has it. */
typedef enum tl_report_rank {
    TL_REPORT_KEEP,
    TL_REPORT_WEIGHTY,
    TL_REPORT_TELLING,
    TL_REPORT_MORE,
    TL_REPORT_SPARE,
    TL_REPORT_RANKS
} tl_report_rank;

/* ---- screen.c ----------------------------------------------------------------------------- */

/* All zero is an empty screen. */
typedef struct tl_report_screen {
    struct {
        tl_report_text text;
        int lines;
        tl_report_rank rank;
    } part[TL_REPORT_PARTS]; /* further ones are not taken */
    size_t count;
    tl_report_rank rank; /* of the parts to come */
    bool emphasis;       /* labels stand back, and what is strong stands out */
    bool strong;         /* the lines to come */
    bool tables;         /* there is no page: more is in the tables */
} tl_report_screen;

/* The words under a label, broken into at most `max_lines` lines; frees them. */
void tl_report_screen_words(tl_report_screen *screen, const char *label, tl_report_text *words,
                            int max_lines);
/* One whole line, however long; frees the words. Without a label it begins in the first column. */
void tl_report_screen_line(tl_report_screen *screen, const char *label, tl_report_text *words);
/* An empty line before the next part, which goes if that part goes. */
void tl_report_screen_gap(tl_report_screen *screen);
/* As much of it as fits; frees the screen. */
void tl_report_screen_print(tl_report_screen *screen, FILE *out);
/* Characters of a text that is valid UTF-8. */
size_t tl_report_characters(const char *string);

/* ---- summary_contacts.c ------------------------------------------------------------------- */

void tl_report_summary_contacts(tl_report_screen *screen, const tl_sequence *sequence,
                                const tl_report_facts *facts);

/* ---- summary_clock.c: every camera's ------------------------------------------------------ */

/* Its name, or the end of a long one. */
void tl_report_words_camera_short(const tl_sequence *sequence, size_t k, tl_report_text *text);

void tl_report_summary_clock(tl_report_screen *screen, const tl_sequence *sequence);

/* ---- summary_spots.c ---------------------------------------------------------------------- */

void tl_report_summary_spots(tl_report_screen *screen, const tl_sequence *sequence,
                             const tl_report_facts *facts);

#endif
