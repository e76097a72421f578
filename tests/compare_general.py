#!/usr/bin/python3
"""What general-purpose libraries find in the frames of `make accuracy`, beside what twolimb finds.

    compare_general.py KEPT FRAMES.csv

KEPT is the folder of `tool_accuracy --keep`, FRAMES.csv the table of its `--frames`. Prints a
Markdown table. Only frames in which limbs can be drawn are asked; the libraries are told more than
twolimb is: the Sun's radius to 15 %, and that there are two circles.

  Hough    OpenCV: picture reduced to a radius of at most 150 px and blurred (sigma 2 px), then
           HOUGH_GRADIENT_ALT, dp 1.5, edges above the 99.9th percentile of the gradient (a
           quarter of it as this method counts gradients), the perfectness asked for lowered from
           0.9 until two circles come out; HOUGH_GRADIENT (dp 1, edges above half that percentile,
           votes from 60 down to 10) where that finds none. The two circles with the most support
           that differ by 0.06 of the radius or more.
  RANSAC   scikit-image: picture reduced to a radius of at most 250 px, canny (sigma 2.5 px,
           thresholds 0.15 and 0.4 of the 99.9th percentile of the gradient), ransac with
           CircleModel (1,000 trials, residual 1 px), then once more on the edges that are left.

The figures are the best of a handful tried on a quarter of the frames.
Of the two circles the one with the brighter inside is taken for the Sun.
"""
import csv
import multiprocessing
import os
import sys
import warnings

import cv2
import numpy as np
from skimage.feature import canny
from skimage.measure import CircleModel, ransac

RADIUS_RANGE = 0.15  # of the true radius of the Sun; the Moon's lies within 0.08 of it
FOUND = 0.05  # of the Sun's radius: centres and radii both
WRONG_SR = 0.01
APART = 0.06  # of the radius: centres or radii of two circles that are not the same
HOUGH_BLUR_PX, CANNY_PX = 2.0, 2.5
HOUGH_RADIUS_PX, RANSAC_RADIUS_PX = 150.0, 250.0
MOST_EDGES = 4000  # more are thinned out, for time
METHODS = ("Hough", "RANSAC", "twolimb")


def reduced(grey, radius_px, most_px):
    """The picture at a scale at which the radius is at most most_px, and that scale."""
    scale = min(1.0, most_px / radius_px)
    if scale == 1.0:
        return grey, 1.0
    return cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), scale


def full_size(circle, scale):
    """Back to pixels of the whole picture; pixel centres are whole numbers."""
    x, y, r = circle
    return np.array([(x + 0.5) / scale - 0.5, (y + 0.5) / scale - 0.5, r / scale])


def gradient_percentile(image):
    gx = cv2.Sobel(image, cv2.CV_32F, 1, 0)
    gy = cv2.Sobel(image, cv2.CV_32F, 0, 1)
    return float(np.percentile(np.hypot(gx, gy), 99.9))


def apart(circles, radius):
    """The first two of a list (best first) that are not the same circle."""
    for other in circles[1:]:
        if np.hypot(*(other[:2] - circles[0][:2])) > APART * radius or \
                abs(other[2] - circles[0][2]) > APART * radius:
            return [circles[0], other]
    return None


def hough(grey, radius_px):
    small, scale = reduced(grey, radius_px, HOUGH_RADIUS_PX)
    small = cv2.GaussianBlur(small, (0, 0), HOUGH_BLUR_PX)
    r = radius_px * scale
    steepest = max(gradient_percentile(small), 10.0)
    limits = {"minRadius": int(r * (1 - RADIUS_RANGE)),
              "maxRadius": int(r * (1 + RADIUS_RANGE)) + 1}
    tries = [(cv2.HOUGH_GRADIENT_ALT, 1.5, 1.0, p) for p in (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)]
    tries += [(cv2.HOUGH_GRADIENT, 1.0, 0.5, p) for p in (60, 40, 30, 20, 10)]
    for method, dp, edge, support in tries:
        found = cv2.HoughCircles(small, method, dp, 2.0, param1=edge * steepest,
                                 param2=support, **limits)
        if found is not None and found.shape[1] >= 2:
            pair = apart([c[:3].astype(float) for c in found[0]], r)
            if pair is not None:
                return [full_size(c, scale) for c in pair]
    return None


def best_circle(points, radius_px, seed):
    def plausible(model, *_):
        return abs(model.params[2] / radius_px - 1) <= RADIUS_RANGE

    if len(points) < 10:
        return None, None
    model, inside = ransac(points, CircleModel, min_samples=3, residual_threshold=1.0,
                           max_trials=1000, is_model_valid=plausible, random_state=seed)
    if model is None or inside is None or inside.sum() < 10:
        return None, None
    return np.array(model.params), inside


