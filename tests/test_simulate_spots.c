/*
 * test_simulate_spots.c - the truth about spots: where they stand in the picture, when the Moon's
 * limb passes them, what a covering leaves of their darkness; granulation and dead pixels.
 */
#include <math.h>

#include "scratch_folder.h"

#include "check.h"
#include "simulate/simulate_internal.h"
#include "truth.h"

/* The eclipse of 2026-08-12 where it is partial and the Moon covers the middle of the disc. */
static void eclipse_make(tl_simulate_scene *scene, tl_circumstances *circumstances,
                         tl_sky *at_max) {
    *scene = (tl_simulate_scene){.sky = tl_sky_options_default(), .seed = 3};
    scene->site = (tl_site){TL_SITE_GIVEN, 50 * TL_DEG, -6 * TL_DEG, 0};
    assert_int_equal(tl_date_parse("2026-08-12", &scene->day_utc_s), TL_OK);
    assert_int_equal(
        tl_sky_circumstances(&scene->site, scene->day_utc_s, &scene->sky, circumstances), TL_OK);
    assert_int_equal(
        tl_sky_at(&scene->site, circumstances->contact[TL_MAX].t_utc_s, &scene->sky, at_max),
        TL_OK);
}

/*
 * A spot that stands in the middle of the disc at maximum: its own latitude is B0, and it is
 * carried west, at right angles to the Sun's axis, by 13.2 deg a day (Carrington's synodic period
 * of 27.2753 d), so that its place at any time is known without the projection. Its centre is
 * covered when the Moon's centre is one Moon's radius away from there.
 */
static void middle_of_the_disc_is_covered_when_the_moon_is_a_radius_away(void **state) {
    (void)state;
    const double DISTANCE_SR = 2e-4; /* laws of rotation differ by 0.3 deg a day at the equator */
    tl_simulate_scene scene;
    tl_circumstances circumstances;
    tl_sky at_max;
    eclipse_make(&scene, &circumstances, &at_max);
    scene.spot_count = 1;
    scene.spot[0] = (tl_simulate_spot){.latitude_deg = at_max.b0_rad / TL_DEG, .radius_deg = 1};
    tl_simulate_passage passage[TL_SIMULATE_SPOTS_MAX];
    assert_int_equal(tl_simulate_passages(&scene, &circumstances, &at_max, passage), TL_OK);
    double t_s[2] = {passage[0].covered_utc_s[TL_PASSAGE_CENTRE],
                     passage[0].uncovered_utc_s[TL_PASSAGE_CENTRE]};
    double middle_s = circumstances.contact[TL_MAX].t_utc_s;
    assert_true(t_s[0] < middle_s && t_s[1] > middle_s);
    for (int i = 0; i < 2; i++) {
        tl_sky now;
        assert_int_equal(tl_sky_at(&scene.site, t_s[i], &scene.sky, &now), TL_OK);
        double west = sin(360.0 / 27.2753 * TL_DEG * (t_s[i] - middle_s) / TL_DAY_S);
        double east_sr = -west * cos(now.p_rad), north_sr = west * sin(now.p_rad);
        check_near(hypot(east_sr - now.east_sr, north_sr - now.north_sr), now.ratio, DISTANCE_SR);
    }
}

/* Light that the spots of a scene take from the disc at an instant, by drawing it with and without
 * them. */
static double light_missing(const tl_simulate_scene *scene, const tl_sky *at_max, double t_utc_s) {
    tl_simulate_settings settings = tl_simulate_settings_default();
    tl_simulate_place place = {.sun_x = 151.2, .sun_y = 148.7, .sun_r = 140};
    tl_simulate_spots spots, none = {.count = 0};
    tl_simulate_plane with[3], without[3];
    assert_int_equal(tl_sky_at(&scene->site, t_utc_s, &scene->sky, &place.sky), TL_OK);
    tl_simulate_place_circles(&settings, &place);
    assert_int_equal(tl_simulate_spots_place(scene, at_max, &place.sky, &spots), TL_OK);
    assert_int_equal(tl_simulate_disc_draw(&settings, &place, &spots, 2, with), TL_OK);
    assert_int_equal(tl_simulate_disc_draw(&settings, &place, &none, 2, without), TL_OK);
    double missing = 0;
    for (int i = 0; i < with[0].width * with[0].height; i++)
        missing += (double)without[0].v[i] - (double)with[0].v[i];
    for (int c = 0; c < 3; c++) {
        tl_simulate_plane_free(&with[c]);
        tl_simulate_plane_free(&without[c]);
    }
    return missing;
}

