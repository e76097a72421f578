/*
 * html_method.c - how it was done, how far to trust it, and the cautions.
 *
 * Figures: lunar limb relief and centre of figure after LOLA (Smith et al. 2010);
 * effects of radius conventions computed from the path's speed: a solar radius larger
 * by 0.32 arcsec moves C1 and C4 outward by 0.75-0.81 s, k 0.2725076 -> 0.272281 moves
 * them inward by 1.9-2.05 s.
 */
#include "report/html_internal.h"

static void add_conventions(const tl_report_page *page) {
    const tl_sky_options *sky = &page->sequence->options.sky;
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<p>The almanac takes the Sun from ERFA and the Moon from ELP/MPP02, "
                             "as seen from your place, with a solar radius of ");
    tl_report_add_fixed(html, sky->sun_radius_arcsec, 2);
    tl_report_text_add(html, "\u2033 at one astronomical unit and a lunar radius of k = ");
    tl_report_add_fixed(html, sky->moon_k, 7);
    tl_report_text_add(html, " equatorial radii of the Earth.");
    if (page->sequence->track.has_circumstances) {
        tl_report_text_add(html, " TT \u2212 UT1 was ");
        tl_report_add_fixed(html, page->sequence->track.circumstances.deltat_s, 2);
        tl_report_text_add(html, " s.");
    }
    tl_report_text_add(html, "</p>\n");
}

static void add_accuracy(const tl_report_page *page) {
    tl_report_text_add(
        page->html,
        "<h3>How far to trust it</h3>\n<p>A value \u00b1 its error means that the truth lies "
        "within "
        "that distance in some two of three cases. Some things no picture of this kind can "
        "settle:</p>\n<ul>\n"
        "<li>Mountains and valleys at the Moon\u2019s edge stand out by \u00b1 1.5\u2033. A "
        "contact "
        "seen at one point of the edge can be early or late by a few seconds for that "
        "reason.</li>\n"
        "<li>The Moon\u2019s centre of figure lies some 0.4\u2033 from its centre of mass, which "
        "the "
        "almanac follows: 0.8 s of time.</li>\n"
        "<li>Radii are conventions. A solar radius larger by 0.32\u2033 (959.95\u2033 instead of "
        "959.63\u2033) moves first and last contact outward by 0.8 s; the smaller k = 0.272281 "
        "moves them inward by 2 s.</li>\n");
    tl_report_text_add(page->html, "<li>The known floor: mountains and centre of figure together "
                                   "leave ");
    tl_report_add_fixed(page->html, TL_TRACK_FLOOR_SR, 4);
    tl_report_text_add(page->html, " solar radii");
    if (page->sequence->track.contact[TL_MAX].floor_s > 0.0) {
        tl_report_text_add(page->html, ", here ");
        tl_report_add_fixed(page->html, page->sequence->track.contact[TL_MAX].floor_s, 1);
        tl_report_text_add(page->html, "\u00a0s of time at maximum");
    }
    tl_report_text_add(page->html,
                       ". All pictures share it, no number of them makes it smaller, and it is not "
                       "in the \u00b1 of a value, only in the words of a comparison.</li>\n"
                       "<li>Blur, glare, haze and a burnt-out disc move both edges. What the fit "
                       "sees of that is in the \u00b1; what it does not see is not.</li>\n"
                       "</ul>\n");
}

static void add_safety(const tl_report_page *page) {
    tl_report_text_add(
        page->html,
        "<section id=\"safety\">\n<h2>Safety</h2>\n<ul>\n"
        "<li>Filters belong on the FRONT of a telescope, finder or lens, made for the Sun, whole "
        "and "
        "firmly fixed. For eyes: viewers to ISO 12312-2, and never together with a "
        "telescope. The optical finder of a camera is a telescope too: use the screen.</li>\n"
        "<li>Never use a filter that screws into an eyepiece: it sits where the heat is, and "
        "cracks.</li>\n"
        "<li>Never leave a telescope that projects the Sun alone, not for a moment: someone will "
        "look into it. Cover the finder.</li>\n"
        "<li>Filters come off only inside totality, between C2 and C3, and go on again before it "
        "ends. A partial or annular eclipse has no such moment.</li>\n"
        "<li>Follow the rules of the place and the advice of people who are qualified to give it; "
        "this page does not replace either.</li>\n</ul>\n</section>\n");
}

void tl_report_html_method(const tl_report_page *page) {
    tl_report_text_add(
        page->html,
        "<section id=\"method\">\n<h2>Method and accuracy</h2>\n"
        "<p>In every picture the edges of Sun and Moon are located to a fraction of a pixel, in "
        "linear light, and one circle is fitted to each. The distance between the two centres in "
        "solar radii does not depend on how the picture was scaled, turned or mirrored. That "
        "distance, against the camera\u2019s clock, is a smooth curve: its lowest point and the "
        "moments when the edges touch are what is called measured here, and no almanac enters "
        "them but, where the edges cannot carry it, the ratio of the two radii.</p>\n"
        "<p>The almanac\u2019s curve for your place is then shifted in time until it fits. The "
        "shift "
        "is the error of the camera\u2019s clock, and with it every picture gets its true "
        "time.</p>\n");
    add_conventions(page);
    add_accuracy(page);
    tl_report_text_add(page->html, "</section>\n");
    add_safety(page);
}
