#!/usr/bin/python3
"""What OpenCV takes for the pictures of `make bench`: a full grey decode and HoughCircles.

    bench_general.py FOLDER...

Prints processor time a picture, and over OpenCV's own full-colour decode of the same files. The circle
search is told a radius to 15 % and works on a copy reduced to a radius of 150 px at most, which is
kind to it: it finds one circle of two, to a pixel of that copy.
"""
import csv
import os
import sys
import time

import cv2

ROUNDS = 3
RADIUS_PX, RADIUS_RANGE = 150.0, 0.15


def radii(folder):
    with open(os.path.join(folder, "truth.csv"), encoding="utf-8") as file:
        return {row["file"]: float(row["sun_r_px"]) for row in csv.DictReader(file)}


def search(path, radius):
    grey = cv2.imread(path, cv2.IMREAD_GRAYSCALE)
    scale = min(1.0, RADIUS_PX / radius)
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), 2.0)
    r = radius * scale
    return cv2.HoughCircles(small, cv2.HOUGH_GRADIENT, 1, 10, param1=60, param2=20,
                            minRadius=int(r * (1 - RADIUS_RANGE)),
                            maxRadius=int(r * (1 + RADIUS_RANGE)))


def main():
    cv2.setNumThreads(1)
    for folder in sys.argv[1:]:
        pictures = radii(folder)
        decode = find = float("inf")
        for _ in range(ROUNDS):
            start = time.process_time()
            for name in pictures:
                cv2.imread(os.path.join(folder, name), cv2.IMREAD_COLOR)
            middle = time.process_time()
            for name, radius in pictures.items():
                search(os.path.join(folder, name), radius)
            decode = min(decode, (middle - start) / len(pictures))
            find = min(find, (time.process_time() - middle) / len(pictures))
        print(f"{folder}: OpenCV {cv2.__version__}: colour decode {1e3 * decode:.1f} ms, grey decode and "
              f"HoughCircles {1e3 * find:.1f} ms a picture, {find / decode:.2f} of the decode")


main()