/* The pictures themselves are the judge: a spot has all of its darkness until it is touched, some
 * of it less a little later, next to none just before it is covered whole, and none then; the other
 * way round when it comes out. Borders are soft by 6 % of the radius either way. */
static void touches_are_those_of_the_spot_as_drawn(void **state) {
    (void)state;
    tl_simulate_scene scene;
    tl_circumstances circumstances;
    tl_sky at_max;
    eclipse_make(&scene, &circumstances, &at_max);
    scene.spot_count = 1;
    scene.spot[0] = (tl_simulate_spot){-12, 20, 6, 0.4, "one"};
    tl_simulate_passage passage[TL_SIMULATE_SPOTS_MAX];
    assert_int_equal(tl_simulate_passages(&scene, &circumstances, &at_max, passage), TL_OK);
    const double *covered = passage[0].covered_utc_s, *out = passage[0].uncovered_utc_s;
    double step = 0.1 * (covered[TL_PASSAGE_LAST] - covered[TL_PASSAGE_FIRST]);
    assert_true(step > 0 && covered[TL_PASSAGE_CENTRE] > covered[TL_PASSAGE_FIRST] &&
                covered[TL_PASSAGE_CENTRE] < covered[TL_PASSAGE_LAST]);
    double whole = light_missing(&scene, &at_max, covered[TL_PASSAGE_FIRST] - 10 * step);
    check_near(light_missing(&scene, &at_max, covered[TL_PASSAGE_FIRST] - step) / whole, 1, 2e-3);
    double later = light_missing(&scene, &at_max, covered[TL_PASSAGE_FIRST] + step) / whole;
    assert_true(later < 0.998 && later > 0.9);
    double rest = light_missing(&scene, &at_max, covered[TL_PASSAGE_LAST] - step) / whole;
    assert_true(rest > 0.002 && rest < 0.1);
    check_near(light_missing(&scene, &at_max, covered[TL_PASSAGE_LAST] + step) / whole, 0, 1e-3);
    check_near(light_missing(&scene, &at_max, out[TL_PASSAGE_FIRST] - step) / whole, 0, 1e-3);
    assert_true(light_missing(&scene, &at_max, out[TL_PASSAGE_FIRST] + step) / whole > 0.002);
    check_near(light_missing(&scene, &at_max, out[TL_PASSAGE_LAST] + step) / whole, 1, 0.02);
}

/* A round border of 5 deg seen in the middle of the disc is a circle of sin 5 deg = 0.0872 of its
 * radius, magnified by 1 / (1 - cos 5 deg sin S); its area on the globe 1 - cos 5 deg = 3805
 * millionths of a hemisphere: closed forms. Seen
 * 60 deg from the middle it has half the apparent area. */
static void border_has_the_size_of_a_cap(void **state) {
    (void)state;
    tl_sky sky = {.sun_radius_rad = 0.00465, .ratio = 1, .east_sr = 5};
    tl_simulate_spots spots = {.count = 1, .sun_radius_rad = sky.sun_radius_rad};
    spots.spot[0] = (tl_simulate_spot_place){
        .centre = {0, 0, 1}, .along_east = {-1, 0, 0}, .along_north = {0, 1, 0}};
    spots.spot[0].radius_rad = 5 * TL_DEG;
    tl_simulate_spot_view view = tl_simulate_spot_look(&spots, 0, &sky);
    double sine = sin(sky.sun_radius_rad);
    check_near(view.radius_sr, 0.08715574 / (1 - 0.9961947 * sine), 5e-5); /* 180 chords */
    check_near(view.area_ppm, 3805.3, 0.1);
    assert_int_equal(view.state, TL_SPOT_STATE_VISIBLE);
    check_near(view.from_sun_sr, 1, 1e-9);
    check_near(view.from_moon_sr, 4, 1e-9);
    double a = 60 * TL_DEG;
    spots.spot[0].centre[0] = -sin(a);
    spots.spot[0].centre[2] = cos(a);
    spots.spot[0].along_east[0] = -cos(a);
    spots.spot[0].along_east[2] = -sin(a);
    view = tl_simulate_spot_look(&spots, 0, &sky);
    check_near(view.radius_sr / (0.08715574 * sqrt(0.5)), 1, 0.01); /* sine adds up to 0.5 % */
    check_near(view.from_sun_sr, 1 - sin(a), 0.005);
    sky.east_sr = -sin(a); /* the Moon's centre on the spot */
    assert_int_equal(tl_simulate_spot_look(&spots, 0, &sky).state, TL_SPOT_STATE_COVERED);
    sky.east_sr = 1 - sin(a);
    assert_int_equal(tl_simulate_spot_look(&spots, 0, &sky).state, TL_SPOT_STATE_ON_LIMB);
    spots.spot[0].centre[2] = -cos(a);
    assert_int_equal(tl_simulate_spot_look(&spots, 0, &sky).state, TL_SPOT_STATE_BEHIND);
}

