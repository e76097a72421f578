/*
 * limbs_words.c - what was found on a frame, in plain words.
 */
#include <math.h>

#include "report/limbs_internal.h"

typedef struct subject {
    const tl_sequence *sequence;
    size_t i;
    const tl_limb *limb;
    tl_report_text *text;
} subject;

static bool has_circle(const subject *s) {
    return s->limb->circle[TL_SUN_R] > 0.0;
}

static bool measured(const subject *s) {
    return s->limb->status == TL_LIMB_MEASURED;
}

static void add_verdict(const subject *s) {
    tl_report_text_add(s->text, tl_report_words_state(&s->sequence->frame[s->i]));
    if (!s->limb->reason[0])
        return;
    tl_report_text_add(s->text, ": ");
    tl_report_add_terminal(s->text, s->limb->reason);
}

static void add_channel(const subject *s) {
    if (s->limb->channel[0])
        tl_report_text_addf(s->text, "%s, %d \u00d7 %d px", s->limb->channel,
                            s->sequence->frame[s->i].info.width,
                            s->sequence->frame[s->i].info.height);
}

static void add_separation(const subject *s) {
    if (measured(s))
        tl_report_add_measure(s->text, s->limb->separation_sr, s->limb->separation_sigma_sr, 5,
                              "solar radii");
}

/* The almanac's, at the frame's true time or at maximum. */
static void add_ratio(const subject *s) {
    const tl_track_frame *tracked = tl_report_track_frame(s->sequence, s->i);
    const tl_track *track = &s->sequence->track;
    const double known = tracked->has_true          ? tracked->sky.ratio
                         : track->has_circumstances ? track->circumstances.ratio
                                                    : 0.0;
    if (!measured(s))
        return;
    tl_report_add_measure(s->text, s->limb->ratio_raw, s->limb->ratio_raw_sigma, 5, "");
    if (!(known > 0.0))
        return;
    tl_report_text_add(s->text, "; almanac ");
    tl_report_add_fixed(s->text, known, 4);
}

static void add_shift(const subject *s) {
    if (!measured(s))
        return;
    if (s->limb->edge_shift_px == 0.0) {
        tl_report_text_add(s->text, "not solved");
        return;
    }
    tl_report_add_signed(s->text, s->limb->edge_shift_px, 2);
    tl_report_text_add(s->text, " px; the points lie off the lines by it");
}

static void add_arcs(const subject *s) {
    if (!(s->limb->arc_sun_rad > 0.0))
        return;
    tl_report_text_add(s->text, "Sun ");
    tl_report_add_fixed(s->text, s->limb->arc_sun_rad / TL_DEG, 0);
    tl_report_text_add(s->text, "\u00b0");
    if (!(s->limb->arc_moon_rad > 0.0))
        return;
    tl_report_text_add(s->text, ", Moon ");
    tl_report_add_fixed(s->text, s->limb->arc_moon_rad / TL_DEG, 0);
    tl_report_text_add(s->text, "\u00b0");
}

static void add_points(const subject *s) {
    size_t used = 0;
    for (size_t k = 0; k < s->limb->edge_count; k++)
        used += s->limb->edge[k].used;
    if (used > 0)
        tl_report_text_addf(s->text, "%zu kept, %zu dropped", used, s->limb->edge_count - used);
}

static void add_residual(const subject *s) {
    if (!(s->limb->residual_px > 0.0))
        return;
    tl_report_add_fixed(s->text, s->limb->residual_px, 2);
    tl_report_text_add(s->text, " px rms of the points kept");
}

static void add_blur(const subject *s) {
    if (!(s->limb->blur_px > 0.0))
        return;
    tl_report_add_fixed(s->text, s->limb->blur_px, 2);
    tl_report_text_add(s->text, " px (sigma of the edge)");
}

static void add_clipped(const subject *s) {
    if (!has_circle(s))
        return;
    tl_report_add_fixed(s->text, 100.0 * s->limb->clipped_share, 1);
    tl_report_text_add(s->text, " % of the disc, ");
    tl_report_add_fixed(s->text, 100.0 * s->limb->clipped_edge, 1);
    tl_report_text_add(s->text, " % of the edge points");
}

/* Nothing of circles, and of what four decimals show as circles. */
static void add_flattening(const subject *s) {
    if (!(s->limb->flattening > 0.0) || s->limb->flattening > 1.0 - 0.5e-4)
        return;
    tl_report_add_fixed(s->text, s->limb->flattening, 4);
    tl_report_text_add(s->text,
                       s->limb->flattening_fitted ? ", from the edges" : ", by refraction");
}

static void add_darkening(const subject *s) {
    if (!(s->limb->darkening > 0.0))
        return;
    tl_report_text_add(s->text, "power ");
    tl_report_add_fixed(s->text, s->limb->darkening, 2);
    tl_report_text_add(s->text, " of the published one");
}

static void add_misfit(const subject *s) {
    if (!(s->limb->profile_misfit > 0.0))
        return;
    tl_report_add_fixed(s->text, 100.0 * s->limb->profile_misfit, 1);
    tl_report_text_add(s->text, " % of the disc\u2019s light");
}

/* Also the key of their signs. */
static void add_marks(const subject *s) {
    static const char *const sign[] = {[TL_MARK_UNPLACED] = "unplaced (dotted)",
                                       [TL_MARK_SPOT] = "of spots (ring, letter)",
                                       [TL_MARK_DUST] = "dust (square)"};
    const tl_spot_marks *marks = &s->sequence->frame[s->i].marks;
    static const tl_mark_kind order[] = {TL_MARK_SPOT, TL_MARK_DUST, TL_MARK_UNPLACED};
    const char *joint = "";
    if (!marks->searched)
        return;
    if (marks->count == 0)
        tl_report_text_add(s->text, "none");
    for (size_t n = 0; n < sizeof order / sizeof *order; n++) {
        size_t count = 0;
        for (size_t k = 0; k < marks->count; k++)
            count += marks->mark[k].kind == order[n];
        if (count == 0)
            continue;
        tl_report_text_addf(s->text, "%s%zu %s", joint, count, sign[order[n]]);
        joint = ", ";
    }
}

const char *tl_report_limbs_row(const tl_sequence *sequence, size_t i, size_t n,
                                tl_report_text *text) {
    static const struct {
        const char *label;
        void (*add)(const subject *s);
    } row[] = {
        {"Verdict", add_verdict},
        {"Separation", add_separation},
        {"Moon/Sun, raw", add_ratio},
        {"Edge shift", add_shift},
        {"Limb seen", add_arcs},
        {"Edge points", add_points},
        {"Residuals", add_residual},
        {"Colour plane", add_channel},
        {"Blur", add_blur},
        {"Clipped", add_clipped},
        {"Flattening", add_flattening},
        {"Limb darkening", add_darkening},
        {"Profile misfit", add_misfit},
        {"Dark marks", add_marks},
    };
    if (n >= sizeof row / sizeof *row)
        return NULL;
    row[n].add(&(subject){sequence, i, &sequence->frame[i].limb, text});
    return row[n].label;
}
