/*
 * html_overlay.c - what is drawn on a picture: both circles, the edge points, north
 * and the zenith.
 *
 * Drawn in px of the small picture: its corner is (0, 0), so a picture position p
 * goes to (p - x0_px) * scale, see tl_preview.
 */
#include <math.h>
#include <string.h>

#include "report/html_internal.h"
#include "report/limbs_internal.h"
#include "report/spots_internal.h"

enum { POINTS_SHOWN = 40 }; /* of each kind: enough to see the arc, and the limb between */

typedef struct overlay {
    const tl_preview *preview;
    tl_report_text *html;
} overlay;

static double small_x(const overlay *o, double x_px) {
    return (x_px - o->preview->x0_px) * o->preview->scale;
}

static double small_y(const overlay *o, double y_px) {
    return (y_px - o->preview->y0_px) * o->preview->scale;
}

static void add_limb(const overlay *o, const char *class_name, const tl_limb *limb, int which) {
    tl_report_outline outline;
    if (!tl_report_outline_of(limb, which, &outline))
        return;
    const double ry = outline.r * o->preview->scale;
    const double numbers[] = {ry * outline.ratio, ry, small_x(o, outline.x), small_y(o, outline.y)};
    static const char *const before[] = {"\" rx=\"", "\" ry=\"", "\" transform=\"translate(", " "};
    tl_report_text_addf(o->html, "<ellipse class=\"%s", class_name);
    for (int k = 0; k < 4; k++) {
        tl_report_text_add(o->html, before[k]);
        tl_report_add_fixed(o->html, numbers[k], 2);
    }
    tl_report_text_add(o->html, ") rotate(");
    tl_report_add_fixed(o->html, atan2(outline.flat_y, outline.flat_x) / TL_DEG, 1);
    tl_report_text_add(o->html, ")\"/>");
}

typedef enum { SUN_POINTS, MOON_POINTS, DROPPED_POINTS } point_kind;

static bool is_kind(const tl_limb_edge *edge, point_kind kind) {
    if (!edge->used)
        return kind == DROPPED_POINTS;
    return kind == (edge->limb == TL_LIMB_SUN ? SUN_POINTS : MOON_POINTS);
}

static void add_points(const overlay *o, const tl_limb *limb, point_kind kind,
                       const char *class_name) {
    size_t count = 0, seen = 0;
    for (size_t k = 0; k < limb->edge_count; k++)
        count += is_kind(&limb->edge[k], kind);
    const size_t every = count / POINTS_SHOWN + 1;
    if (count == 0)
        return;
    tl_report_text_addf(o->html, "<path class=\"%s\" d=\"", class_name);
    for (size_t k = 0; k < limb->edge_count; k++) {
        if (!is_kind(&limb->edge[k], kind) || seen++ % every != 0)
            continue;
        tl_report_text_add(o->html, "M");
        tl_report_add_fixed(o->html, small_x(o, limb->edge[k].x_px), 1);
        tl_report_text_add(o->html, " ");
        tl_report_add_fixed(o->html, small_y(o, limb->edge[k].y_px), 1);
        tl_report_text_add(o->html, kind == DROPPED_POINTS ? "m-2-2l4 4m-4 0l4-4" : "h0");
    }
    tl_report_text_add(o->html, "\"/>");
}

/* A short line outside the solar circle towards this PA, with its letter. */
static void add_pointer(const overlay *o, const double *sun, double up_pa_rad, bool mirrored,
                        double pa_rad, const char *letter) {
    const double size = 0.05 * fmax(o->preview->width, o->preview->height);
    const double cx = small_x(o, sun[0]), cy = small_y(o, sun[1]);
    const double r = sun[2] * o->preview->scale;
    double x, y;
    tl_frame_from_sky(up_pa_rad, mirrored, sin(pa_rad), cos(pa_rad), &x, &y);
    tl_report_text_add(o->html, "<path class=\"point-to\" d=\"M");
    tl_report_add_fixed(o->html, cx + x * (r + 0.3 * size), 1);
    tl_report_text_add(o->html, " ");
    tl_report_add_fixed(o->html, cy + y * (r + 0.3 * size), 1);
    tl_report_text_add(o->html, "L");
    tl_report_add_fixed(o->html, cx + x * (r + 0.9 * size), 1);
    tl_report_text_add(o->html, " ");
    tl_report_add_fixed(o->html, cy + y * (r + 0.9 * size), 1);
    tl_report_text_add(o->html, "\"/><text class=\"letters\" x=\"");
    tl_report_add_fixed(o->html, cx + x * (r + 1.6 * size), 1);
    tl_report_text_add(o->html, "\" y=\"");
    tl_report_add_fixed(o->html, cy + y * (r + 1.6 * size), 1);
    tl_report_text_add(o->html, "\" font-size=\"");
    tl_report_add_fixed(o->html, size, 1);
    tl_report_text_addf(o->html, "\">%s</text>", letter);
}