def by_ransac(grey, radius_px):
    small, scale = reduced(grey, radius_px, RANSAC_RADIUS_PX)
    image = small.astype(np.float64) / 255.0
    steepest = gradient_percentile(cv2.GaussianBlur(image.astype(np.float32), (0, 0), CANNY_PX))
    edges = canny(image, sigma=CANNY_PX, low_threshold=0.15 * steepest,
                  high_threshold=0.4 * steepest)
    points = np.argwhere(edges)[:, ::-1].astype(float)
    if len(points) > MOST_EDGES:
        points = points[np.random.RandomState(1).permutation(len(points))[:MOST_EDGES]]
    first, inside = best_circle(points, radius_px * scale, 1)
    if first is None:
        return None
    # what lies along the first circle belongs to it, also a little beside it
    beside = np.abs(np.hypot(*(points - first[:2]).T) - first[2]) < 2.5
    second, _ = best_circle(points[~(inside | beside)], radius_px * scale, 2)
    if second is None:
        return None
    return [full_size(first, scale), full_size(second, scale)]


def brightness_inside(grey, circle):
    mask = np.zeros(grey.shape, np.uint8)
    cv2.circle(mask, (int(round(circle[0])), int(round(circle[1]))), int(circle[2] * 0.97), 255, -1)
    return cv2.mean(grey, mask)[0]


def judge(pair, truth):
    """Error of the separation and whether both circles are there; None: no answer."""
    if pair is None:
        return None
    sun, moon = pair
    r = truth["sun"][2]
    off = max(np.max(np.abs(sun - truth["sun"])), np.max(np.abs(moon - truth["moon"]))) / r
    separation = np.hypot(*(moon[:2] - sun[:2])) / sun[2]
    return separation - truth["separation"], off <= FOUND


def ask(frame):
    warnings.simplefilter("ignore")
    cv2.setNumThreads(1)
    grey = cv2.imread(frame["path"], cv2.IMREAD_GRAYSCALE)
    answers = []
    for method in (hough, by_ransac):
        pair = method(grey, frame["sun"][2])
        if pair is not None:
            pair.sort(key=lambda circle: -brightness_inside(grey, circle))
        answers.append(judge(pair, frame))
    return answers


def read_frames(kept, table):
    """The frames to ask, with their truth and what twolimb made of them."""
    frames = []
    for row in csv.DictReader(open(table, encoding="ascii")):
        folder = os.path.join(kept, row["scene"])
        if row["expected"] != "measured" or not os.path.isdir(folder):
            continue
        truth = next(t for t in csv.DictReader(open(os.path.join(folder, "truth.csv"),
                                                    encoding="ascii")) if t["file"] == row["file"])
        circle = {name: np.array([float(truth[f"{name}_{c}_px"]) for c in "xyr"])
                  for name in ("sun", "moon")}
        own = None
        if row["status"] == "measured":
            errors = [abs(float(row[c])) for c in ("sun_dx_px", "sun_dy_px", "sun_dr_px",
                                                   "moon_dx_px", "moon_dy_px", "moon_dr_px")]
            own = float(row["error_sr"]), max(errors) / circle["sun"][2] <= FOUND
        frames.append({"path": os.path.join(folder, row["file"]), "kind": row["kind"], "own": own,
                       "separation": float(truth["separation_sr"]), **circle})
    return frames


def cells(answers):
    """Found, median and rms error of what was found, share of all frames off by WRONG_SR."""
    given = [a for a in answers if a is not None]
    errors = np.array([abs(e) for e, found in given if found])
    wrong = sum(abs(e) > WRONG_SR for e, _ in given)
    numbers = [f"{100 * len(errors) / len(answers):.0f} %"]
    numbers += [f"{np.median(errors):.1e}", f"{np.sqrt(np.mean(errors ** 2)):.1e}"] \
        if len(errors) else ["", ""]
    return numbers + [f"{100 * wrong / len(answers):.0f} %"]


def print_table(frames, answers):
    print("found: both circles within 5 % of the Sun's radius; median, rms: error of the separation"
          " of those,\nsolar radii; off: share of frames given an answer that is off by more than"
          f" {WRONG_SR}.\n")
    head = [f"{m}: found | median | rms | off" for m in METHODS]
    print("| kind | frames | " + " | ".join(head) + " |")
    print("|---" * (2 + 4 * len(METHODS)) + "|")
    kinds = sorted({f["kind"] for f in frames})
    for kind in kinds + [None]:
        chosen = [i for i, f in enumerate(frames) if kind in (None, f["kind"])]
        row = [kind or "everything", str(len(chosen))]
        for m in range(len(METHODS)):
            row += cells([answers[i][m] for i in chosen])
        print("| " + " | ".join(row) + " |")


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    frames = read_frames(sys.argv[1], sys.argv[2])
    if not frames:
        sys.exit(f"{sys.argv[1]}: no kept frames of {sys.argv[2]}")
    with multiprocessing.Pool() as pool:
        answers = pool.map(ask, frames, chunksize=4)
    print_table(frames, [a + [f["own"]] for a, f in zip(answers, frames)])


if __name__ == "__main__":
    main()
