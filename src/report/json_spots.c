/*
 * json_spots.c - spots[] of sequence.json, and how they were looked for.
 */
#include "report/json_internal.h"
#include "report/spots_internal.h"

/* The keys of one passage begin alike: "covered_", "uncovered_". */
typedef struct half {
    tl_report_writer *w;
    cJSON *object;
    const char *before;
    char key[64];
} half;

static const char *key(half *h, const char *name) {
    snprintf(h->key, sizeof h->key, "%s_%s", h->before, name);
    return h->key;
}

static void add_time(half *h, const char *name, bool known, double t_s, double sigma_s,
                     const char *suffix) {
    tl_report_json_time(h->w, h->object, key(h, name), known, t_s, tl_report_decimals(sigma_s, 1),
                        suffix);
}

static void add_sigma(half *h, const char *name, bool known, double value) {
    tl_report_json_sigma(h->w, h->object, key(h, name), known, value);
}

static void add_frames(half *h, const tl_sequence *sequence, const tl_spot_passage *passage) {
    static const char *const side[] = {"frame_before", "frame_after"};
    for (int k = 0; k < 2; k++) {
        const bool known = passage->has_near[k] && passage->near[k] < sequence->count;
        tl_report_json_string(h->w, h->object, key(h, side[k]),
                              known ? tl_report_base_name(sequence->frame[passage->near[k]].path)
                                    : NULL);
    }
}

static void add_passage(half h, const tl_sequence *sequence, const tl_spot *spot,
                        const tl_spot_passage *passage) {
    const double *t_s = passage->t_utc_s;
    const bool known = spot->has_passages && passage->occurs;
    const bool first = spot->has_passages && t_s[TL_SPOT_FIRST] != 0.0;
    const bool last = spot->has_passages && t_s[TL_SPOT_LAST] != 0.0;
    double camera_s = 0.0, camera_sigma_s = 0.0;
    const bool camera =
        known && tl_report_spot_camera(sequence, t_s[TL_SPOT_CENTRE], passage->sigma_s, &camera_s,
                                       &camera_sigma_s);
    add_time(&h, "utc", known, t_s[TL_SPOT_CENTRE], passage->sigma_s, "Z");
    add_sigma(&h, "sigma_s", known, passage->sigma_s);
    add_sigma(&h, "floor_s", known, passage->floor_s);
    add_time(&h, "camera", camera, camera_s, camera_sigma_s, "");
    add_sigma(&h, "camera_sigma_s", camera, camera_sigma_s);
    add_time(&h, "first_utc", first, t_s[TL_SPOT_FIRST], passage->touch_sigma_s, "Z");
    add_time(&h, "last_utc", last, t_s[TL_SPOT_LAST], passage->touch_sigma_s, "Z");
    add_sigma(&h, "touch_sigma_s", first || last, passage->touch_sigma_s);
    if (known)
        tl_report_json_flag(h.w, h.object, key(&h, "sun_up"), passage->sun_up);
    else
        tl_report_json_null(h.w, h.object, key(&h, "sun_up"));
    add_frames(&h, sequence, passage);
}

static void add_place(tl_report_writer *w, cJSON *object, const tl_spot *spot) {
    tl_report_json_number(w, object, "latitude_deg", true, spot->latitude_rad / TL_DEG, 3);
    tl_report_json_sigma(w, object, "latitude_sigma_deg", true, spot->latitude_sigma_rad / TL_DEG);
    tl_report_json_number(w, object, "longitude_deg", true, spot->longitude_rad / TL_DEG, 3);
    tl_report_json_sigma(w, object, "longitude_sigma_deg", true,
                         spot->longitude_sigma_rad / TL_DEG);
    tl_report_json_number(w, object, "carrington_deg", true,
                          tl_angle_positive(spot->carrington_rad) / TL_DEG, 3);
    tl_report_json_number(w, object, "east_sr", true, spot->east_sr, 5);
    tl_report_json_sigma(w, object, "east_sigma_sr", true, spot->east_sigma_sr);
    tl_report_json_number(w, object, "north_sr", true, spot->north_sr, 5);
    tl_report_json_sigma(w, object, "north_sigma_sr", true, spot->north_sigma_sr);
    tl_report_json_number(w, object, "radius_sr", true, spot->radius_sr, 5);
    tl_report_json_sigma(w, object, "radius_sigma_sr", true, spot->radius_sigma_sr);
    tl_report_json_number(w, object, "umbra_radius_sr", spot->umbra_radius_sr > 0.0,
                          spot->umbra_radius_sr, 5);
    tl_report_json_number(w, object, "area_ppm", spot->area_ppm > 0.0, spot->area_ppm,
                          tl_report_decimals(spot->area_sigma_ppm, 1));
    tl_report_json_sigma(w, object, "area_sigma_ppm", spot->area_ppm > 0.0, spot->area_sigma_ppm);
}