static void add_directions(const tl_report_page *page, const overlay *o, size_t i) {
    const tl_track_frame *tracked = tl_report_track_frame(page->sequence, i);
    const tl_mirror mirrored = tl_report_camera_of(page->sequence, i)->mirrored;
    const bool known = tracked->mirror_known || mirrored != TL_MIRROR_AUTO;
    const bool exchanged = tracked->mirror_known ? tracked->mirrored : mirrored == TL_MIRROR_YES;
    const double *sun = &page->sequence->frame[i].limb.circle[TL_SUN_X];
    if (!tracked->has_turn || !known)
        return;
    add_pointer(o, sun, tracked->up_pa_rad, exchanged, 0.0, "N");
    if (tracked->has_true)
        add_pointer(o, sun, tracked->up_pa_rad, exchanged, tracked->sky.parallactic_rad, "Z");
}

static void add_number(const overlay *o, const char *before, double value) {
    tl_report_text_add(o->html, before);
    tl_report_add_fixed(o->html, value, 1);
}

static void add_letter(const overlay *o, const tl_spot *spot, double x, double y, double size) {
    add_number(o, "<text class=\"letters\" x=\"", x);
    add_number(o, "\" y=\"", y);
    add_number(o, "\" font-size=\"", size);
    tl_report_text name = {0};
    tl_report_add_spot_name(&name, spot);
    tl_report_text_add(o->html, "\">");
    tl_report_add_html(o->html, tl_report_text_string(&name));
    tl_report_text_add(o->html, "</text>");
    o->html->failed = o->html->failed || name.failed;
    tl_report_text_free(&name);
}

/* A ring round a dark mark; dust in a square. */
static void add_ring(const overlay *o, const tl_spot_mark *mark, double x, double y, double reach) {
    if (mark->kind == TL_MARK_DUST) {
        add_number(o, "<rect class=\"ring\" x=\"", x - reach);
        add_number(o, "\" y=\"", y - reach);
        add_number(o, "\" width=\"", 2.0 * reach);
        add_number(o, "\" height=\"", 2.0 * reach);
    } else {
        add_number(o,
                   mark->kind == TL_MARK_SPOT ? "<circle class=\"ring\" cx=\""
                                              : "<circle class=\"ring open-mark\" cx=\"",
                   x);
        add_number(o, "\" cy=\"", y);
        add_number(o, "\" r=\"", reach);
    }
    tl_report_text_add(o->html, "\"/>");
}

static void add_marks(const tl_report_page *page, const overlay *o, size_t i) {
    const tl_spot_marks *marks = &page->sequence->frame[i].marks;
    const tl_spots *spots = &page->sequence->spots;
    const double letter = 0.032 * fmax(o->preview->width, o->preview->height);
    const double clear = 3.0, width_share = 0.62; /* of a letter, of its height; from memory */
    tl_report_label label[TL_SPOT_MARKS_MAX];
    const tl_spot *of[TL_SPOT_MARKS_MAX];
    size_t count = 0;
    for (size_t k = 0; k < marks->count && k < TL_SPOT_MARKS_MAX; k++) {
        const tl_spot_mark *mark = &marks->mark[k];
        const double x = small_x(o, mark->x_px), y = small_y(o, mark->y_px);
        const double reach = tl_report_mark_reach(mark) * o->preview->scale + clear;
        add_ring(o, mark, x, y, reach);
        if (mark->kind != TL_MARK_SPOT || mark->spot >= spots->count)
            continue;
        of[count] = &spots->spot[mark->spot];
        const double width = width_share * letter * (double)strlen(of[count]->name);
        label[count++] = (tl_report_label){
            .x = x, .y = y, .radius = reach, .box = {x, y, 0.5 * width, 0.45 * letter}};
    }
    tl_report_place_labels(label, count, NULL, 0);
    for (size_t k = 0; k < count; k++)
        add_letter(o, of[k], label[k].box.x, label[k].box.y, letter);
}

void tl_report_html_overlay(const tl_report_page *page, size_t i) {
    const tl_sequence_frame *frame = &page->sequence->frame[i];
    const tl_limb *limb = &frame->limb;
    const bool moon = limb->status == TL_LIMB_MEASURED;
    const overlay o = {&frame->preview, page->html};
    if (!moon && limb->status != TL_LIMB_SUN_ONLY)
        return;
    tl_report_text_add(o.html, "<g class=\"overlay\">");
    add_limb(&o, "under", limb, TL_LIMB_SUN);
    if (moon)
        add_limb(&o, "under", limb, TL_LIMB_MOON);
    tl_report_text_add(o.html, "<g class=\"points\">");
    add_points(&o, limb, SUN_POINTS, "s");
    add_points(&o, limb, MOON_POINTS, "m");
    add_points(&o, limb, DROPPED_POINTS, "x");
    add_marks(page, &o, i);
    tl_report_text_addf(o.html, "</g><g id=\"circles-%zu\">", i + 1);
    add_limb(&o, "sun-line", limb, TL_LIMB_SUN);
    if (moon)
        add_limb(&o, "moon-line", limb, TL_LIMB_MOON);
    tl_report_text_add(o.html, "</g>");
    add_directions(page, &o, i);
    tl_report_text_add(o.html, "</g>");
}