/* Centre of the light that a spot takes, drawn through a lens and thick air, turned and mirrored.
 */
static void place_in_the_picture_is_where_the_spot_is_drawn(void **state) {
    (void)state;
    const double CENTRE_PX = 0.25; /* a ragged border moves it by a share of the radius, 4 px */
    tl_simulate_settings settings = tl_simulate_settings_default();
    settings.distortion = (tl_simulate_distortion){true, 0.02};
    settings.width = 400;
    settings.height = 300;
    tl_simulate_scene scene = {.spot_count = 1, .spot = {{12, 40, 3, 0.4, "one"}}};
    tl_simulate_place place = {.sun_x = 141.4, .sun_y = 138.2, .sun_r = 80, .up_pa_rad = 2.1};
    place.mirrored = true;
    place.sky = (tl_sky){.sun_radius_rad = 0.0046,
                         .east_sr = 5,
                         .ratio = 1,
                         .flattening = 0.9,
                         .parallactic_rad = 0.7,
                         .p_rad = 0.3};
    tl_simulate_place_circles(&settings, &place);
    tl_simulate_spots spots, none = {.count = 0};
    tl_simulate_plane with[3], without[3];
    assert_int_equal(tl_simulate_spots_place(&scene, &place.sky, &place.sky, &spots), TL_OK);
    assert_int_equal(tl_simulate_disc_draw(&settings, &place, &spots, 2, with), TL_OK);
    assert_int_equal(tl_simulate_disc_draw(&settings, &place, &none, 2, without), TL_OK);
    double dark = 0, x = 0, y = 0, x_px, y_px, copy_x, copy_y;
    for (int i = 0; i < with[0].width * with[0].height; i++) {
        double d = (double)without[0].v[i] - (double)with[0].v[i];
        dark += d;
        x += d * (with[0].x0 + i % with[0].width);
        y += d * (with[0].y0 + i / with[0].width);
    }
    for (int c = 0; c < 3; c++) {
        tl_simulate_plane_free(&with[c]);
        tl_simulate_plane_free(&without[c]);
    }
    tl_simulate_spot_view view = tl_simulate_spot_look(&spots, 0, &place.sky);
    tl_simulate_place_point(&settings, &place, view.east_sr, view.north_sr, &x_px, &y_px);
    check_near(x_px, x / dark, CENTRE_PX);
    check_near(y_px, y / dark, CENTRE_PX);
    settings.copy = (tl_simulate_copy){true, 200, 90}; /* half the size; the edge is at -0.5 */
    tl_simulate_place_point(&settings, &place, view.east_sr, view.north_sr, &copy_x, &copy_y);
    check_near(copy_x, (x_px + 0.5) / 2 - 0.5, 1e-9);
    check_near(copy_y, (y_px + 0.5) / 2 - 0.5, 1e-9);
}

