/*
 * write.c - the whole report: every file made first, then all put in place at once. The pictures
 * of the limbs alone are made while they are written.
 */
#include "report/limbs_internal.h"
#include "report/spots_internal.h"

enum { CSV, SPOTS, JSON, SVG, HTML, FILES };

static tl_status make_drawn(const tl_sequence *sequence, tl_report_text text[FILES]) {
    const tl_report_facts facts = tl_report_facts_of(sequence);
    tl_report_path path;
    tl_status status = tl_report_path_make(sequence, &facts, &path);
    if (status != TL_OK)
        return status;
    status = tl_report_path_svg(&facts, &path, &text[SVG]);
    const tl_report_page page = {sequence, &facts, &path, tl_report_text_string(&text[SVG]),
                                 &text[HTML]};
    if (status == TL_OK)
        status = tl_report_html(&page);
    tl_report_path_free(&path);
    return status;
}

static tl_status make_all(const tl_sequence *sequence, tl_report_text text[FILES]) {
    tl_status status = tl_report_csv(sequence, &text[CSV]);
    if (status == TL_OK)
        status = tl_report_spots_csv(sequence, &text[SPOTS]);
    if (status == TL_OK)
        status = tl_report_json(sequence, &text[JSON]);
    return status == TL_OK ? make_drawn(sequence, text) : status;
}

static tl_status make_picture(const void *context, size_t i, tl_report_text *name,
                              unsigned char **data, size_t *size) {
    const tl_sequence *sequence = context;
    tl_report_limbs_name(sequence, i, name);
    return name->failed ? TL_ERR_MEMORY : tl_report_limbs_sheet(sequence, i, data, size);
}

tl_status tl_report_write(const tl_sequence *sequence, const char *folder) {
    static const char *const name[FILES] = {[CSV] = "frames.csv",
                                            [SPOTS] = "spots.csv",
                                            [JSON] = "sequence.json",
                                            [SVG] = "path.svg",
                                            [HTML] = "report.html"};
    tl_report_text text[FILES] = {{0}};
    tl_status status = make_all(sequence, text);
    if (status == TL_OK) {
        tl_report_file file[FILES];
        for (int i = 0; i < FILES; i++)
            file[i] = (tl_report_file){name[i], text[i].data, text[i].length};
        const tl_report_pictures pictures = {sequence->count, make_picture, sequence};
        status = tl_report_write_folder(folder, file, FILES, &pictures);
    }
    for (int i = 0; i < FILES; i++)
        tl_report_text_free(&text[i]);
    return status;
}