static void add_spot(tl_report_writer *w, cJSON *list, const tl_sequence *sequence, size_t s) {
    const tl_spot *spot = &sequence->spots.spot[s];
    cJSON *object = tl_report_json_entry(w, list);
    tl_report_json_string(w, object, "id", spot->name);
    tl_report_json_string(w, object, "status",
                          tl_report_spot_fate_name[tl_report_spot_fate_of(spot)]);
    tl_report_json_time(w, object, "epoch_utc", spot->epoch_utc_s != 0.0, spot->epoch_utc_s, 0,
                        "Z");
    add_place(w, object, spot);
    tl_report_json_flag(w, object, "from_list", spot->from_list);
    tl_report_json_flag(w, object, "in_pictures", spot->in_pictures);
    tl_report_json_number(w, object, "seen_count", true, (double)spot->seen_count, 0);
    tl_report_json_flag(w, object, "could_be_dust", spot->could_be_dust);
    tl_report_json_number(w, object, "clearance_sr", spot->has_passages, spot->clearance_sr, 5);
    tl_report_json_sigma(w, object, "clearance_sigma_sr", spot->has_passages,
                         spot->clearance_sigma_sr);
    add_passage((half){.w = w, .object = object, .before = "covered"}, sequence, spot,
                &spot->covered);
    add_passage((half){.w = w, .object = object, .before = "uncovered"}, sequence, spot,
                &spot->uncovered);
}

void tl_report_json_spots(tl_report_writer *w, cJSON *root, const tl_sequence *sequence) {
    static const char *const turn_state[] = {[TL_COMPASS_NONE] = "none",
                                             [TL_COMPASS_UNTIED] = "untied",
                                             [TL_COMPASS_OPEN] = "open",
                                             [TL_COMPASS_REFUSED] = "refused",
                                             [TL_COMPASS_USED] = "used"};
    const tl_spots *spots = &sequence->spots;
    const tl_report_turns turns = tl_report_compare_turns(sequence);
    const bool turned = turns.mirrored + turns.unmirrored > 0;
    cJSON *search = tl_report_json_object(w, root, "spot_search");
    tl_report_json_number(w, search, "searched", true, (double)tl_report_searched(sequence), 0);
    tl_report_json_number(w, search, "dust_count", true, (double)spots->dust_count, 0);
    tl_report_json_flag(w, search, "mirror_decided", spots->mirror_decided);
    tl_report_json_number(w, search, "mirror_score", spots->mirror_decided, spots->mirror_score, 1);
    tl_report_json_number(w, search, "noise_level", spots->noise_level > 0.0, spots->noise_level,
                          2);
    tl_report_json_number(w, search, "turned_frames", true,
                          (double)(turns.mirrored + turns.unmirrored), 0);
    tl_report_json_number(w, search, "turn_rms_deg", turned && turns.count > 0,
                          turns.rms_rad / TL_DEG, 2);
    tl_report_json_number(w, search, "turn_expected_deg", turned && turns.count > 0,
                          turns.expected_rad / TL_DEG, 2);
    tl_report_json_string(w, search, "turn_state", turn_state[sequence->track.compass.state]);
    tl_report_json_string(w, search, "list", sequence->spots_name);
    tl_report_json_string(w, search, "note", spots->note[0] ? spots->note : NULL);
    cJSON *list = tl_report_json_array(w, root, "spots");
    for (size_t s = 0; s < spots->count; s++)
        add_spot(w, list, sequence, s);
}