/* Rows and members as docs/scene.md has them; two frames, two spots, the second unnamed. */
static void truth_of_spots_is_written(void **state) {
    (void)state;
    char scene_path[PATH_SIZE], out[PATH_SIZE], path[PATH_SIZE], message[TL_SIMULATE_MESSAGE_SIZE];
    scratch_path(&folder, "scene.json", scene_path);
    scratch_path(&folder, "spots", out);
    write_text(scene_path,
               "{\"site\": {\"lat_deg\": 50, \"lon_deg\": -6}, \"day\": \"2026-08-12\","
               "\"spots\": [{\"latitude_deg\": 5, \"longitude_deg\": 10, \"radius_deg\": 2,"
               "\"name\": \"big\"}, {\"latitude_deg\": -60, \"longitude_deg\": -89.9,"
               "\"radius_deg\": 1}], \"sets\": [{\"start\": \"C1-60\", \"stop\": \"max\","
               "\"count\": 2, \"width\": 60, \"height\": 50, \"sun_r_px\": 20}]}");
    if (tl_simulate(scene_path, out, message) != TL_OK)
        fail_msg("%s", message);
    path_join(out, "truth_spots.csv", path);
    char *text = truth_text(path);
    assert_non_null(text);
    static const char *const row[] = {
        "file,spot,x_px,y_px,state,from_sun_limb_sr,from_moon_limb_sr,east_sr,north_sr,radius_sr\n",
        "frame_01.jpg,big,", "frame_01.jpg,S2,,,behind,,,,,\n", "frame_02.jpg,big,",
        "frame_02.jpg,S2,,,behind,,,,,\n"};
    const char *at = text;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        assert_int_equal(strncmp(at, row[i], strlen(row[i])), 0);
        const char *end = strchr(at, '\n');
        assert_non_null(end);
        if (i == 1 || i == 3) { /* seen before the eclipse, covered at its maximum */
            const char *word = strstr(at, i == 1 ? ",visible," : ",covered,");
            assert_true(word != NULL && word < end);
        }
        at = end + 1;
    }
    assert_int_equal(*at, '\0');
    free(text);
    path_join(out, "truth.json", path);
    cJSON *truth = truth_json(path);
    const cJSON *spots = cJSON_GetObjectItem(truth, "spots");
    assert_int_equal(cJSON_GetArraySize(spots), 2);
    const cJSON *big = cJSON_GetArrayItem(spots, 0), *limb = cJSON_GetArrayItem(spots, 1);
    assert_string_equal(cJSON_GetObjectItem(big, "name")->valuestring, "big");
    assert_string_equal(cJSON_GetObjectItem(limb, "name")->valuestring, "S2");
    assert_non_null(cJSON_GetObjectItem(big, "carrington_at_max_deg"));
    assert_true(cJSON_GetObjectItem(big, "area_ppm")->valuedouble > 0);
    const cJSON *covered = cJSON_GetObjectItem(big, "covered");
    double first = truth_time(cJSON_GetObjectItem(covered, "first_utc")->valuestring);
    double last = truth_time(cJSON_GetObjectItem(covered, "last_utc")->valuestring);
    double centre = truth_time(cJSON_GetObjectItem(covered, "centre_utc")->valuestring);
    assert_true(first < centre && centre < last);
    assert_null(cJSON_GetObjectItem(limb, "covered"));
    assert_null(cJSON_GetObjectItem(limb, "area_ppm"));
    cJSON_Delete(truth);
}

/* What a pixel's mean leaves of a finer field: by averaging a field drawn 8 times finer. */
static void pixels_average_granules(void **state) {
    (void)state;
    enum { FINE = 8, SIDE = 96 };
    const double SHARE = 0.05; /* 9,216 blocks: 1.5 % of a variance, one sigma */
    static const double sigma_px[] = {0.3, 0.8};
    for (size_t k = 0; k < 2; k++) {
        tl_simulate_plane fine;
        assert_int_equal(tl_simulate_plane_make(0, 0, FINE * SIDE, FINE * SIDE, &fine), TL_OK);
        gsl_rng *random = tl_simulate_random(8, 0, TL_STREAM_GRANULATION);
        assert_non_null(random);
        assert_int_equal(tl_simulate_plane_grain(random, FINE * sigma_px[k], &fine), TL_OK);
        gsl_rng_free(random);
        double squares = 0;
        int blocks = 0;
        for (int j = 2; j < SIDE - 2; j++) {
            for (int i = 2; i < SIDE - 2; i++) {
                double mean = 0;
                for (int y = 0; y < FINE; y++)
                    for (int x = 0; x < FINE; x++)
                        mean += (double)fine.v[(FINE * j + y) * FINE * SIDE + FINE * i + x] /
                                (FINE * FINE);
                squares += mean * mean;
                blocks++;
            }
        }
        check_near(squares / blocks / tl_simulate_granule_share(sigma_px[k]), 1, SHARE);
        tl_simulate_plane_free(&fine);
    }
    check_near(tl_simulate_granule_share(100), 1, 1e-4);
}

/* Grains wide against a pixel show the rms asked for, the same in all colours; another frame has
 * others. */
static void granulation_has_the_rms_asked_for(void **state) {
    (void)state;
    const double RMS = 0.04, SHARE = 0.04;
    tl_simulate_frame frame[2] = {{.settings = tl_simulate_settings_default()}};
    frame[0].settings.granulation = (tl_simulate_granulation){true, RMS, 6};
    frame[1] = frame[0];
    tl_simulate_scene scene = {.seed = 5, .frame = frame, .frame_count = 2};
    tl_simulate_place place = {.sun_r = 960};
    place.sky.sun_radius_rad = 960 * TL_ARCSEC; /* 1 arcsec a pixel: sigma 2.55 px */
    tl_simulate_plane first[3] = {{0}}, second[3] = {{0}};
    for (int f = 0; f < 2; f++) {
        tl_simulate_plane *plane = f == 0 ? first : second;
        for (int c = 0; c < 3; c++) {
            assert_int_equal(tl_simulate_plane_make(0, 0, 300, 300, &plane[c]), TL_OK);
            for (int i = 0; i < 300 * 300; i++)
                plane[c].v[i] = 0.5f;
        }
        assert_int_equal(tl_simulate_granulate(&scene, (size_t)f, &place, plane), TL_OK);
    }
    double squares = 0, with_other = 0;
    int n = 0;
    for (int j = 15; j < 285; j++) { /* off the border, where grains are cut */
        for (int i = 15; i < 285; i++) {
            double a = (double)first[0].v[j * 300 + i] / 0.5 - 1;
            squares += a * a;
            with_other += a * ((double)second[0].v[j * 300 + i] / 0.5 - 1);
            n++;
        }
    }
    check_near(sqrt(squares / n) / RMS, 1, SHARE);
    check_near(with_other / squares, 0, 0.1);
    assert_memory_equal(first[0].v, first[2].v, 300 * 300 * sizeof *first[0].v);
    for (int c = 0; c < 3; c++) {
        tl_simulate_plane_free(&first[c]);
        tl_simulate_plane_free(&second[c]);
    }
}

/* As many as asked for over the three colours (places may coincide), each darker by at most the
 * depth, and the same ones in the next frame of the set. */
static void dead_pixels_stay_where_they_are(void **state) {
    (void)state;
    tl_simulate_frame frame[2] = {{.settings = tl_simulate_settings_default()}};
    frame[0].settings.dead_pixels = (tl_simulate_dead_pixels){true, 60, 0.8};
    frame[1] = frame[0];
    tl_simulate_scene scene = {.seed = 2, .frame = frame, .frame_count = 2};
    int dark = 0;
    double deepest = 1;
    for (int c = 0; c < 3; c++) {
        tl_simulate_plane plane[2];
        for (int f = 0; f < 2; f++) {
            assert_int_equal(tl_simulate_plane_make(0, 0, 90, 80, &plane[f]), TL_OK);
            for (int i = 0; i < 90 * 80; i++)
                plane[f].v[i] = 1;
            assert_int_equal(tl_simulate_sensor(&scene, (size_t)f, c, &plane[f]), TL_OK);
        }
        assert_memory_equal(plane[0].v, plane[1].v, 90 * 80 * sizeof *plane[0].v);
        for (int i = 0; i < 90 * 80; i++) {
            dark += plane[0].v[i] < 1;
            deepest = fmin(deepest, (double)plane[0].v[i]);
        }
        tl_simulate_plane_free(&plane[0]);
        tl_simulate_plane_free(&plane[1]);
    }
    assert_in_range(dark, 57, 60);
    assert_true(deepest > 0.2 - 1e-6 && deepest < 0.3); /* of 60 depths, even from 0 to 0.8 */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(middle_of_the_disc_is_covered_when_the_moon_is_a_radius_away),
        cmocka_unit_test(touches_are_those_of_the_spot_as_drawn),
        cmocka_unit_test(border_has_the_size_of_a_cap),
        cmocka_unit_test(place_in_the_picture_is_where_the_spot_is_drawn),
        cmocka_unit_test(truth_of_spots_is_written),
        cmocka_unit_test(pixels_average_granules),
        cmocka_unit_test(granulation_has_the_rms_asked_for),
        cmocka_unit_test(dead_pixels_stay_where_they_are),
    };
    return cmocka_run_group_tests(tests, folder_setup, folder_teardown);
}
